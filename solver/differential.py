"""Exact set-ups with change gears that drive the plate.

With crank move m and gear ratio g (plus when the plate runs with the crank) the spindle goes
m / (R - g) of a turn, so g = R - m / step has to be a ratio that the gears held can make.
For N divisions and m = R/A this is the trade's g = (A - N) R / A. (Machinery's Handbook,
differential indexing.)
"""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from functools import lru_cache
from math import gcd

from solver.candidate import DIFFERENTIAL, Candidate, MovesLater
from solver.hand import hand_of
from solver.model import Head, Move, Plate
from solver.plain import Runs
from solver.request import MOST_SPACES, Request
from solver.trains import Train, arranged, gearing, largest_ratio, trains_by_ratio


def differential(head: Head, request: Request) -> Iterator[Candidate]:
    """For every crank move that a ratio of the gears allows, its best train on the best circles.

    Several spaces at once are tried only where one at a time finds nothing.
    """
    for every in _spaces(request):
        found = list(_with_step(head, request, every, trains=1))
        yield from found
        if found:
            return


def every_setup(head: Head, request: Request, every: int = 1) -> Iterator[Candidate]:
    """All of them: each crank move, each circle for it, each train; thousands for small N."""
    return _with_step(head, request, every, trains=None)


def _spaces(request: Request) -> Iterator[int]:
    yield 1
    if request.divisions is not None:
        n = request.divisions
        yield from (k for k in range(2, MOST_SPACES + 1) if gcd(k, n) == 1)


def _with_step(head: Head, request: Request, every: int, trains: int | None) -> Iterator[Candidate]:
    kinds = request.kinds
    for holes, under, ratio in crank_moves(head, request.step * every):
        with_crank = ratio[0] > 0
        move = Fraction(holes, under)
        # What the hands do is the same on every circle: the arms count the holes.
        hand = hand_of(_moves(kinds, under, move)())
        held = trains_by_ratio(head.change_gears)[abs(ratio[0]), ratio[1]]
        for train in _best(held, trains):
            gears = gearing(train, with_crank, head.idlers_for_with)
            if len(gears.drivers) * 2 + gears.idlers > len(head.change_gears):
                continue
            for plate, circle in _circles(head.plates, under, trains):
                yield Candidate(
                    DIFFERENTIAL,
                    plate.name,
                    circle,
                    _moves(request.runs, circle, move),
                    hand,
                    holes=int(move % 1 * circle),
                    every=every,
                    gearing=gears,
                    fouls=not gears.orders,
                    step_up=1000 * abs(ratio[0]) // ratio[1],
                )


def crank_moves(head: Head, step: Fraction) -> Iterator[tuple[int, int, tuple[int, int]]]:
    """Crank moves holes/under, in lowest terms, with a gear ratio g that the gears can make.

    None on a head whose plate the gears can't drive.
    """
    if head.plate_drive != "geared":
        return
    ratios = trains_by_ratio(head.change_gears)
    most = largest_ratio(head.change_gears)
    over, below = head.worm_ratio.numerator, head.worm_ratio.denominator
    slowest, fastest = (head.worm_ratio - most) * step, (head.worm_ratio + most) * step
    for under in _denominators(head.plates):
        # g = R - (holes/under) / step over one denominator: whole numbers only, for speed.
        whole = below * under * step.numerator
        start, less = over * under * step.numerator, step.denominator * below
        for holes in range(max(1, -int(-slowest * under // 1)), int(fastest * under) + 1):
            if gcd(holes, under) == 1:
                g = start - holes * less
                common = gcd(g, whole)
                if g and (abs(g) // common, whole // common) in ratios:
                    yield holes, under, (g // common, whole // common)


@lru_cache(maxsize=16)
def _denominators(plates: tuple[Plate, ...]) -> tuple[int, ...]:
    circles = {circle for plate in plates for circle in plate.circles}
    divisors = {d for circle in circles for d in range(1, circle + 1) if circle % d == 0}
    return tuple(sorted(divisors))


def _best(held: tuple[Train, ...], most: int | None) -> list[Train]:
    if most is None:
        return [arranged(train) for train in held]
    for train in held:
        ready = arranged(train)
        if ready.orders:
            return [ready]
    return [held[0]]


def _circles(
    plates: tuple[Plate, ...], under: int, most: int | None
) -> Iterator[tuple[Plate, int]]:
    """Circles that `under` divides: the largest of each plate, or all of them."""
    for plate in plates:
        serving = [circle for circle in plate.circles if circle % under == 0]
        for circle in serving if most is None else serving[-1:]:
            yield plate, circle


def _moves(runs: Runs, circle: int, move: Fraction) -> MovesLater:
    def moves() -> tuple[Move, ...]:
        found = []
        for steps, times in runs:
            turns, holes = divmod(int(steps * move * circle), circle)
            found.append(Move(turns, holes, circle, times=times))
        return tuple(found)

    return moves
