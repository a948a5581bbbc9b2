"""Where the crank pin stands when the work has come once all the way round.

The pin counts holes of the plate. A plate that has turned meanwhile, by change gears or against
its back pin, has carried its first hole along: the spindle is back, and the pin in another hole.
"""

from __future__ import annotations

from collections.abc import Iterable

from solver import Move


def shorter(holes: int, circle: int) -> int:
    """So many holes past the mark, the shorter way round; less than 0: short of it."""
    past = holes % circle
    return past if 2 * past <= circle else past - circle


def holes_past_first(moves: Iterable[Move]) -> int:
    """Holes from the first hole to the pin after these moves, in the working direction where more
    than 0, the shorter way round. `moves` are a whole round, each by itself; 0 where no holes of
    one circle are counted.
    """
    counted = [move for move in moves if move.circle and move.holes]
    circles = {move.circle for move in counted}
    circle = next(iter(circles)) if len(circles) == 1 else None
    return shorter(sum(move.holes for move in counted), circle) if circle else 0
