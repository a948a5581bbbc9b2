"""Small programmes for the engine's tests, made without the solver's search."""

from __future__ import annotations

from fractions import Fraction

from assistant.programme import Programme
from solver import Move


def programme(cuts: int, passes: int = 1, items: int = 1, **more: object) -> Programme:
    """`cuts` equal divisions on an 18-hole circle at 36 to 1 (9 cuts: 4 turns each)."""
    turns, holes = divmod(36 * 18 // cuts, 18)
    move = Move(turns=turns, holes=holes, circle=18)
    positions = tuple(Fraction(p, cuts) % 1 for p in range(cuts + 1))
    return Programme(
        title="Count wheel",
        head="a test head",
        method="plain",
        checklist=tuple(f"Item {n} looked at." for n in range(items)),
        moves=(move,) * cuts,
        positions=positions,
        passes=passes,
        scale_degrees=Fraction(1),
        **more,  # type: ignore[arg-type]
    )
