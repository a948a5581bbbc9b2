"""Where nothing is exact: every position goes to its own nearest hole, so errors never add.

The worst error is at most half a step of the grid that the head can reach: one circle gives
R x H steps to the spindle turn; two circles of a plate that can be turned against its back
pin give R x lcm(H1, H2); a handwheel its own divisions.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from fractions import Fraction
from itertools import combinations, pairwise
from math import lcm

from solver.candidate import NEAREST, NEAREST_TWO, Candidate, MovesLater
from solver.hand import hand_of
from solver.model import MINUTES_PER_TURN, ArcMinutes, Head, Move, Turns
from solver.plain import handwheel_move
from solver.request import Request, run_lengths

MoveOf = Callable[[int, int], Move]  # grid steps, times -> the move
_NONE = Turns(Fraction(0))
Pair = tuple[Turns, int, int, int]  # the worst error; minus the steps a turn; the two circles


def nearest_setups(head: Head, request: Request) -> Iterator[Candidate]:
    """The best circle of each plate, and the handwheel; the direct plate if there is no other."""
    for plate in head.plates:
        error, circle = min((worst(request, head.worm_ratio * c), -c) for c in plate.circles)
        grid = Grid(request, head.worm_ratio * -circle)
        yield grid.candidate(NEAREST, plate.name, -circle, error, crank_move(-circle))
    if head.handwheel:
        per_turn = MINUTES_PER_TURN / head.handwheel.division_minutes
        move = dial_move(head, head.handwheel.division_minutes)
        error = worst(request, per_turn)
        yield Grid(request, per_turn).candidate(NEAREST, None, None, error, move)
    elif not head.plates:
        error, circle = min((worst(request, Fraction(c)), -c) for c in head.direct_circle)
        grid = Grid(request, Fraction(-circle))
        yield grid.candidate(NEAREST, None, -circle, error, _direct_move(-circle))


def nearest_two(head: Head, request: Request, tolerance: Turns = _NONE) -> Iterator[Candidate]:
    """The best pair of circles of each plate that can be turned against a back pin, and every
    pair within the tolerance, in turns: each both ways round, since one is often lighter."""
    for plate, pairs in pairs_of(head, request):
        best = min(pairs)
        for pair in pairs:
            error, both, a, b = pair
            if error <= tolerance or pair == best:
                grid = Grid(request, head.worm_ratio * -both)
                yield grid.two(plate, error, b, a)
                yield grid.two(plate, error, a, b)


def pairs_of(head: Head, request: Request) -> Iterator[tuple[str, list[Pair]]]:
    """Every pair of circles that is finer than either, of each plate where no pair is exact: an
    exact one is compound indexing, found there."""
    if head.plate_drive == "fixed":
        return
    for plate in head.plates:
        both = [(lcm(a, b), a, b) for a, b in combinations(plate.circles, 2)]
        pairs = [
            (worst(request, head.worm_ratio * grid), -grid, a, b)
            for grid, a, b in both
            if grid not in (a, b)
        ]
        if pairs and min(pairs)[0] != 0:
            yield plate.name, pairs


class Grid:
    """The positions rounded to steps of which `per_turn` make a turn of the spindle."""

    corrected = False
    true: Turns | None = None

    def __init__(self, request: Request, per_turn: Fraction) -> None:
        self.request, self.per_turn = request, per_turn
        self.kinds = _kinds(request, per_turn)

    def two(self, plate: str, error: Turns, crank: int, back: int) -> Candidate:
        """The candidate with the crank on one circle and the plate turned by the holes of another;
        `error` is its worst, in turns of the spindle.
        """
        move = two_circle_move(crank, back)
        found = self.candidate(NEAREST_TWO, plate, crank, error, move)
        return found._replace(plate_circle=back)

    def candidate(
        self, kind: int, plate: str | None, circle: int | None, error: Turns, move: MoveOf
    ) -> Candidate:
        """One way, with its worst error in turns of the spindle; its moves are made
        when asked for.
        """
        hand = hand_of(move(steps, times) for steps, times in self.kinds)
        return Candidate(
            kind, plate, circle, self.moves(move), hand, worst=error,
            corrected=self.corrected, true=self.true,
        )  # fmt: skip

    def moves(self, move: MoveOf) -> MovesLater:
        """The moves of the whole round by `move`, made when they are asked for."""
        return _moves(self.request, self.per_turn, move)


def _kinds(request: Request, per_turn: Fraction) -> Sequence[tuple[int, int]]:
    """The moves in grid steps with how often each is made, whatever their order."""
    if request.divisions is None:
        found: dict[int, int] = {}
        for steps, times in grid_runs(request, per_turn):
            found[steps] = found.get(steps, 0) + times
        return tuple(found.items())
    # Equal divisions: each move is one of two neighbours, and they make the whole round.
    span = request.step * per_turn
    low = span.numerator // span.denominator
    whole = span * request.divisions
    more = _to_whole(whole.numerator, whole.denominator) - low * request.divisions
    return tuple((s, n) for s, n in ((low, request.divisions - more), (low + 1, more)) if n)


def crank_move(circle: int) -> MoveOf:
    """How so many holes on that circle are moved: whole turns, and the holes that remain."""
    return lambda steps, times: Move(*divmod(steps, circle), circle, times=times)


def _direct_move(circle: int) -> MoveOf:
    return lambda steps, times: Move(direct_holes=steps, direct_circle=circle, times=times)


def dial_move(head: Head, division: ArcMinutes) -> MoveOf:
    """How so many divisions of the handwheel are moved; `division` in minutes of arc."""
    return lambda steps, times: handwheel_move(head, ArcMinutes(steps * division), times)


def two_circle_move(crank: int, plate: int) -> MoveOf:
    """Moves on a grid of lcm steps to the crank turn, from whole holes of two circles."""
    from functools import cache

    both = lcm(crank, plate)

    @cache
    def move(steps: int, times: int) -> Move:
        turns, holes, plate_holes = two_circles(steps, crank, plate, both)
        return Move(turns, holes, crank, plate_holes, plate, times)

    return move


def two_circles(steps: int, crank: int, plate: int, both: int) -> tuple[int, int, int]:
    """Turns, crank holes and plate holes that make `steps` / `both` of a crank turn.

    With A = both/crank and B = both/plate (which have no common factor) the plate's holes b
    solve bB = steps modulo A. Forward plate holes come first: a plate that comes back leaves
    the slack on the wrong side. Then the fewest holes to count.
    """
    a_step, b_step = both // crank, both // plate
    first = steps * pow(b_step, -1, a_step) % a_step
    found = []
    for plate_holes in (*range(first, plate, a_step), *range(first - a_step, -plate, -a_step)):
        rest = steps - plate_holes * b_step
        if rest >= 0:
            turns, holes = divmod(rest // a_step, crank)
            found.append((plate_holes < 0, holes + abs(plate_holes), turns, holes, plate_holes))
    _, _, turns, holes, plate_holes = min(found)
    return turns, holes, plate_holes


def worst(request: Request, per_turn: Fraction) -> Turns:
    """The largest rounding error of any position on a grid of `per_turn` steps, in turns."""
    span = request.step * per_turn
    numerator, grid = span.numerator, span.denominator
    if request.divisions is not None and grid <= 2 * request.divisions + 1:
        # The remainders of j x span over all j (and their mirror images) are all of 0..grid-1.
        return Turns(Fraction(grid // 2, grid) / per_turn)
    return Turns(Fraction(_worst_remainder(request, numerator, grid), grid) / per_turn)


def _worst_remainder(request: Request, numerator: int, grid: int) -> int:
    most = place = 0
    for steps, times in request.runs:
        for _ in range(times):
            place = (place + steps * numerator) % grid
            most = max(most, min(place, grid - place))
    return most


def _moves(request: Request, per_turn: Fraction, move: MoveOf) -> MovesLater:
    def moves() -> tuple[Move, ...]:
        return tuple(move(steps, times) for steps, times in grid_runs(request, per_turn))

    return moves


def grid_runs(request: Request, per_turn: Fraction) -> list[tuple[int, int]]:
    """The grid steps, `per_turn` to a turn of the spindle, from each rounded position to the next;
    equal neighbours put together as (steps, times)."""
    span = request.step * per_turn
    if request.divisions is not None and span < 1:
        return _sparse_runs(span, request.divisions)
    rounded = [0]
    place = 0
    for steps, times in request.runs:
        for _ in range(times):
            place += steps
            rounded.append(_to_whole(place * span.numerator, span.denominator))
    return run_lengths([b - a for a, b in pairwise(rounded)])


def _to_whole(numerator: int, denominator: int) -> int:
    """The nearest whole number; halves go up."""
    return (2 * numerator + denominator) // (2 * denominator)


def _sparse_runs(span: Fraction, divisions: int) -> list[tuple[int, int]]:
    """More divisions than grid steps: many moves are none at all, so count the ones that are."""
    n, d = span.numerator, span.denominator
    runs: list[tuple[int, int]] = []
    before = 0
    for step in range(1, _to_whole(divisions * n, d) + 1):
        here = -((1 - 2 * step) * d // (2 * n))  # the first division whose rounding reaches it
        _add(runs, 0, here - before - 1)
        _add(runs, 1, 1)
        before = here
    _add(runs, 0, divisions - before)
    return runs


def _add(runs: list[tuple[int, int]], step: int, times: int) -> None:
    if times and runs and runs[-1][0] == step:
        times += runs.pop()[1]
    if times:
        runs.append((step, times))
