"""Where nothing is exact: every position goes to its own nearest hole, so errors never add.

The worst error is at most half a step of the grid that the head can reach: one circle gives
R x H steps to the spindle turn; two circles of a plate that can be turned against its back
pin give R x lcm(H1, H2); a handwheel its own divisions.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from fractions import Fraction
from itertools import combinations, pairwise
from math import floor, lcm

from solver import own_error
from solver.candidate import NEAREST, NEAREST_TWO, Candidate, MovesLater
from solver.hand import hand_of
from solver.model import ARCSEC_PER_TURN, MINUTES_PER_TURN, Head, Move
from solver.plain import handwheel_move
from solver.request import Request, run_lengths

MoveOf = Callable[[int, int], Move]  # grid steps, times -> the move
Aims = Sequence[float]  # turns of the spindle, as crank and dial say them


def nearest(head: Head, request: Request) -> Iterator[Candidate]:
    """The best circle of each plate, and the handwheel; the direct plate if there is no other.

    On a head that was measured the places are those where the work truly stands.
    """
    if aims := aims_of(head, request):
        yield from _nearest_true(head, request, aims)
        return
    for plate in head.plates:
        error, circle = min((worst(request, head.worm_ratio * c), -c) for c in plate.circles)
        grid = _Grid(request, head.worm_ratio * -circle)
        yield grid.candidate(NEAREST, plate.name, -circle, error, _crank_move(-circle))
    if head.handwheel:
        per_turn = MINUTES_PER_TURN / head.handwheel.division_minutes
        move = _dial_move(head, head.handwheel.division_minutes)
        error = worst(request, per_turn)
        yield _Grid(request, per_turn).candidate(NEAREST, None, None, error, move)
    elif not head.plates:
        error, circle = min((worst(request, Fraction(c)), -c) for c in head.direct_circle)
        grid = _Grid(request, Fraction(-circle))
        yield grid.candidate(NEAREST, None, -circle, error, _direct_move(-circle))


def nearest_two(
    head: Head, request: Request, tolerance: Fraction = Fraction(0)
) -> Iterator[Candidate]:
    """The best pair of circles of each plate that can be turned against a back pin, and every
    pair within the tolerance: each both ways round, since one way is often lighter to count."""
    if head.plate_drive == "fixed":
        return
    for plate in head.plates:
        pairs = [(lcm(a, b), a, b) for a, b in combinations(plate.circles, 2)]
        grids = [
            (worst(request, head.worm_ratio * both), -both, a, b)
            for both, a, b in pairs
            if both not in (a, b)
        ]
        # An exact pair is compound indexing, found there.
        if not grids or min(grids)[0] == 0:
            continue
        if aims := aims_of(head, request):
            yield from _two_true(head, request, aims, plate.name, grids)
            continue
        best = min(grids)
        for error, both, a, b in grids:
            if error <= tolerance or (error, both, a, b) == best:
                grid = _Grid(request, head.worm_ratio * -both)
                yield grid.two(plate.name, error, b, a)
                yield grid.two(plate.name, error, a, b)


# --- on a head that was measured ---------------------------------------------------------

_PAIRS_TRIED = 2  # of a plate's pairs of circles, the finest ones
_CIRCLES_TRIED = 2  # the largest of a plate: no other comes nearer by more than chance


def aims_of(head: Head, request: Request) -> list[float]:
    """Where crank and dial have to say that the spindle is, so that it truly is at each place;
    the way back to the start leads to the start. Empty for a head that was not measured."""
    places = request.divisions or sum(times for _, times in request.runs)
    if not own_error.measured(head) or places > own_error.MOST_WALKED:
        return []
    off = own_error.swing(head)
    return [_aim(off, float(place)) for place in request.targets()]


def _aim(off: Callable[[float], float], place: float) -> float:
    """Turns of the spindle; good to a millionth of an arc-second, far below a hole or a line."""
    if place == 1.0:
        return place
    near = place - off(place) / ARCSEC_PER_TURN
    return place - off(near) / ARCSEC_PER_TURN


def _nearest_true(head: Head, request: Request, aims: Aims) -> Iterator[Candidate]:
    for plate in head.plates:
        grids = {c: _TrueGrid(head, request, aims, head.worm_ratio * c)
                 for c in plate.circles[-_CIRCLES_TRIED:]}  # fmt: skip
        circle = min(grids, key=lambda c: (grids[c].true, -c))
        if grids[circle].serves:
            move = _crank_move(circle)
            yield grids[circle].candidate(NEAREST, plate.name, circle, grids[circle].worst, move)
    if head.handwheel:
        division = head.handwheel.division_minutes
        grid = _TrueGrid(head, request, aims, MINUTES_PER_TURN / division)
        if grid.serves:
            move = _dial_move(head, division)
            yield grid.candidate(NEAREST, None, None, grid.worst, move)


def _two_true(
    head: Head, request: Request, aims: Aims, plate: str,
    pairs: Sequence[tuple[Fraction, int, int, int]],
) -> Iterator[Candidate]:  # fmt: skip
    """The finest pairs of circles of a plate, each place aimed at as it truly is."""
    for _, both, a, b in sorted(pairs)[:_PAIRS_TRIED]:
        grid = _TrueGrid(head, request, aims, head.worm_ratio * -both)
        if grid.serves:
            yield grid.two(plate, grid.worst, b, a)
            yield grid.two(plate, grid.worst, a, b)


class _Grid:
    """The positions rounded to steps of which `per_turn` make a turn of the spindle."""

    corrected = False
    true: Fraction | None = None

    def __init__(self, request: Request, per_turn: Fraction) -> None:
        self.request, self.per_turn = request, per_turn
        self.kinds = _kinds(request, per_turn)

    def two(self, plate: str, error: Fraction, crank: int, back: int) -> Candidate:
        move = two_circle_move(crank, back)
        found = self.candidate(NEAREST_TWO, plate, crank, error, move)
        return found._replace(plate_circle=back)

    def candidate(
        self, kind: int, plate: str | None, circle: int | None, error: Fraction, move: MoveOf
    ) -> Candidate:
        hand = hand_of(move(steps, times) for steps, times in self.kinds)
        return Candidate(
            kind, plate, circle, self.moves(move), hand, worst=error,
            corrected=self.corrected, true=self.true,
        )  # fmt: skip

    def moves(self, move: MoveOf) -> MovesLater:
        return _moves(self.request, self.per_turn, move)


class _TrueGrid(_Grid):
    """The same for places aimed at; `worst` is of the moves alone, `true` of the work.

    `serves`: every move leads onward (a coarse grid and a large error could ask for one back), and
    some are not those of an exact way.
    """

    corrected = True
    true: Fraction

    def __init__(self, head: Head, request: Request, aims: Aims, per_turn: Fraction) -> None:
        self.request, self.per_turn = request, per_turn
        steps_a_turn = float(per_turn)
        rounded = [0, *(floor(aim * steps_a_turn + 0.5) for aim in aims)]
        steps = [b - a for a, b in pairwise(rounded)]
        self.runs, self.kinds = run_lengths(steps), tuple(Counter(steps).items())
        places = list(request.places())
        self.worst = _worst_moved(request.step, per_turn, places, rounded)
        worst = _worst_true(head, float(request.step), steps_a_turn, places, rounded)
        pair = places[worst] * request.step, rounded[worst + 1] / per_turn
        self.true = own_error.worst_true(head, [pair])
        self.serves = min(steps) >= 0 and self.worst > 0

    def moves(self, move: MoveOf) -> MovesLater:
        return lambda: tuple(move(steps, times) for steps, times in self.runs)


def _worst_moved(
    step: Fraction, per_turn: Fraction, places: Sequence[int], rounded: Sequence[int]
) -> Fraction:
    """How far the moves alone are off at worst, in turns; whole numbers, one for all places."""
    grid, span = per_turn.denominator * step.denominator, per_turn.numerator * step.numerator
    off = (abs(n * grid - place * span) for n, place in zip(rounded[1:], places, strict=True))
    return Fraction(max(off), step.denominator * per_turn.numerator)


def _worst_true(
    head: Head, step: float, steps_a_turn: float, places: Sequence[int], rounded: Sequence[int]
) -> int:
    """Which of the places comes out worst; good to a millionth of an arc-second. A place whose
    moves are off by too little to be it, whatever the head adds, is passed over."""
    off, most = own_error.swing(head), float(own_error.bound(head)) * ARCSEC_PER_TURN
    worst, most_off = 0, -1.0
    for n, place in enumerate(places):
        there = rounded[n + 1] / steps_a_turn
        moved = (there - place * step) * ARCSEC_PER_TURN
        if abs(moved) + most <= most_off:
            continue
        if (found := abs(moved + off(there))) > most_off:
            worst, most_off = n, found
    return worst


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


def _crank_move(circle: int) -> MoveOf:
    return lambda steps, times: Move(*divmod(steps, circle), circle, times=times)


def _direct_move(circle: int) -> MoveOf:
    return lambda steps, times: Move(direct_holes=steps, direct_circle=circle, times=times)


def _dial_move(head: Head, division: Fraction) -> MoveOf:
    return lambda steps, times: handwheel_move(head, steps * division, times)


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


def worst(request: Request, per_turn: Fraction) -> Fraction:
    """The largest rounding error of any position on a grid of `per_turn` steps, in turns."""
    span = request.step * per_turn
    numerator, grid = span.numerator, span.denominator
    if request.divisions is not None and grid <= 2 * request.divisions + 1:
        # The remainders of j x span over all j (and their mirror images) are all of 0..grid-1.
        return Fraction(grid // 2, grid) / per_turn
    return Fraction(_worst_remainder(request, numerator, grid), grid) / per_turn


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
    """The grid steps from each rounded position to the next, equal neighbours put together."""
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
