"""The short cycle: three answers a cut and few words, once the cuts go by rote."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import pytest

from assistant.engine.engine import (
    Announce,
    Refuse,
    Say,
    Signal,
    advance,
    cut_is_allowed,
    expected_commands,
)
from assistant.engine.events import (
    Command,
    Event,
    Gesture,
    PedalUsed,
    PhraseHeard,
    SessionResumed,
    SessionStarted,
    SizeGiven,
    Tone,
)
from assistant.engine.phases import Phase, Step, phase_of
from assistant.engine.state import State, cut_was_short
from assistant.job.programme import Programme, heeding
from solver import Move
from tests.engine.jobs import MEASURED, programme

PRESS = PedalUsed(0.0, Gesture.PRESS)


def say(command: Command) -> PhraseHeard:
    return PhraseHeard(0.0, command.value, command)


class Paced:
    """A session and all that it said, event by event."""

    def __init__(self, job: Programme) -> None:
        self.job, self.state = job, State()
        self.effects: list[object] = []
        self.said: list[str] = []
        self.feed(SessionStarted(0.0))

    def feed(self, *events: Event) -> Paced:
        for event in events:
            self.state, effects = advance(self.job, self.state, event)
            assert cut_is_allowed(self.job, self.state)
            self.effects = list(effects)
            self.said = [effect.text for effect in effects if isinstance(effect, Say)]
        return self

    def to(self, step: Step, done: int | None = None) -> Paced:
        for _ in range(300):
            if self.state.step is step and done in (None, self.state.done):
                return self
            self.feed(PRESS)
        raise AssertionError(f"never came to {step} with {done} done")


def presses_of_each_cut(job: Programme) -> list[int]:
    """How many presses lie between one counted cut and the next."""
    talk, found, presses = Paced(job).to(Step.CUT, 0), [], 0
    while talk.state.done < job.cuts:
        before = talk.state.done
        talk.feed(PRESS)
        presses += 1
        if talk.state.done > before:
            found.append(presses)
            presses = 0
    return found


def test_three_answers_a_cut_after_the_first_cuts() -> None:
    """Five for the first three cuts, then three; the whole job by plain presses."""
    assert presses_of_each_cut(programme(9, whole_cuts=3)) == [1, 5, 5, 3, 3, 3, 3, 3, 3]
    assert presses_of_each_cut(programme(9)) == [1, *[5] * 8]
    talk = Paced(programme(9, whole_cuts=3)).to(Step.FINISHED)
    assert talk.state.done == 9


def test_the_words_of_a_short_cut() -> None:
    """Lock off in front; turns, holes, circle; what the arms want; the lock. Then a word each."""
    moves = (Move(turns=4, holes=12, circle=27),) * 9
    job = replace(programme(9, whole_cuts=1, scale_degrees=0), moves=moves)
    talk = Paced(job).to(Step.CALL, 1)
    assert talk.said == ["Lock off. Four turns, twelve on twenty-seven. Arms, lock."]
    assert talk.feed(PRESS).said == ["Lever, guard?"]
    assert talk.feed(PRESS).said == ["Tight and shut: cut."]


def test_what_is_due_is_said_in_the_call() -> None:
    """The scale where it is due, and a line's stop where it is another than before."""
    stops = ("long line", "short line", "short line", "long line")
    job = programme(4, whole_cuts=1, stops=stops, labels=stops, stamped=("",) * 4,
                    arms_used=False)  # fmt: skip
    talk = Paced(job).to(Step.CALL, 1)
    assert talk.said == ["Lock off. Nine turns, short line. Scale ninety. Lock."]
    assert talk.to(Step.CUT).said == ["Tight and shut: cut."]
    assert talk.to(Step.CALL, 2).said == ["Lock off. Nine turns. Scale one hundred eighty. Lock."]


def test_what_the_move_called_is_not_called_at_the_cut() -> None:
    """The stop by its name with the move, while it can be set; at the cut only what is new."""
    stops = ("short line", "short line", "long line", "long line")
    labels = ("short line", "short line", "long line, stamp ten", "long line")
    job = programme(4, whole_cuts=1, stops=stops, labels=labels, arms_used=False,
                    stamped=("", "", "stamp ten", ""))  # fmt: skip
    talk = Paced(job).to(Step.CALL, 2)
    assert talk.said[0].startswith("Lock off. Nine turns, long line.")
    assert talk.to(Step.CUT).said == ["Tight and shut: cut, stamp ten."]
    assert talk.to(Step.CUT, 3).said == ["Tight and shut: cut."]
    old = Paced(replace(job, stamped=())).to(Step.CUT, 2)
    assert old.said == ["Tight and shut: cut, long line, stamp ten."]


def test_the_mark_in_few_words() -> None:
    """It was told whole, in the first cuts and in the set-up, which hole is marked."""
    moves = (Move(turns=0, holes=7, circle=21),) * 9
    job = replace(programme(9, whole_cuts=1, scale_degrees=0), moves=moves)
    talk = Paced(job).to(Step.CALL, 3)
    assert talk.said == ["Lock off. Seven on twenty-one. Arms. Pin at the mark. Lock."]
    moves = (Move(turns=0, holes=5, circle=16),) * 9
    job = replace(programme(9, whole_cuts=1, scale_degrees=0), moves=moves)
    talk = Paced(job).to(Step.CALL, 3)
    assert talk.said == ["Lock off. Five on sixteen. Arms. Pin one short of the mark. Lock."]


def test_a_depth_of_each_cut_is_called_with_it() -> None:
    """Before the guard, as in the five answers: behind it no dial is turned."""
    more = {
        "depths_mm": (Fraction(1),),
        "depths": ("one",),
        "deeper": tuple(map(Fraction, range(4))),
    }
    talk = Paced(programme(4, whole_cuts=1, **more)).to(Step.CALL, 2)
    assert talk.said[-1].endswith("Depth dial to three millimetres. Lock.")


@pytest.mark.parametrize("job", [programme(9, whole_cuts=1), programme(9, 2, whole_cuts=2)])
def test_a_move_is_called_unlocked_and_its_call_begins_with_the_lock(job: Programme) -> None:
    """What the contract asks for, literally: not locked when the move is announced, and lock and
    guard confirmed after it, for this very cut."""
    talk, calls = Paced(job), 0
    while talk.state.step is not Step.FINISHED:
        talk.feed(PRESS)
        if any(isinstance(effect, Announce) for effect in talk.effects):
            assert not talk.state.locked and not talk.state.guarded
        if talk.state.step is Step.CALL:
            calls += 1
            assert talk.said[0].startswith("Lock off. ")
            assert phase_of(talk.state.step) is Phase.LOCK
            assert talk.state.place == talk.state.settled + 1 == talk.state.done
    assert calls >= 6


@pytest.mark.parametrize(
    "between",
    [
        (PedalUsed(0.0, Gesture.HOLD), PRESS, PRESS),
        (say(Command.OVERSHOT), PRESS, PRESS),
        (say(Command.LOST_COUNT), PRESS),
        (SessionResumed(0.0), PRESS),
    ],
    ids=["pause", "overshoot", "lost count", "restart"],
)
def test_whole_sentences_come_back_for_one_cut(between: tuple[Event, ...]) -> None:
    """After whatever comes between two cuts; then the short cycle again by itself."""
    talk = Paced(programme(9, whole_cuts=3)).to(Step.CALL, 4).feed(*between)
    made = talk.state.done
    assert "hands clear" in talk.to(Step.GUARD).said[-1]
    assert talk.to(Step.CUT).said[-1].startswith("Lever tight, guard shut: cut five of nine")
    talk.feed(PRESS)
    assert (talk.state.step, talk.state.done) == (Step.CALL, made + 1)
    assert talk.to(Step.GUARD).said == ["Lever, guard?"]


def test_another_pass_begins_with_a_whole_cut() -> None:
    """And with the other circle of another stage all the first cuts are whole again."""
    talk = Paced(programme(4, 2, whole_cuts=2)).to(Step.CLOSING_CHECK).to(Step.CUT)
    assert talk.said[-1].startswith("Lever tight, guard shut: cut one of four")
    assert talk.feed(PRESS).state.step is Step.CALL
    job = programme(4, whole_cuts=2, then=programme(4, whole_cuts=2))
    talk = Paced(job).to(Step.FINISHED)
    assert presses_of_each_cut(job.then or job) == [1, 5, 3, 3]


def test_another_circle_is_called_in_whole_sentences() -> None:
    """Where one move goes by another circle than the last, nothing is known by rote."""
    moves = (Move(turns=9, circle=18), Move(turns=9, circle=18), Move(turns=9, circle=20)) * 2
    talk = Paced(replace(programme(6, whole_cuts=1), moves=moves))
    steps = {}
    while talk.state.step is not Step.FINISHED:
        before = talk.state.done
        talk.feed(PRESS)
        if talk.state.done > before:
            steps[talk.state.done] = talk.state.step
    assert [n for n, step in steps.items() if step is Step.CALL] == [1, 2, 5]
    assert [n for n, step in steps.items() if step is Step.RELEASE] == [3, 4, 6]


def test_what_does_not_change_is_said_every_so_often() -> None:
    """The whole call, hands clear, the count and the depth; never, where that is nought."""
    job = heeding(programme(12, whole_cuts=1, depth="5.4 mm"), remind_every=5)
    talk = Paced(job).to(Step.CALL, 5)
    assert "Swing the arms on to the pin." in talk.said[-1]
    assert "Depth dial to five point four millimetres. Lock the spindle." in talk.said[-1]
    assert talk.to(Step.GUARD).said == ["Lock lever tight? Guard closed, hands clear?"]
    assert talk.to(Step.CUT).said[-1].startswith("Lever tight, guard shut: cut six of twelve")
    assert talk.to(Step.CALL, 6).to(Step.CUT).said == ["Tight and shut: cut."]
    never = Paced(heeding(job, remind_every=0)).to(Step.CALL, 5)
    assert never.to(Step.GUARD).said == ["Lever, guard?"]


def test_fewer_and_more_words_at_any_time() -> None:
    """By voice, key or button; what is being asked stands, and is what "say again" repeats."""
    talk = Paced(programme(9)).to(Step.CUT, 1)
    asked = talk.said[-1]
    assert talk.feed(say(Command.FEWER_WORDS)).said == ["Fewer words."]
    assert talk.feed(say(Command.SAY_AGAIN)).said == [asked]
    assert talk.feed(PRESS).state.step is Step.CALL
    assert talk.feed(say(Command.MORE_WORDS)).state.step is Step.CALL
    assert "hands clear" in talk.to(Step.GUARD).said[-1]
    assert talk.to(Step.RELEASE).state.done == 3
    few = Paced(programme(9, whole_cuts=3)).feed(say(Command.MORE_WORDS))
    assert few.to(Step.RELEASE, 6).state.done == 6


@pytest.mark.parametrize("command", [Command.RELEASED, Command.PINNED])
def test_an_answer_of_the_five_is_harmless_in_the_call(command: Command) -> None:
    """It is true and on the way to the one that counts: a tick, and nothing else."""
    talk = Paced(programme(9, whole_cuts=1)).to(Step.CALL)
    before = talk.state
    assert command in expected_commands(before)
    talk.feed(say(command))
    assert talk.state == before
    assert [type(effect) for effect in talk.effects] == [Signal]


def test_a_wrong_answer_is_refused_in_the_call() -> None:
    """The guard is no lock, and the cut no move."""
    talk = Paced(programme(9, whole_cuts=1)).to(Step.CALL)
    for command in (Command.GUARDED, Command.CUT_DONE):
        before = talk.state
        talk.feed(say(command))
        assert talk.state == before
        assert any(isinstance(effect, Refuse) for effect in talk.effects)


def test_a_cut_counted_too_soon_is_reopened_from_the_call() -> None:
    """The crank may have been turned since: the place is looked at, then lock and guard as ever."""
    talk = Paced(programme(9, whole_cuts=1)).to(Step.CALL, 4).feed(say(Command.GO_BACK))
    assert (talk.state.step, talk.state.done, talk.state.place) == (Step.CHECK_POSITION, 3, 3)
    assert talk.feed(PRESS).state.step is Step.LOCK
    assert talk.to(Step.FINISHED).state.done == 9


def test_a_measured_cut_and_a_driven_head_keep_whole_sentences() -> None:
    """A size comes between the cuts; a driven head has no lock to call."""
    job = programme(4, whole_cuts=1, **MEASURED)
    talk = Paced(job).to(Step.MEASURE).feed(SizeGiven(0.0, "19"), PRESS)
    assert "hands clear" in talk.to(Step.GUARD).said[-1]
    driven = Paced(programme(4, unlocked=True, whole_cuts=1))
    while driven.state.step is not Step.FINISHED:
        assert driven.feed(PRESS).state.step is not Step.CALL


def test_the_pace_survives_the_journal() -> None:
    """In the programme for all stages, and in the state."""
    job = heeding(programme(3, then=programme(3)), whole_cuts=2, remind_every=7)
    assert Programme.from_record(job.to_record()) == job
    assert job.then is not None and (job.then.pace.whole_cuts, job.then.pace.remind_every) == (2, 7)
    state = Paced(job).to(Step.GUARD).feed(say(Command.MORE_WORDS)).state
    assert State.from_record(state.to_record()) == state and state.other_pace


# --- "Was it a cut?" -----------------------------------------------------------------------


def after(seconds: float) -> PedalUsed:
    """A press so long after the step began."""
    return PedalUsed(0.0, Gesture.PRESS, took=seconds)


def cut(talk: Paced, seconds: float) -> Paced:
    """On to the next cut, which takes so long."""
    return talk.to(Step.CUT).feed(after(seconds))


def test_a_cut_far_shorter_than_those_before_it_is_asked_about_once() -> None:
    """The first press counts nothing and sounds for the eyes; the second counts it as any other.
    Lock and guard stand meanwhile, as they were confirmed for this cut."""
    talk = Paced(programme(9))
    for seconds in (40, 44, 36):
        cut(talk, seconds)
    cut(talk, 9.9)
    assert (talk.state.step, talk.state.done, talk.state.doubted) == (Step.CUT, 3, True)
    assert talk.state.locked and talk.state.guarded
    assert talk.effects[0] == Signal(Tone.ATTENTION)
    assert talk.said == [
        "That was short. Was it a cut? "
        "When it is made, wait ten seconds and press, or say cut done."
    ]
    asked = talk.state
    talk.feed(replace(after(20.0), still=9.9)).feed(replace(after(20.0), waited=9.9))
    assert talk.state == asked, "the next contact, or a foot that did not think"
    talk.feed(replace(after(10.5), waited=10.0, still=10.0))
    assert (talk.state.step, talk.state.done, talk.state.doubted) == (Step.RELEASE, 4, False)
    assert cut(talk, 9.6).state.done == 5, "a quarter of the median before, 38 s"


def test_who_cuts_evenly_is_asked_sooner() -> None:
    """Far under the quickest of the last few, also where that is more than a quarter."""
    talk = Paced(programme(9))
    for seconds in (40, 44, 36):
        cut(talk, seconds)
    assert cut(talk, 21.5).state.doubted
    other = Paced(programme(9))
    for seconds in (40, 44, 36):
        cut(other, seconds)
    assert not cut(other, 21.7).state.doubted


@pytest.mark.parametrize(
    ("minutes", "took", "asked"),
    [(0, 0.5, False), (2, 29.9, True), (2, 30.1, False), (2, 0, False)],
    ids=["none told", "a quarter of them", "more", "not known"],
)
def test_a_first_cut_is_measured_by_the_minutes_of_the_job(
    minutes: int, took: float, asked: bool
) -> None:
    """Where the job gives them. How long an answer from a script took is not known: it counts."""
    talk = cut(Paced(programme(9, cut_minutes=Fraction(minutes))), took)
    assert talk.state.doubted is asked and talk.state.done == (not asked)


def test_who_cuts_faster_than_the_job_says_is_believed_after_three() -> None:
    """By then the cuts themselves are the measure."""
    talk = Paced(programme(9, cut_minutes=Fraction(5)))
    for _ in range(3):
        assert cut(talk, 20).state.doubted
        talk.feed(after(20))
    assert not cut(talk, 20).state.doubted and talk.state.done == 4


def test_a_doubt_ends_with_the_step_that_it_was_about() -> None:
    """After a pause the cut is asked for as any other; in another pass nothing is known yet."""
    talk = Paced(programme(4, 2))
    for _ in range(3):
        cut(talk, 40)
    cut(talk, 2).feed(PedalUsed(0.0, Gesture.HOLD))
    assert talk.state.step is Step.PAUSED and not talk.state.doubted
    cut(talk, 40)
    assert cut(talk, 2).state.done == 1 and talk.state.pass_number == 2


def test_a_voice_is_asked_as_a_foot_is() -> None:
    """And where nobody listens no phrase is named."""
    talk = Paced(programme(9, cut_minutes=Fraction(2))).to(Step.CUT)
    talk.feed(PhraseHeard(0.0, "cut done", Command.CUT_DONE, took=1.5))
    assert talk.state.doubted and talk.state.done == 0
    deaf = replace(talk.state, doubted=False, deaf=True)
    _, effects = advance(talk.job, deaf, after(1.5))
    assert [e.text for e in effects if isinstance(e, Say)] == [
        "That was short. Was it a cut? When it is made, wait ten seconds and press."
    ]
    assert State.from_record(talk.state.to_record()) == talk.state


def test_a_short_cut_is_not_asked_about_for_its_shorter_call() -> None:
    """A line of five seconds: twelve with a call in whole sentences, seven in few words."""
    lines = State(step=Step.CUT, cut_times=(12.0, 12.0, 12.0), took=7.0)
    assert not cut_was_short(programme(9), lines)
    assert cut_was_short(programme(9), replace(lines, cut_times=(60.0,) * 3, took=35.0))
    assert cut_was_short(programme(9), replace(lines, took=2.0))
