"""Small programmes for the engine's tests, made without the solver's search."""

from __future__ import annotations

from fractions import Fraction

from assistant.job.measuring import Measurement
from assistant.job.programme import Programme, heeding
from solver import Move


def programme(cuts: int, passes: int = 1, items: int = 1, **more: object) -> Programme:
    """`cuts` equal divisions on an 18-hole circle at 36 to 1 (9 cuts: 4 turns each)."""
    turns, holes = divmod(36 * 18 // cuts, 18)
    more = {"scale_degrees": Fraction(1), **more}
    heeded = {name: more.pop(name) for name in ("whole_cuts", "remind_every") if name in more}
    move = Move(turns=turns, holes=holes, circle=18)
    positions = tuple(Fraction(p, cuts) % 1 for p in range(cuts + 1))
    made = Programme(
        title="Count wheel",
        head="a test head",
        method="plain",
        checklist=tuple(f"Item {n} looked at." for n in range(items)),
        moves=(move,) * cuts,
        positions=positions,
        passes=passes,
        **more,  # type: ignore[arg-type]
    )
    return heeding(made, **heeded)


def batch(cuts: int, passes: int = 1, items: int = 1, **more: object) -> Programme:
    """The same for two parts, one item less to be set up for the second."""
    again = tuple(f"Item {n} looked at again." for n in range(max(items - 1, 1)))
    return programme(cuts, passes, items, **{"parts": 2, "checklist_again": again, **more})


def size(after: int, pass_number: int = 1) -> Measurement:
    """A hexagon's flats from a 22 mm bar: 20 mm expected after the pass, 19 mm in the end."""
    return Measurement(
        what="across two opposite flats",
        round_number=0,
        pass_number=pass_number,
        after=after,
        before=Fraction(22),
        expected=Fraction(19),
        target=Fraction(18),
        per_depth=Fraction(2),
    )


MEASURED = {"measurements": (size(2),), "depths": ("one millimetre", "two millimetres")}
