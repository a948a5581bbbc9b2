"""An answer has to be an answer: pedals that bounce, echo, stick or chatter get past no lock.

Time is virtual: each press hushes and begins the question anew, as at the bench.
TALLYHAND_TEST_PEDAL_HOURS: hours of contacts for each fault, 2 where nothing is said.
"""

from __future__ import annotations

import json
import os
import random
from dataclasses import replace
from fractions import Fraction

import pytest

from assistant.bench import pedal_watch
from assistant.bench.pedal_watch import QUIET_S, PedalWatch
from assistant.devices.pedal.gestures import Manner
from assistant.engine.answers import LEAST_FOR_CARE_S, REACTION_S, understood_after
from assistant.engine.engine import Refuse, Say, advance
from assistant.engine.events import Command, Gesture, PedalUsed, PhraseHeard, SessionStarted
from assistant.engine.phases import Phase, Step, phase_of
from assistant.engine.state import State
from assistant.job.programme import Programme, heeding
from tests.commands import COUNT_WHEEL, tallyhand
from tests.engine.jobs import programme
from tests.trust.contacts import (
    FAULTS,
    at_random,
    echo,
    from_the_start,
    in_the_middle,
    tapping,
    worked,
)

HOURS = float(os.environ.get("TALLYHAND_TEST_PEDAL_HOURS", "2"))
JOB = programme(9)
IN_FEW_WORDS = heeding(JOB, whole_cuts=1, remind_every=0)


@pytest.mark.parametrize("job", [JOB, IN_FEW_WORDS], ids=["whole", "few"])
@pytest.mark.parametrize("hertz", [1, 2, 4, 8, 12, 20])
def test_an_echo_never_gets_past_a_lock(job: Programme, hertz: int) -> None:
    """A contact at a steady pace: no lock is taken; where its presses are told one by one, and not
    as holds and doubles, the pedal is doubted within a minute."""
    came = from_the_start(job, echo(hertz), HOURS, manner=Manner.DOUBLE)
    assert came.locks == 0 and came.state.done == 0
    assert hertz > 1 or 0 < came.doubted < 60


@pytest.mark.parametrize("manner", [Manner.HOLD, Manner.DOUBLE])
@pytest.mark.parametrize("hertz", [1, 3, 10, 20])
@pytest.mark.parametrize("fault", FAULTS)
def test_no_fault_gets_past_a_lock(fault: str, hertz: float, manner: Manner) -> None:
    """A pedal that is faulty as the session begins stamps nothing, by no chance."""
    contacts = FAULTS[fault](random.Random(f"{fault} {hertz}"), hertz)
    came = from_the_start(JOB, contacts, HOURS, manner=manner)
    assert (came.locks, came.guards, came.state.done) == (0, 0, 0)


def test_the_trials_can_fail(monkeypatch: pytest.MonkeyPatch) -> None:
    """Without the watch the same contacts work at the job."""
    monkeypatch.setattr(pedal_watch, "HASTY", 10**9)
    monkeypatch.setattr(pedal_watch, "AFTER_HASTY_S", 0.0)
    state, _ = advance(JOB, State(), SessionStarted(0.0))
    came = in_the_middle(JOB, at_random(random.Random(1), 1), HOURS, state)
    assert came.locks


def test_a_fault_in_the_middle_is_doubted_after_a_few() -> None:
    """Its first contacts can't be told from a foot; some minutes later none is taken any more."""
    job = heeding(programme(60), whole_cuts=1, remind_every=0)
    state, _ = advance(job, State(), SessionStarted(0.0))
    while state.done < 5:
        state, _ = advance(job, state, PedalUsed(0.0, Gesture.PRESS))
    made = [
        in_the_middle(job, at_random(random.Random(n), 1), 0.2, state).state.done - 5
        for n in range(30)
    ]
    assert max(made) <= 5 and sum(made) <= 30


@pytest.mark.parametrize("hertz", [0.2, 0.5, 1, 20])
@pytest.mark.parametrize("fault", FAULTS)
def test_a_fault_in_the_middle_gets_past_the_lock_of_one_cut_at_the_most(
    fault: str, hertz: float
) -> None:
    """Its first contacts are a foot's; begun while a call stands, a guard, or a cut of a minute. A
    pedal an hour; where nothing is said, six minutes of three: all is decided in the first."""
    hours = 1.0 if "TALLYHAND_TEST_PEDAL_HOURS" in os.environ else 0.1
    job = heeding(programme(60), whole_cuts=1, remind_every=0)
    call = worked(job, 6)
    guard, _ = advance(job, call, PedalUsed(0.0, Gesture.PRESS, took=20.0))
    cut, _ = advance(job, guard, PedalUsed(0.0, Gesture.PRESS, took=20.0))
    for n in range(max(3, round(HOURS))):
        contacts = FAULTS[fault](random.Random(f"{fault} {hertz} {n}"), hertz)
        came = in_the_middle(job, contacts, hours, (call, guard, cut)[n % 3])
        assert len(came.cuts) <= 1, n


@pytest.mark.parametrize("every_s", [1, 2, 3, 5, 8, 12, 20])
def test_who_taps_in_a_rhythm_is_found_out_in_the_first_cut(every_s: float) -> None:
    """After six honest cuts of a minute, or from the first one with four minutes from the job."""
    worked_before = heeding(programme(106), whole_cuts=1, remind_every=0)
    stated = replace(worked_before, cut_minutes=Fraction(4))
    for n in range(5):
        for job, cuts in ((worked_before, 6), (stated, 0)):
            taps = tapping(random.Random(n), every_s)
            came = in_the_middle(job, taps, 1.0, worked(job, cuts))
            assert came.state.done - cuts <= 1 and came.locks <= 2 and came.doubted, (n, cuts)


def test_where_no_time_is_known_a_rhythm_is_a_foot() -> None:
    """What stays uncaught: each eight seconds, every cut of a hundred is stamped."""
    job = heeding(programme(100), whole_cuts=1, remind_every=0)
    came = in_the_middle(job, tapping(random.Random(1), 8.0), 2.0, worked(job, 0))
    assert came.state.done > 90 and not came.doubted


def test_each_press_before_the_quiet_makes_it_longer() -> None:
    """A gap of ten seconds comes by chance; after a few more contacts it wants half a minute."""
    watch = PedalWatch(proven=True)
    judged(watch, 1.0, 0.5, 1.0)
    for n, still in enumerate((9.0, 19.0, 29.0, 29.5)):
        assert not judged(watch, 50.0 * (n + 1), still, still).trusted
    assert not watch.doubted and judged(watch, 300.0, QUIET_S, QUIET_S).trusted


def test_a_lock_answered_before_it_was_said_is_asked_again() -> None:
    """With the tone and the reason; the same press in good time counts."""
    state, _ = advance(JOB, State(), SessionStarted(0.0))
    while phase_of(state.step) is not Phase.LOCK:
        state, _ = advance(JOB, state, PedalUsed(0.0, Gesture.PRESS))
    needed = understood_after(JOB, state)
    assert needed > 1
    same, effects = advance(JOB, state, PedalUsed(0.0, Gesture.PRESS, waited=needed - 0.1))
    assert same == state and any(isinstance(effect, Refuse) for effect in effects)
    assert any(isinstance(e, Say) and "Lock the spindle." in e.text for e in effects)
    new, _ = advance(JOB, state, PedalUsed(0.0, Gesture.PRESS, waited=needed + 0.1))
    assert new.locked


def test_how_to_answer_need_not_be_heard_out() -> None:
    """What a person may know already does not hold an answer up."""
    told = State(step=Step.GUARD, locked=True)
    known = State(step=Step.GUARD, locked=True, done=1, place=1, settled=1)
    assert understood_after(JOB, told) == understood_after(JOB, known)
    assert understood_after(JOB, State(step=Step.CUT)) == REACTION_S


def judged(watch: PedalWatch, at: float, waited: float, still: float) -> PedalUsed:
    return watch.judge(PedalUsed(at, Gesture.PRESS, waited=waited, still=still), 2.0, careful=True)


def proving(watch: PedalWatch, at: float, again: Gesture, *, apart: float = 1.0) -> bool:
    """Half a minute of quiet, and the pattern: whether it is believed after that."""
    for n, gesture in enumerate((Gesture.PRESS, again, Gesture.PRESS, again)):
        still = apart if n else QUIET_S
        event = PedalUsed(at + n * (apart + 0.6), gesture, waited=still, still=still)
        assert not watch.judge(event, 2.0, careful=False).trusted, "the pattern answers nothing"
    return not watch.doubted


@pytest.mark.parametrize("again", [Gesture.SHORT_HOLD, Gesture.DOUBLE])
def test_a_doubted_pedal_proves_itself_by_quiet_and_a_pattern(again: Gesture) -> None:
    """Quiet alone comes by chance, and so does a burst; both gestures are known to the foot."""
    watch = PedalWatch(proven=True)
    for n in range(3):
        judged(watch, float(n), 0.5, 1.0)
    assert watch.doubted and not judged(watch, 100.0, 60.0, 60.0).trusted
    assert watch.doubted, "quiet is not enough"
    assert not proving(watch, 200.0, again, apart=0.5)
    assert not proving(watch, 300.0, again, apart=4.1)
    assert not proving(watch, 400.0, Gesture.PRESS)
    assert proving(watch, 500.0, again) and judged(watch, 520.0, 9.0, 9.0).trusted


def test_a_contact_in_a_cut_makes_lock_and_guard_wait() -> None:
    """Half a minute of quiet for each, until a cut is made in its time again."""
    watch = PedalWatch(proven=True)

    def press(at: float, still: float, in_cut: bool | None) -> bool:
        event = PedalUsed(at, Gesture.PRESS, waited=still, still=still)
        return watch.judge(event, 0.2, careful=in_cut is None, in_cut=in_cut).trusted

    assert press(10.0, 5.0, None) and press(20.0, 9.0, True) and not press(40.0, 19.0, None)
    assert press(75.0, QUIET_S, None) and not press(90.0, 14.0, None)
    assert press(140.0, 40.0, False) and press(150.0, 9.0, None)


def test_a_pedal_that_pauses_again_and_again_sticks() -> None:
    watch = PedalWatch(proven=True)
    for at in (10.0, 20.0):
        assert judged(watch, at - 2, 5.0, 5.0).trusted
        watch.judge(PedalUsed(at, Gesture.HOLD, still=5.0), 0.2, careful=False)
    assert not judged(watch, 40.0, 19.0, 19.0).trusted


def test_a_doubted_pedal_is_believed_once_it_is_proven() -> None:
    """And a foot that heard the lock out now and then is never doubted for an old slip."""
    watch = PedalWatch(proven=True)
    for n in range(3):
        judged(watch, float(n), 0.5, 1.0)
    assert watch.doubted
    assert not judged(watch, 10.0, 60.0, 7.0).trusted
    assert proving(watch, 12.0 + QUIET_S, Gesture.SHORT_HOLD)
    for n in range(60, 260, 16):
        hasty = judged(watch, float(n), 0.5, 2.0)
        heard = judged(watch, n + 11.0, 10.5, 11.0)
        assert hasty.trusted and heard.trusted


def test_after_one_answer_too_soon_a_foot_can_wait() -> None:
    """Ten seconds of quiet, for lock and guard alone; a foot that does not wait is no more doubted
    for it, and far under its own pace counts as too soon."""
    watch = PedalWatch(proven=True)
    judged(watch, 1.0, 0.5, 1.0)
    for n in range(5):
        assert not judged(watch, 5.0 + 4 * n, 4.0, 4.0).trusted
    assert not watch.doubted
    set_up = PedalUsed(25.0, Gesture.PRESS, waited=4.0, still=4.0)
    assert watch.judge(set_up, 0.2, careful=False).trusted
    assert judged(watch, 29.0, 4.0, 4.0).trusted, "answered in time since"
    quick = PedalUsed(29.5, Gesture.PRESS, waited=4.0, still=4.0)
    assert watch.judge(quick, 2.0, careful=True, quick=True).trusted
    assert judged(watch, 29.9, 4.0, 4.0).trusted, "the question was heard"
    for n in range(3):
        quick = PedalUsed(30.0 + n, Gesture.PRESS, waited=9.0, still=9.0)
        watch.judge(quick, 2.0, careful=True, quick=True)
    assert watch.doubted


def test_a_pedal_is_proven_by_a_quiet_contact_before_it_counts_for_lock_and_guard() -> None:
    """All else it may answer at once; what stirs its contact unseen is no quiet."""
    watch = PedalWatch()
    assert watch.judge(PedalUsed(1.0, Gesture.PRESS, still=1.0), 0.2, careful=False).trusted
    assert not judged(watch, 90.0, 60.0, 5.0).trusted
    assert judged(watch, 130.0, 60.0, QUIET_S).trusted
    assert judged(watch, 135.0, 60.0, 5.0).trusted
    assert judged(watch, 140.0, 60.0, 0.5).waited == 0.5


def test_a_spoken_lock_waits_for_its_question_too() -> None:
    """Where no loudspeaker keeps the ear shut, a phrase in the air is no answer to what follows."""
    state, _ = advance(JOB, State(), SessionStarted(0.0))
    while phase_of(state.step) is not Phase.LOCK:
        state, _ = advance(JOB, state, PedalUsed(0.0, Gesture.PRESS))
    said = PhraseHeard(0.0, "spindle locked", Command.LOCKED)
    needed = understood_after(JOB, state)
    same, effects = advance(JOB, state, replace(said, waited=needed - 0.1))
    assert same == state and any(isinstance(effect, Refuse) for effect in effects)
    new, _ = advance(JOB, state, replace(said, waited=needed))
    assert new.locked


def test_no_guard_is_closed_as_fast_as_its_short_call() -> None:
    guard = State(step=Step.GUARD, locked=True, done=2, place=2, settled=2, steady=2)
    asked, _ = advance(IN_FEW_WORDS, replace(guard, step=Step.CALL), PedalUsed(0.0, Gesture.PRESS))
    assert asked.said == "Lever, guard?"
    assert understood_after(IN_FEW_WORDS, guard) == LEAST_FOR_CARE_S


def test_a_script_says_when_its_answers_come() -> None:
    """`after_ms` counts from the beginning of the question; without it the answer is in time."""
    script = [{"press": "main"}] * 9 + [{"press": "main", "after_ms": 400}] * 3
    lines = "\n".join(map(json.dumps, [*script, {"press": "main"}]))
    done = tallyhand("rehearse", COUNT_WHEEL, "--script", "-", "--json", given=lines)
    found = [json.loads(line) for line in done.stdout.splitlines()]
    states = [each["state"] for each in found if "state" in each]
    assert states[-1]["phase"] == "lock" and not states[-1]["locked"]
    assert sum("Too soon." in each.get("refused", "") for each in found) == 2
    assert sum("I take no answer from" in each.get("refused", "") for each in found) == 2
