"""A state read back is the one written or is refused; only the last pass leaves stock to cut."""

from __future__ import annotations

import dataclasses
from fractions import Fraction

import pytest

from assistant.engine.engine import Announce, Say, advance
from assistant.engine.events import (
    Command,
    Gesture,
    NoteWritten,
    PedalUsed,
    PhraseHeard,
    SessionStarted,
    TrustChanged,
)
from assistant.engine.phases import Step
from assistant.engine.state import State, left_to_cut, replace
from solver import Move
from tests.engine.jobs import MEASURED, programme


def test_a_state_with_another_value_is_a_new_one_and_has_no_new_field() -> None:
    """As the standard library has it, only sooner; what was copied stays as it was."""
    before = State(step=Step.CUT, done=3, pace=(12.5,))
    after = replace(before, done=4, guarded=True)
    assert after == dataclasses.replace(before, done=4, guarded=True)
    assert hash(after) == hash(dataclasses.replace(before, done=4, guarded=True))
    assert before == State(step=Step.CUT, done=3, pace=(12.5,))
    assert list(after.to_record()) == list(before.to_record())
    with pytest.raises(TypeError, match="no plaec"):
        replace(before, **{"plaec": 1})  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("field", "value"),
    [("pace", 7), ("lost", 7), ("no_such_field", 1), ("step", None)],
)
def test_a_record_that_is_no_state_is_refused(field: str, value: object) -> None:
    """A journal that was written on by something else never ends in a traceback."""
    record = {**State().to_record(), field: value}
    with pytest.raises(ValueError):
        State.from_record(record)


def test_a_record_without_its_step_is_refused() -> None:
    record = State().to_record()
    del record["step"]
    with pytest.raises(ValueError, match="does not fit"):
        State.from_record(record)


def test_only_the_last_pass_leaves_stock_to_cut_again() -> None:
    """In an earlier pass the next one takes off what is left: cutting again would be too deep."""
    job = programme(6, passes=2, **MEASURED)
    first = State(step=Step.READ_BACK, done=2, settled=1, place=1, size="19")
    assert left_to_cut(job, first) == 0
    assert left_to_cut(job, replace(first, pass_number=2)) == Fraction(1, 2)
    assert left_to_cut(job, replace(first, pass_number=2, size="")) == 0


def test_a_change_of_the_hint_adds_nothing_to_an_answer() -> None:
    """Where the last thing said was an answer, "say again" repeats that answer and no question,
    also when the shop has become too loud for the phrase that the question named."""
    job = programme(9)
    state, _ = advance(job, State(), SessionStarted(0.0, "head"))
    state, _ = advance(job, state, PedalUsed(1.0, Gesture.PRESS))
    assert state.step is Step.LOCK and state.said.endswith("say spindle locked.")
    loud, _ = advance(job, state, TrustChanged(2.0, trusted=False))
    assert loud.said.endswith("Press.")
    state, _ = advance(job, state, PhraseHeard(2.0, "where am I", Command.WHERE_AM_I))
    answer = state.said
    loud, _ = advance(job, state, TrustChanged(3.0, trusted=False))
    assert loud.too_loud and loud.said == answer


def test_the_pace_is_that_of_the_cuts() -> None:
    """Seconds from cut to cut, however few they are; none where the clock was set back, and the
    count begins anew after that."""
    job = programme(9)
    state, now = State(), 0.0
    state, _ = advance(job, state, SessionStarted(now))
    paces = []
    for cut, took in enumerate((40.0, 0.5, -100.0, 30.0)):
        while state.done == cut:
            last = state.step is Step.CUT
            now += took if last else 0.0
            state, _ = advance(job, state, PedalUsed(now, Gesture.PRESS))
        paces.append(state.pace)
    assert paces == [(), (0.5,), (0.5,), (0.5, 30.0)]


def test_each_move_that_is_called_is_its_own() -> None:
    """Where the holes change from move to move, every one is called at its place, the one back to
    the start as the last."""
    moves = tuple(Move(turns=1, holes=holes, circle=18) for holes in (3, 4, 5))
    job = dataclasses.replace(programme(3), moves=moves)
    state, effects = advance(job, State(), SessionStarted(0.0))
    called = []
    while state.step is not Step.FINISHED:
        called += [each for each in effects if isinstance(each, Announce)]
        state, effects = advance(job, state, PedalUsed(0.0, Gesture.PRESS))
    assert [(each.move, each.cut, each.closing) for each in called] == [
        (moves[0], 2, False), (moves[1], 3, False), (moves[2], 3, True),
    ]  # fmt: skip


def test_what_say_again_repeats() -> None:
    """Every answer, whichever was asked for, but no note: that was not an answer."""
    job = programme(9)
    state, _ = advance(job, State(), SessionStarted(0.0))
    for command in (Command.HOW_MANY_LEFT, Command.WHERE_AM_I, Command.WHAT_NEXT):
        state, effects = advance(job, state, PhraseHeard(1.0, "asked", command))
        (answer,) = [effect.text for effect in effects if isinstance(effect, Say)]
        assert state.said == answer
        state, effects = advance(job, state, NoteWritten(2.0, "burr"))
        assert state.said == answer and state.notes
        _, effects = advance(job, state, PhraseHeard(3.0, "say again", Command.SAY_AGAIN))
        assert [effect.text for effect in effects if isinstance(effect, Say)] == [answer]
