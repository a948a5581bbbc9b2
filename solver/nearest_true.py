"""Nearest holes and lines on a head that was measured: at the places where the work truly stands.

Each place is aimed at by itself: where crank and dial have to say that the spindle is, so that it
truly is at its place. How far the nearest hole misses what was aimed at tells, but for a few parts
in a thousand, how far the work is off; only the places that come near the worst are reckoned out.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Sequence
from fractions import Fraction
from itertools import pairwise
from math import floor
from typing import NamedTuple

from solver import own_error
from solver.candidate import NEAREST, Candidate, MovesLater
from solver.model import ARCSEC_PER_TURN, MINUTES_PER_TURN, Head, Plate, Turns
from solver.nearest import Grid, MoveOf, Pair, crank_move, dial_move, pairs_of
from solver.request import Request, run_lengths

_PAIRS_TRIED = 2  # of a plate's pairs of circles, the finest ones
_CIRCLES_TRIED = 2  # the largest of a plate: no other comes nearer by more than chance


class Aims(NamedTuple):
    """`turns`: what crank and dial have to say at each of the `places` (in steps of the request);
    the way back to the start leads to the start. A miss of a hole is the error of the work but
    for the part `slope` of it and `slack`, in turns."""

    head: Head
    request: Request
    places: Sequence[int]
    turns: Sequence[float]
    slope: float
    slack: float
    off: Callable[[float], float]  # arc-seconds too far, at turns of the spindle


def aims_of(head: Head, request: Request) -> Aims | None:
    """None for a head that was not measured, and for very many places."""
    count = request.divisions or sum(times for _, times in request.runs)
    if not own_error.measured(head) or count > own_error.MOST_WALKED:
        return None
    off, places = own_error.turns_off(head), list(request.places())
    over, under = request.step.numerator, request.step.denominator
    wanted = [place * over / under for place in places]
    aims = [place - off(place - off(place)) for place in wanted]
    if wanted[-1] == 1.0:
        aims[-1] = 1.0
    slope = own_error.slope(head)
    slack = slope * slope * float(own_error.bound(head)) + 1e-12
    return Aims(head, request, places, aims, slope, slack, own_error.swing(head))


def nearest_true(aims: Aims, *, alone: bool, beyond: Iterable[Candidate]) -> list[Candidate]:
    """The best circle of each plate, and the handwheel.

    `alone`: only the best of all is wanted, and only where it is as near as those of `beyond`.
    """
    head, found = aims.head, list(beyond)
    limit = _least(found) if alone else None
    told = []
    for plate in _finest_first(head.plates) if alone else head.plates:
        grid, circle = _best_circle(aims, plate.circles, limit)
        if grid is not None and grid.serves:
            move = crank_move(circle)
            told.append(grid.candidate(NEAREST, plate.name, circle, grid.worst, move))
            limit = _least([*found, *told]) if alone else None
    if head.handwheel:
        division = head.handwheel.division_minutes
        grid = _within(aims, MINUTES_PER_TURN / division, None)
        if grid is not None and grid.serves:
            move = dial_move(head, division)
            told.append(grid.candidate(NEAREST, None, None, grid.worst, move))
    return told


def _finest_first(plates: Iterable[Plate]) -> list[Plate]:
    """The one that most likely is the best first: the others are passed over sooner so."""
    return sorted(plates, key=lambda plate: -max(plate.circles))


def _best_circle(
    aims: Aims, circles: Sequence[int], limit: Turns | None
) -> tuple[TrueGrid | None, int]:
    """The one whose worst place is nearest; of equals the larger. None: all beyond the limit."""
    best, found = None, 0
    for circle in sorted(circles[-_CIRCLES_TRIED:], reverse=True):
        grid = _within(aims, aims.head.worm_ratio * circle, limit)
        if grid is not None and (best is None or grid.true < best.true):
            best, found, limit = grid, circle, grid.true
    return best, found


def two_true(aims: Aims, *, alone: bool, every_pair: bool) -> Iterator[Candidate]:
    """The finest pairs of circles of each plate, both ways round.

    `alone`: only the best of all plates is wanted; `every_pair`: not only the best of a plate.
    """
    limit: Turns | None = None
    plates = list(pairs_of(aims.head, aims.request))
    if alone:
        plates.sort(key=lambda each: min(each[1]))
    for plate, pairs in plates:
        if not alone:
            limit = None
        for pair, grid in _near_pairs(aims, pairs, limit, every_pair):
            limit = grid.true
            yield grid.two(plate, grid.worst, pair[3], pair[2])
            yield grid.two(plate, grid.worst, pair[2], pair[3])


def _near_pairs(
    aims: Aims, pairs: Sequence[Pair], limit: Turns | None, every_pair: bool
) -> list[tuple[Pair, TrueGrid]]:
    found: list[tuple[Pair, TrueGrid]] = []
    for pair in sorted(pairs)[:_PAIRS_TRIED]:
        grid = _within(aims, aims.head.worm_ratio * -pair[1], None if every_pair else limit)
        if grid is not None and grid.serves:
            limit = grid.true if limit is None else min(limit, grid.true)
            found.append((pair, grid))
    return found if every_pair else [each for each in found if each[1].true == limit]


def _least(found: Iterable[Candidate]) -> Turns | None:
    return min((c.true for c in found if c.true is not None), default=None)


class TrueGrid(Grid):
    """The places aimed at, rounded to steps; `worst` is of the moves alone, `true` of the work.

    `serves`: every move leads onward (a coarse grid and a large error could ask for one back), and
    some are not those of an exact way.
    """

    corrected = True
    true: Turns

    def __init__(self, aims: Aims, per_turn: Fraction, rounded: Sequence[int], true: Turns) -> None:
        self.request, self.per_turn, self.true = aims.request, per_turn, true
        self.steps = [b - a for a, b in pairwise([0, *rounded])]
        self.kinds = tuple(Counter(self.steps).items())
        self.worst = _worst_moved(aims.request.step, per_turn, aims.places, rounded)
        self.serves = min(self.steps) >= 0 and self.worst > 0

    def moves(self, move: MoveOf) -> MovesLater:
        """The moves one after the other, equal ones together, made when they are asked for."""
        return lambda: tuple(move(steps, times) for steps, times in run_lengths(self.steps))


def _within(aims: Aims, per_turn: Fraction, limit: Turns | None) -> TrueGrid | None:
    """None where the work would surely be off by more than the limit somewhere."""
    steps = float(per_turn)
    misses = _misses(aims, steps, limit)
    if misses is None:
        return None
    most = max(misses, default=0.0)
    near = (most * (1 - aims.slope) - 2 * aims.slack * steps) / (1 + aims.slope)
    suspects = [n for n, miss in enumerate(misses) if miss >= near]
    rounded = [floor(aim * steps + 0.5) for aim in aims.turns]
    worst = _worst_place(aims, steps, rounded, [*suspects, len(rounded) - 1])
    wanted = Turns(aims.places[worst] * aims.request.step)
    reached = Turns(rounded[worst] / per_turn)
    true = own_error.worst_true(aims.head, [(wanted, reached)])
    return TrueGrid(aims, per_turn, rounded, true)


def _misses(aims: Aims, steps: float, limit: Turns | None) -> list[float] | None:
    """How far the nearest step lies from each place aimed at, in steps; the last place, which is
    not aimed at, left out. None once one is surely beyond the limit."""
    far = steps
    if limit is not None and aims.slope < 1:
        far = steps * (float(limit) + aims.slack) / (1 - aims.slope)
    found = []
    for aim in aims.turns[:-1]:
        place = aim * steps
        miss = abs(place - (place + 0.5) // 1.0)
        if miss > far:
            return None
        found.append(miss)
    return found


def _worst_place(aims: Aims, steps: float, rounded: Sequence[int], suspects: Iterable[int]) -> int:
    """Which of the suspects comes out worst; good to a millionth of an arc-second."""
    step = float(aims.request.step)
    worst, most = 0, -1.0
    for n in suspects:
        there = rounded[n] / steps
        moved = (there - aims.places[n] * step) * ARCSEC_PER_TURN
        if (found := abs(moved + aims.off(there))) > most:
            worst, most = n, found
    return worst


def _worst_moved(
    step: Turns, per_turn: Fraction, places: Sequence[int], rounded: Sequence[int]
) -> Turns:
    """How far the moves alone are off at worst, in turns; whole numbers, one for all places."""
    grid, span = per_turn.denominator * step.denominator, per_turn.numerator * step.numerator
    off = [n * grid - place * span for n, place in zip(rounded, places, strict=True)]
    return Turns(Fraction(max(*off, -min(off)), step.denominator * per_turn.numerator))
