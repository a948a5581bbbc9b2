"""What the hands do over a whole request: how much is turned and counted, whatever the order."""

from __future__ import annotations

from collections.abc import Iterable
from fractions import Fraction
from typing import NamedTuple

from solver.model import BEYOND, Move


class Hand(NamedTuple):
    """Totals over all moves; `turned` in thousandths of a turn of the crank.

    `turning` are the moves with whole turns, `counts` those with holes on the crank's (or the
    direct) circle or a reading of the dial, `plate_counts` those with a second count, `back`
    those of them that bring the plate back. `changing`: the arms can't stay as set. `beyond`:
    all counts lie within two holes of the least, after the same turns: the arms stay set at that
    one, and so many moves go one hole or two beyond them.
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
    beyond: int = 0


def hand_of(moves: Iterable[Move]) -> Hand:
    """The totals; the moves may come in any order."""
    done = turning = counts = holes = plate_counts = plate_holes = back = 0
    turned = Fraction(0)
    kinds = set()
    seen: dict[tuple[int, int | None, int], int] = {}
    for move in moves:
        times = move.times
        here = move.holes or move.direct_holes or 0
        done += times
        turning += times if move.turns else 0
        counts += times if here or move.minutes else 0
        holes += here * times
        turned += times * (move.turns + Fraction(move.holes, move.circle or 1))
        kinds.add(here)
        kind = (move.turns, move.circle, here)
        seen[kind] = seen.get(kind, 0) + times
        if move.plate_holes:
            plate_counts += times
            plate_holes += abs(move.plate_holes) * times
            back += times if move.plate_holes < 0 else 0
            turned += times * abs(Fraction(move.plate_holes, move.plate_circle or 1))
    beyond = _beyond(seen) if len(kinds) > 1 and not plate_counts else 0
    whole = turned.numerator * 1000 // turned.denominator
    return Hand(
        done, whole, turning, counts, holes, plate_counts, plate_holes, back,
        len(kinds) > 1 and not beyond, beyond,
    )  # fmt: skip


def _beyond(seen: dict[tuple[int, int | None, int], int]) -> int:
    turns, circle, low = min(seen, key=lambda kind: kind[2])
    near = all(kind[:2] == (turns, circle) and kind[2] - low <= BEYOND for kind in seen)
    return sum(seen.values()) - seen[turns, circle, low] if near and low else 0
