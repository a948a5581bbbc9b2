"""What a state recorded for a job can be: counts within that job, each of its own type.

A journal may be whole by SQLite and by its chain and still hold a state in which no session of
its job can stand. The engine would stumble over it later, in the middle of the work.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import fields
from fractions import Fraction
from operator import attrgetter, gt
from typing import Any

from assistant.engine.state import State
from assistant.job.programme import Programme

_TYPES: dict[str, type] = {"int": int, "bool": bool, "str": str}
_CHECKED = tuple(
    (each.name, _TYPES[str(each.type)]) for each in fields(State) if each.type in _TYPES
)
_values = attrgetter(*(name for name, _ in _CHECKED))
_KINDS = [kind for _, kind in _CHECKED]
_COUNTS = ("part", "item", "place", "settled", "done", "again", "pass_number", "measured")
_counts = attrgetter(*_COUNTS)
_ints = attrgetter(*(name for name, kind in _CHECKED if kind is int))

Check = Callable[[State], None]


def state_check(stages: Sequence[Programme]) -> Check:
    """What raises ValueError for a state to which no session of this job can come; `stages` are
    all of it. A long journal has a hundred thousand: what a stage allows is reckoned once."""
    known: dict[tuple[int, int], tuple[int, ...]] = {}

    def check(state: State) -> None:
        if list(map(type, _values(state))) != _KINDS or min(_ints(state)) < 0:
            raise ValueError(_of_wrong_kind(state))
        if state.stage >= len(stages):
            raise ValueError(f"stage is {state.stage}, of {len(stages)}")
        at = (state.stage, state.part)
        if at not in known:
            known[at] = _bounds(stages[state.stage], state.part)
        _check_counts(known[at], state)
        _check_sizes(state)
        if not all(isinstance(took, int | float) for took in (*state.pace, state.last_cut_at)):
            raise ValueError("a pace that is no number")

    return check


def _of_wrong_kind(state: State) -> str:
    for name, kind in _CHECKED:
        value: Any = getattr(state, name)
        if type(value) is not kind or (isinstance(value, int) and value < 0):
            return f"{name} is {value!r}"
    return "a value of another kind"


def _check_sizes(state: State) -> None:
    for size in filter(None, (state.size, *state.sizes)):
        Fraction(size)  # raises ValueError itself
    if len(state.sizes) > state.measured:
        raise ValueError(f"{len(state.sizes)} sizes, {state.measured} measured")


def _check_counts(most: tuple[int, ...], state: State) -> None:
    counts: tuple[int, ...] = _counts(state)
    if any(map(gt, counts, most)):
        name, count, limit = next(
            each for each in zip(_COUNTS, counts, most, strict=True) if each[1] > each[2]
        )
        raise ValueError(f"{name} is {count}, {limit} at the most in this job")
    for name in ("pass_number", "part"):
        if getattr(state, name) < 1:
            raise ValueError(f"{name} is 0")
    if not all(type(n) is int and 0 < n <= state.part for n in state.scraps):
        raise ValueError(f"scraps are {repr(state.scraps)[:60]}")


def _bounds(job: Programme, part: int) -> tuple[int, ...]:
    """The most of each of `_COUNTS`."""
    most = {
        "part": job.parts,
        "item": max(len(job.items(part)) - 1, 0),
        "place": job.cuts,
        "settled": job.cuts,
        "done": job.cuts,
        "again": job.cuts,
        "pass_number": job.passes + 1,  # the first cuts of the last pass may come again
        "measured": len(job.measurements),
    }
    return tuple(most[name] for name in _COUNTS)
