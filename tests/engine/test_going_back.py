"""Going back: what has been done, what is to be undone; a cut counted too soon is reopened."""

from __future__ import annotations

import pytest

from assistant.engine import wording
from assistant.engine.engine import Announce, Refuse, advance
from assistant.engine.events import Command, SizeGiven
from assistant.engine.phases import Phase, Step, phase_of
from assistant.engine.state import State
from assistant.job.programme import Programme
from tests.engine.jobs import MEASURED, programme, size
from tests.engine.test_words import Played, say

BACK = say(Command.GO_BACK)
MOVE = "Twelve turns."  # as it is called: 36 to 1, three cuts


def played(step: Step, job: Programme | None = None) -> Played:
    """At that step for the second time, so that a move has led there."""
    return Played(job or programme(3)).to(Step.RELEASE).to(Step.INDEX).to(step)


@pytest.mark.parametrize("step", [Step.LOCK, Step.LEAVE_OFF])
def test_a_move_that_was_confirmed_is_not_called_again(step: Step) -> None:
    """The crank is there already: who does what is said must not turn it a second time."""
    job = programme(3, unlocked=step is Step.LEAVE_OFF)
    at = played(step, job)
    state, effects = advance(job, at.state, BACK)
    assert not any(isinstance(effect, Announce) for effect in effects)
    words = at.feed(BACK)
    assert phase_of(at.state.step) is Phase.INDEX and (state.place, state.settled) == (1, 0)
    assert MOVE not in words
    assert "counts as made: twelve turns. Don't turn it again." in words
    assert (
        "Look whether it stands at the hole of cut two. If so press, or say pin is home." in words
    )
    assert "To undo the move, say go back one." in words


def test_at_the_closing_check_the_move_is_not_called_again() -> None:
    at = Played(programme(3)).to(Step.CLOSING_CHECK)
    words = at.feed(BACK)
    assert MOVE not in words and "Don't turn it again." in words
    assert "at the first hole again" in words


def test_in_backing_off_the_move_is_not_called_again() -> None:
    at = played(Step.LOCK)
    at.feed(say(Command.OVERSHOT))
    assert at.state.step is Step.BACK_OFF
    words = at.feed(BACK)
    assert MOVE not in words and "Don't turn it again." in words


def test_half_a_turn_back_is_not_made_twice() -> None:
    """Two half turns back are a whole one: the pin would find its hole one turn too early."""
    at = played(Step.INDEX)
    at.feed(say(Command.OVERSHOT), say(Command.BACKED_OFF))
    words = at.feed(BACK)
    assert at.state.step is Step.BACK_OFF
    assert words.startswith("If you have turned back half a turn, turn no further.")


def test_a_move_that_is_undone_is_told_and_looked_at() -> None:
    """Going back twice: the move is named as one to be undone, and the place is made certain."""
    at = played(Step.LOCK)
    words = at.feed(BACK, BACK)
    assert at.state.step is Step.CHECK_POSITION and at.state.settled == 0
    assert "To be undone: twelve turns." in words
    assert "bring the pin to that hole in the working direction" in words


def test_before_the_move_a_crank_that_was_turned_comes_back_first() -> None:
    """The move will be called once more from the lock on: it must begin where it began."""
    words = played(Step.INDEX).feed(BACK)
    assert "If you have turned already, first go back to the hole of cut one." in words


# --- a press too many at the cut ---------------------------------------------------------


def test_a_cut_counted_too_soon_is_reopened_through_lock_and_guard() -> None:
    """The press that counted it was one too many: it is open again, and nothing is confirmed."""
    at = played(Step.RELEASE)
    assert at.state.done == 2 and at.state.locked
    words = at.feed(BACK)
    assert (at.state.step, at.state.done, at.state.place) == (Step.LOCK, 1, 1)
    assert not at.state.locked and not at.state.guarded
    assert words.startswith("Cut two is open again: it counts as not cut.")
    assert (
        at.to(Step.GUARD)
        .to(Step.CUT)
        .said[-1]
        .startswith("Lever tight, guard shut: cut two of three")
    )
    assert at.to(Step.RELEASE).state.done == 2


def test_a_driven_cut_is_reopened_with_the_lock_left_off() -> None:
    at = played(Step.RELEASE, programme(3, unlocked=True))
    at.feed(BACK)
    assert (at.state.step, at.state.done) == (Step.LEAVE_OFF, 1)


def test_a_cut_counted_too_soon_is_reopened_before_its_size() -> None:
    """The size is asked for when the cut is made, and not of metal that still stands."""
    at = Played(programme(3, 2, **MEASURED)).to(Step.MEASURE)
    at.feed(BACK)
    assert (at.state.step, at.state.done, at.state.measured) == (Step.LOCK, 1, 0)
    assert at.to(Step.CUT).to(Step.MEASURE).state.done == 2


def test_a_size_goes_with_the_cut_that_is_reopened() -> None:
    """It can't have been of this cut; the size of the pass before it stands."""
    job = programme(3, 2, measurements=(size(2, 1), size(2, 2)))
    at = Played(job).to(Step.MEASURE)
    at.feed(SizeGiven(0.0, "19.2"), say(Command.SIZE_RIGHT))
    at.to(Step.CLOSING_CHECK).to(Step.MEASURE)
    at.feed(SizeGiven(0.0, "18"), say(Command.SIZE_RIGHT))
    assert (at.state.measured, at.state.step) == (2, Step.RELEASE)
    at.feed(BACK)
    assert (at.state.measured, at.state.size, at.state.done) == (1, "96/5", 1)
    assert "zero point six millimetres deeper" in wording.dial_words(job, at.state)
    assert at.to(Step.MEASURE).state.measured == 1


def test_the_last_cut_along_a_rule_is_reopened_where_it_stands() -> None:
    """No move led back; the table may have been wound on, so the place is looked at first."""
    at = Played(programme(3, closed=False)).to(Step.CLOSING_CHECK)
    at.feed(BACK)
    assert (at.state.step, at.state.done, at.state.settled) == (Step.CHECK_POSITION, 2, 2)
    assert (
        at.to(Step.LOCK)
        .to(Step.CUT)
        .said[-1]
        .startswith("Lever tight, guard shut: cut three of three")
    )


def test_a_restart_keeps_a_reopened_cut_open() -> None:
    at = played(Step.RELEASE)
    at.feed(BACK)
    kept = State.from_record(at.state.to_record())
    assert kept == at.state and kept.done == 1


def test_before_the_first_move_there_is_nothing_to_reopen() -> None:
    """A refusal changes nothing."""
    job = programme(3)
    state = Played(job).to(Step.LOCK).to(Step.GUARD).to(Step.CUT).state
    for step in (Step.GUARD, Step.LOCK):
        state, effects = advance(job, state, BACK)
        assert state.step is step and state.done == 0
        assert not any(isinstance(effect, Refuse) for effect in effects)
