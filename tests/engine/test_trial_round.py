"""The trial round: called move by move with the cutter stopped, and no way from it to a cut.

That nothing is cut while the spindle is free, and that a trial round comes before the first cut:
common practice.
"""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from assistant.bench.session import view_of
from assistant.commands.pace_options import called_at
from assistant.devices.pedal.gestures import Gestures, Manner, calls_the_round
from assistant.engine.engine import Announce, Refuse, Say, advance, expected_commands
from assistant.engine.events import (
    Command,
    Device,
    DeviceLost,
    DeviceReturned,
    Event,
    Gesture,
    PedalUsed,
    SessionResumed,
    SessionStarted,
    SizeGiven,
    TrialWanted,
)
from assistant.engine.phases import Phase, Step, phase_of
from assistant.engine.presenting import acts
from assistant.engine.state import State
from assistant.engine.wording import question
from assistant.files.settings import PaceSettings
from assistant.job.compiler import head_of, stages_of
from assistant.job.job_file import read_job
from assistant.job.kinds.common import trial_marks
from assistant.job.programme import Programme
from assistant.job.trial_round import offered
from tests.commands import ROOT
from tests.engine.everything_said import JOBS
from tests.engine.jobs import programme
from tests.engine.test_words import Played, say
from tests.machinist.sentences import set_up

JOB = programme(4, 2, 2, trial_item=0)
PRESS = PedalUsed(0.0, Gesture.PRESS)
CALLED = {"key or page": TrialWanted(0.0), "voice": say(Command.RELEASED)}


def begun(job: Programme = JOB) -> Played:
    at = Played(job)
    at.feed(TrialWanted(0.0))
    return at


@pytest.mark.parametrize("way", CALLED)
def test_each_move_is_announced_once_and_counted(way: str) -> None:
    """Four divisions are four moves, and the last leads back to the first hole."""
    state, told = Played(JOB).state, []
    for event in (CALLED[way], *(PRESS,) * 4):
        state, effects = advance(JOB, state, event)
        told += [(e.cut, e.closing) for e in effects if isinstance(e, Announce)]
    assert told == [(2, False), (3, False), (4, False), (4, True)]
    assert state.step is Step.CLOSING_CHECK and state.done == 0
    after, _ = advance(JOB, state, PRESS)
    assert (after.step, after.item, after.place) == (Step.SET_UP, 1, 0)


def test_a_press_at_its_item_does_what_it_did_before() -> None:
    """Whoever presses through the set-up has the same job: lock and guard and four cuts come."""
    at, bare = Played(JOB), Played(programme(4, 2, 2))
    for _ in range(40):
        at.feed(PRESS), bare.feed(PRESS)
        assert (at.state.step, at.state.done) == (bare.state.step, bare.state.done)
        assert not at.state.trial


def test_it_is_offered_at_its_own_item_alone() -> None:
    """Anywhere else it is refused, and changes nothing; by voice too."""
    for job, state in ((programme(4, 2, 2), State()), (JOB, State(item=1)), (JOB, State(
        step=Step.RELEASE, place=1, settled=1, done=2, locked=True))):  # fmt: skip
        after, effects = advance(job, state, TrialWanted(0.0))
        assert after == state and any(isinstance(e, Refuse) for e in effects)
        assert "trial" not in acts(job, state)
    assert "trial" in acts(JOB, State())
    assert Command.RELEASED in expected_commands(State(), programme=JOB)
    assert Command.RELEASED not in expected_commands(State(item=1), programme=JOB)


def test_lock_and_guard_are_not_asked_and_no_cut_comes() -> None:
    """By presses alone, from the call to its end: moves, and a look at the first hole."""
    at = begun()
    seen = []
    while at.state.trial:
        seen.append(phase_of(at.state.step))
        assert not at.state.locked and not at.state.guarded
        at.feed(PRESS)
    assert seen == [Phase.INDEX] * 4 + [Phase.CLOSING_CHECK]


def test_it_says_where_it_is_and_how_many_are_left() -> None:
    at = begun()
    at.feed(PRESS)
    assert "Trial round, place three of four." in at.feed(say(Command.WHERE_AM_I))
    assert at.feed(say(Command.HOW_MANY_LEFT)) == "Three moves left in the trial round."


@pytest.mark.parametrize(
    "event", [SessionResumed(0.0), say(Command.PAUSE)], ids=["restart", "pause"]
)
def test_after_a_break_the_last_certain_hole_is_looked_at(event: Event) -> None:
    """The move that was called may be half made: it is called anew from the hole before it."""
    at = begun()
    at.feed(PRESS, event)
    if at.state.step is Step.PAUSED:
        at.feed(PRESS)
    assert (at.state.step, at.state.settled) == (Step.CHECK_POSITION, 1)
    words = at.feed(PRESS)
    assert at.state.step is Step.TRIAL_CLEAR and "the hole of cut two" in words
    assert "Place three of four." in at.feed(PRESS)


def test_no_cut_can_be_said_to_be_next_in_it() -> None:
    """ "I am really at cut two" would lead to the lock, with nothing cut."""
    at = begun()
    words = at.feed(say(Command.LOST_COUNT))
    assert "If another cut is next" not in words
    state, effects = advance(JOB, at.state, SizeGiven(0.0, "2"))
    assert state == at.state and any(isinstance(e, Refuse) for e in effects)
    assert "figure" not in acts(JOB, at.state)


def test_a_lost_count_goes_round_anew() -> None:
    at = begun()
    at.feed(PRESS, PRESS, say(Command.LOST_COUNT))
    assert (at.state.step, at.state.settled) == (Step.CHECK_POSITION, 0)


def test_a_hole_missed_is_mended_as_in_the_cuts() -> None:
    at = begun()
    at.feed(PRESS, say(Command.OVERSHOT), PRESS)
    assert at.state.step is Step.COME_UP
    assert "Place four of four." in at.feed(PRESS)


def test_it_is_left_by_going_back_from_the_first_hole() -> None:
    at = begun()
    at.feed(say(Command.GO_BACK))
    assert at.state.step is Step.TRIAL_CLEAR
    at.feed(say(Command.GO_BACK))
    assert (at.state.step, at.state.item, at.state.trial) == (Step.SET_UP, 0, False)


WAYS_OUT = {
    "key or page": TrialWanted(0.0),
    "voice": say(Command.CHECKED),
}
ON_THE_WAY: dict[str, tuple[Event, ...]] = {
    "at the first move": (),
    "at the second": (PRESS,),
    "half a turn back": (PRESS, say(Command.OVERSHOT)),
    "coming up again": (PRESS, say(Command.OVERSHOT), PRESS),
    "before a move": (PRESS, say(Command.GO_BACK)),
    "at a move that was made": (PRESS, say(Command.GO_BACK), say(Command.GO_BACK)),
    "with the count lost": (PRESS, say(Command.LOST_COUNT)),
    "in a pause": (PRESS, say(Command.PAUSE)),
    "after a restart": (PRESS, SessionResumed(0.0)),
    "at the closing check": (PRESS,) * 4,
}


@pytest.mark.parametrize("way", WAYS_OUT)
@pytest.mark.parametrize("where", ON_THE_WAY)
def test_it_is_left_by_one_answer_wherever_it_stands(where: str, way: str) -> None:
    """Its item is asked once more, and nothing is counted; but the pin is in any hole, so that
    the first one is asked for before."""
    at = begun()
    at.feed(*ON_THE_WAY[where])
    assert at.state.trial
    assert "trial" in acts(JOB, at.state)
    assert Command.CHECKED in expected_commands(at.state, programme=JOB)
    words = at.feed(WAYS_OUT[way])
    assert (at.state.step, at.state.trial, at.state.item) == (Step.SET_UP, False, 0)
    assert "Pin in the marked hole" in words and "first reading" in words
    assert "trial" not in acts(JOB, at.state)  # no second round from just any hole
    assert view_of(JOB, at.state).item.startswith("Lock off. Pin in the marked hole")
    assert at.feed(PRESS).startswith("Item one of two")
    assert at.state == State(said=at.state.said)


def test_before_its_first_move_it_is_left_at_once() -> None:
    """The pin never left the first hole."""
    at = begun()
    at.feed(say(Command.GO_BACK))
    assert at.feed(TrialWanted(0.0)).startswith("Item one of two")


def test_the_way_back_to_the_first_hole_is_asked_for_after_a_restart_too() -> None:
    at = begun()
    at.feed(TrialWanted(0.0))
    assert "Pin in the marked hole" in at.feed(SessionResumed(0.0))
    kept = State.from_record(at.state.to_record())
    assert kept.astray


def test_a_second_round_begins_anew() -> None:
    """Behind one that was left, and behind one that was made: go back one, and call it."""
    at = begun()
    at.feed(PRESS, TrialWanted(0.0), PRESS)
    assert "Place two of four." in at.feed(TrialWanted(0.0))
    at.feed(*(PRESS,) * 5)
    assert (at.state.item, at.state.trial) == (1, False)
    at.feed(say(Command.GO_BACK))
    assert "Place two of four." in at.feed(TrialWanted(0.0))
    assert (at.state.place, at.state.settled, at.state.done) == (1, 0, 0)


def test_the_foot_begins_it_by_a_short_hold_and_leaves_it_from_a_pause() -> None:
    """Elsewhere that hold says again, in the round too."""
    at = Played(JOB)
    at.feed(PedalUsed(0.0, Gesture.SHORT_HOLD))
    assert (at.state.step, at.state.trial) == (Step.TRIAL_MOVE, True)
    at.feed(PRESS)
    before = at.state
    assert "Place three of four." in at.feed(PedalUsed(0.0, Gesture.SHORT_HOLD))
    assert at.state == before
    at.feed(PedalUsed(0.0, Gesture.HOLD), PedalUsed(0.0, Gesture.SHORT_HOLD))
    assert (at.state.step, at.state.trial) == (Step.SET_UP, False)


@pytest.mark.parametrize(
    ("foot", "told"),
    [
        ("hold", "Or hold the pedal for one second."),
        ("second", "Or press the second pedal."),
        ("", ""),
    ],
)
def test_its_item_names_what_of_the_pedal_calls_it(foot: str, told: str) -> None:
    """Beside the phrase or the key; not while the pedal is away, nor where no gesture does."""
    job = replace(programme(4, trial_item=1), checklist=("Oil the arbor.", trial_marks(4)))
    started = SessionStarted(0.0, "head", foot=foot)
    for event in (started, SessionResumed(0.0, "none", foot=foot)):
        state, effects = advance(job, State(item=1), event)
        asked = effects[-1]
        assert isinstance(asked, Say) and ("pedal" in asked.text) == bool(told)
        assert told in asked.text and "left out, press" in asked.text
        set_up(asked.text)  # a literal person understands it
        state, _ = advance(job, state, DeviceLost(0.0, Device.PEDAL, "unplugged"))
        assert "pedal" not in question(job, state)
        state, _ = advance(job, state, DeviceReturned(0.0, Device.PEDAL))
        assert told in question(job, state)


@pytest.mark.parametrize(
    ("gestures", "second", "foot"),
    [
        (Manner.HOLD, None, "hold"),
        (Manner.HOLD, Manner.SECOND, "hold"),
        (Manner.DOUBLE, None, ""),
        (Manner.DOUBLE, Manner.SECOND, "second"),
        (Manner.DOUBLE, Manner.SECOND_PAUSES, ""),
    ],
)
def test_what_is_told_of_the_foot_begins_it(
    gestures: Manner, second: Manner | None, foot: str
) -> None:
    """A second on the pedal, and a press of the second one, are told as what begins the round."""
    assert calls_the_round(gestures, second) == foot
    if foot:
        contact = Gestures(gestures if foot == "hold" else Manner.SECOND)
        for_long = 1.0 if foot == "hold" else 0.2
        (told,) = contact.down(1.0) + contact.up(1.0 + for_long) + contact.tick(3.0)
        state, _ = advance(JOB, State(), PedalUsed(0.0, told))
        assert state.trial


def test_two_presses_begin_nothing() -> None:
    """They say again: a nervous foot makes them at any item."""
    at = Played(JOB)
    at.feed(PedalUsed(0.0, Gesture.DOUBLE))
    assert at.state == Played(JOB).state


def test_along_a_rule_it_ends_at_the_last_place() -> None:
    """Four places are three moves: none leads back."""
    at = begun(programme(4, 1, 2, trial_item=0, closed=False))
    at.feed(PRESS, PRESS)
    assert at.state.step is Step.TRIAL_MOVE
    words = at.feed(PRESS)
    assert "last place" in words and "wind back" in words
    at.feed(PRESS)
    assert (at.state.step, at.state.place) == (Step.SET_UP, 0)


def test_where_it_is_the_last_item_that_is_asked_once_more() -> None:
    """No answer within the round leads to the first cut: a press at its item does."""
    at = begun(programme(2, 1, 1, trial_item=0))
    words = at.feed(PRESS, PRESS, PRESS)
    assert (at.state.step, at.state.trial) == (Step.SET_UP, False)
    assert words.startswith("The round is made, and it closed. Item one of one.")
    at.feed(PRESS)
    assert at.state.step is Step.LOCK


@pytest.mark.parametrize("path", JOBS, ids=lambda path: path.stem)
def test_in_the_jobs_it_is_the_item_that_speaks_of_it(path: Path) -> None:
    """The scale that it reads is set before it."""
    job = read_job(path)
    for stage in stages_of(job, head_of(job)):
        made = stage.programme
        named = [n for n, item in enumerate(made.checklist) if item.startswith("Trial ")]
        assert named == [made.trial_item] * (made.trial_item >= 0)
        scale = [n for n, item in enumerate(made.checklist) if item.startswith("Degree scale")]
        assert not named or all(n < named[0] for n in scale)
        assert Programme.from_record(made.to_record()).trial_item == made.trial_item


def test_by_the_settings_every_job_offers_it_once() -> None:
    """A plain job on a head with a scale has none of its own: it comes last, behind the scale."""
    job = read_job(ROOT / "config/jobs/count-wheel.toml")
    bare = stages_of(job, head_of(job))[0].programme
    assert bare.trial_item == -1
    assert called_at(bare, PaceSettings(), "whole").checklist == bare.checklist
    made = called_at(bare, PaceSettings(trial_round=True), "whole")
    assert made.trial_item == len(bare.checklist) == len(made.checklist) - 1
    assert made.checklist[-1].startswith("Trial round")
    assert Programme.from_record(made.to_record()) == made
    assert called_at(made, PaceSettings(trial_round=True), "whole") == made
    at = Played(made)
    for _ in bare.checklist:
        at.feed(PRESS)
    at.feed(TrialWanted(0.0))
    assert at.state.trial


def test_where_no_move_is_made_the_settings_offer_none() -> None:
    alone = programme(1, closed=False)
    assert offered(alone) is alone
