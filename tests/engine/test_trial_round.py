"""The trial round: called move by move with the cutter stopped, and no way from it to a cut.

That nothing is cut while the spindle is free, and that a trial round comes before the first cut:
common practice.
"""

from __future__ import annotations

from pathlib import Path

import pytest

from assistant.engine.engine import Announce, Refuse, advance, expected_commands
from assistant.engine.events import (
    Command,
    Event,
    Gesture,
    PedalUsed,
    SessionResumed,
    SizeGiven,
    TrialWanted,
)
from assistant.engine.phases import Phase, Step, phase_of
from assistant.engine.presenting import acts
from assistant.engine.state import State
from assistant.job.compiler import head_of, stages_of
from assistant.job.job_file import read_job
from assistant.job.programme import Programme
from tests.engine.everything_said import JOBS
from tests.engine.jobs import programme
from tests.engine.test_words import Played, say

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
