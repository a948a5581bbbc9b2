"""What is to be told now, and how: the rules beside the sentences, which are in `wording.py`."""

from __future__ import annotations

from assistant.engine.allowed import is_for_lock_or_guard, may_answer
from assistant.engine.events import Device, Source
from assistant.engine.phases import ANSWERS
from assistant.engine.phrases import LOCK_AND_GUARD
from assistant.engine.state import State
from assistant.job.programme import Programme
from assistant.job.round_end import holes_past_first, shorter
from assistant.job.units import NO_LENGTH
from solver import Millimetres, Turns

SELDOM, SELDOMEST = 3, 6
"""Every how many cuts the scale is read where no move has whole turns."""


def by_voice(state: State) -> bool:
    """A phrase would be heard, and would count for what is asked now."""
    careful = ANSWERS.get(state.step) in LOCK_AND_GUARD
    return listened_to(state) and not (careful and state.too_loud)


def phrase_counts(programme: Programme, state: State) -> bool:
    """A phrase would be heard, and is allowed as an answer to what is asked now."""
    chosen = not is_for_lock_or_guard(state) or may_answer(programme, state, Source.VOICE)
    return by_voice(state) and chosen


def listened_to(state: State) -> bool:
    """An ear is there that a phrase would reach."""
    return not state.deaf and not {Device.EAR, Device.MICROPHONE} & set(state.lost)


def position(programme: Programme, place: int) -> Turns:
    """Turns of the spindle from the first cut, 0 or more and under 1."""
    return programme.positions[place]


def by_handwheel(programme: Programme) -> bool:
    """The place is read on a graduated dial: no plate, no pin, no holes."""
    return bool(programme.worm_ratio) and programme.moves[0].minutes is not None


def holes_past_mark(programme: Programme, state: State, place: int) -> int | None:
    """Holes from the marked first hole to the pin, in the working direction where more than 0,
    the shorter way round; None where no hole was marked, or the pin does not go by one circle, or
    the mark of the pass before may still stand in another hole."""
    circles = {move.circle for move in programme.moves}
    circle = next(iter(circles)) if len(circles) == 1 else None
    counted = any(move.holes for move in programme.moves)
    if state.stage or not circle or not counted or any(m.plate_holes for m in programme.moves):
        return None
    if not place and marks_anew(programme) and state.pass_number > 1:
        return None
    return shorter(sum(move.holes for move in programme.moves[:place]), circle)


def marks_anew(programme: Programme) -> int:
    """Holes past the first one in which the pin stands after a whole round; 0: in the first one
    again. Else that hole is the first one of the next round, and is marked in its place."""
    return holes_past_first(programme.moves) if programme.closed else 0


def begins_off_mark(programme: Programme) -> bool:
    """A further setting whose first cut is made from another hole than the one that is marked:
    “the first hole” would be understood as that one."""
    return programme.positions[0] != 0 and not by_handwheel(programme)


def scale_is_due(programme: Programme, state: State) -> bool:
    """A miscounted turn shows on the scale: it is called after every move with whole turns.

    Unless the job says how often. Where a move has none, every third cut is enough, or one soon
    after it where the scale has a line (docs/decisions/505-where-to-look.md).
    """
    if state.place == programme.cuts - 1:
        return True
    if programme.scale_every:
        return state.place % programme.scale_every == 0
    return programme.moves[state.place - 1].turns > 0 or state.place % _scale_rhythm(programme) == 0


def _scale_rhythm(programme: Programme) -> int:
    """Every how many cuts the scale is read where no move has whole turns: a reading on one of
    its lines is sooner said, and surer than one between two."""
    for cuts in range(SELDOM, min(SELDOMEST, programme.cuts - 1) + 1):
        degrees = position(programme, cuts) * 360
        if programme.scale_degrees and not degrees % programme.scale_degrees:
            return cuts
    return SELDOM


def is_set(programme: Programme, state: State) -> bool:
    """The last pass was measured: what the dial reads now is no longer the job's own figure."""
    taken = programme.measurements[: state.measured][-1:]
    settled = state.pass_number == programme.passes == (taken[0].pass_number if taken else 0)
    return state.deeper or settled or _was_deep_enough(programme, state)


def _was_deep_enough(programme: Programme, state: State) -> bool:
    """By the size of an earlier pass nothing is left: the planned depth would be too deep."""
    taken = programme.measurements[: state.measured][-1:]
    if not taken or not state.size or taken[0].sideways:
        return False
    earlier = taken[0].pass_number < state.pass_number
    return earlier and not taken[0].remaining(state.size_mm)


def after_the_size(programme: Programme, state: State) -> Millimetres:
    """How much deeper the last pass goes by a size taken before it, mm; 0: none, or no depth."""
    if not (state.size and state.measured and state.pass_number == programme.passes):
        return NO_LENGTH
    taken = programme.measurements[state.measured - 1]
    before = taken.pass_number < state.pass_number and not taken.sideways
    return taken.remaining(state.size_mm) if before else NO_LENGTH


def own_depth(programme: Programme, state: State) -> Millimetres:
    """The depth of this cut, mm, where each has its own; 0 where one holds for all."""
    if not any(programme.deeper) or state.pass_number > len(programme.depths_mm):
        return NO_LENGTH
    cut = min(state.done, programme.cuts - 1)
    return Millimetres(programme.depths_mm[state.pass_number - 1] + programme.deeper[cut])
