"""What the hands do over a whole request: how much is turned and counted, whatever the order."""

from __future__ import annotations

from collections.abc import Iterable
from fractions import Fraction
from typing import NamedTuple

from solver.model import Move


class Hand(NamedTuple):
    """Totals over all moves; `turned` in thousandths of a turn of the crank.

    `turning` are the moves with whole turns, `counts` those with holes on the crank's (or the
    direct) circle or a reading of the dial, `plate_counts` those with a second count, `back`
    those of them that bring the plate back. `changing`: not every move has the same holes.
    """

    moves: int
    turned: int
    turning: int
    counts: int
    holes: int
    plate_counts: int = 0
    plate_holes: int = 0
    back: int = 0
    changing: bool = False


def hand_of(moves: Iterable[Move]) -> Hand:
    """The totals; the moves may come in any order."""
    done = turning = counts = holes = plate_counts = plate_holes = back = 0
    turned = Fraction(0)
    kinds = set()
    for move in moves:
        times = move.times
        here = move.holes or move.direct_holes or 0
        done += times
        turning += times if move.turns else 0
        counts += times if here or move.minutes else 0
        holes += here * times
        turned += times * (move.turns + Fraction(move.holes, move.circle or 1))
        kinds.add(here)
        if move.plate_holes:
            plate_counts += times
            plate_holes += abs(move.plate_holes) * times
            back += times if move.plate_holes < 0 else 0
            turned += times * abs(Fraction(move.plate_holes, move.plate_circle or 1))
    whole = turned.numerator * 1000 // turned.denominator
    return Hand(
        done, whole, turning, counts, holes, plate_counts, plate_holes, back, len(kinds) > 1
    )
