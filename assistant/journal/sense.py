"""What a state recorded for a job can be: counts within that job, each of its own type.

A journal may be whole by SQLite and by its chain and still hold a state in which no session of
its job can stand. The engine would stumble over it later, in the middle of the work.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import fields
from fractions import Fraction
from typing import Any

from assistant.engine.state import State
from assistant.job.programme import Programme

_TYPES: dict[str, type] = {"int": int, "bool": bool, "str": str}
_CHECKED = tuple(
    (each.name, _TYPES[str(each.type)]) for each in fields(State) if each.type in _TYPES
)


def check_state(stages: Sequence[Programme], state: State) -> None:
    """Raises ValueError for what no session of this job can come to; `stages` are all of it."""
    for name, kind in _CHECKED:
        value: Any = getattr(state, name)
        if type(value) is not kind or (isinstance(value, int) and value < 0):
            raise ValueError(f"{name} is {value!r}")
    if state.stage >= len(stages):
        raise ValueError(f"stage is {state.stage}, of {len(stages)}")
    _check_counts(stages[state.stage], state)
    for size in filter(None, (state.size, *state.sizes)):
        Fraction(size)  # raises ValueError itself
    if len(state.sizes) > state.measured:
        raise ValueError(f"{len(state.sizes)} sizes, {state.measured} measured")
    if not all(isinstance(took, int | float) for took in (*state.pace, state.last_cut_at)):
        raise ValueError("a pace that is no number")


def _check_counts(job: Programme, state: State) -> None:
    for name, most in _bounds(job, state.part):
        count: int = getattr(state, name)
        if count > most:
            raise ValueError(f"{name} is {count}, {most} at the most in this job")
    for name in ("pass_number", "part"):
        if getattr(state, name) < 1:
            raise ValueError(f"{name} is 0")
    if not all(type(n) is int and 0 < n <= state.part for n in state.scraps):
        raise ValueError(f"scraps are {repr(state.scraps)[:60]}")


def _bounds(job: Programme, part: int) -> tuple[tuple[str, int], ...]:
    return (
        ("part", job.parts),
        ("item", max(len(job.items(part)) - 1, 0)),
        ("place", job.cuts),
        ("settled", job.cuts),
        ("done", job.cuts),
        ("again", job.cuts),
        ("pass_number", job.passes + 1),  # the first cuts of the last pass may come again
        ("measured", len(job.measurements)),
    )
