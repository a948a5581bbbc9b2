"""Exact set-ups without gears or a second circle: direct, plain, graduated handwheel.

Direct: holes = holes of the direct plate x step. Plain: crank turns T = R x step; any circle
that the denominator of T divides will do. (OD1644, lesson 1, p. 24 to 27.)
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from fractions import Fraction
from math import gcd

from solver.candidate import DIRECT, PLAIN, Candidate, MovesLater
from solver.hand import hand_of
from solver.model import (
    MINUTES_PER_TURN,
    ArcMinutes,
    Head,
    Move,
    Plate,
    Turns,
    in_arc_minutes,
)
from solver.request import Request

Runs = Sequence[tuple[int, int]]


def direct(head: Head, request: Request) -> Iterator[Candidate]:
    """Off the direct plate on the spindle, with the worm out of mesh."""
    block = head.plate_drive == "block"
    for circle in head.direct_circle:
        holes = circle * request.step
        if holes.denominator == 1:
            hand = hand_of(_direct_moves(request, request.kinds, circle)())
            moves = _direct_moves(request, request.runs, circle, block=block)
            yield Candidate(DIRECT, None, circle, moves, hand, int(holes))


def _direct_moves(request: Request, runs: Runs, circle: int, *, block: bool = False) -> MovesLater:
    def moves() -> tuple[Move, ...]:
        return tuple(
            Move(
                direct_holes=int(steps * request.step * circle),
                direct_circle=circle,
                times=times,
                block=block,
            )
            for steps, times in runs
        )

    return moves


def plain_setups(head: Head, request: Request) -> Iterator[Candidate]:
    """One circle of one plate; `every` above 1 only where it clears a fraction of the worm."""
    for every in spaces_at_once(head, request):
        turns = head.worm_ratio * request.step * every
        for plate in head.plates:
            for circle in _serving(plate, turns.denominator):
                holes = int(turns % 1 * circle)
                moves = _crank_moves(request.runs, turns, circle)
                hand = hand_of(_crank_moves(request.kinds, turns, circle)())
                yield Candidate(PLAIN, plate.name, circle, moves, hand, holes, every)


def spaces_at_once(head: Head, request: Request) -> list[int]:
    """Divisions to go on at each move: 1, and what clears the worm ratio's own denominator.

    k spaces at once visit every division when k and N have no common factor; the turns
    kR/N lose a factor only to the denominator of R.
    """
    fraction = head.worm_ratio.denominator
    if request.divisions is None or fraction == 1:
        return [1]
    n = request.divisions
    return [k for k in range(1, fraction + 1) if fraction % k == 0 and gcd(k, n) == 1]


def _serving(plate: Plate, denominator: int) -> list[int]:
    circles = [circle for circle in plate.circles if circle % denominator == 0]
    # Whole turns use any hole: to offer every circle of the plate would only be noise.
    return circles[-1:] if denominator == 1 else circles


def _crank_moves(runs: Runs, turns: Fraction, circle: int) -> MovesLater:
    def moves() -> tuple[Move, ...]:
        found = []
        for steps, times in runs:
            whole, holes = divmod(int(steps * turns * circle), circle)
            found.append(Move(whole, holes, circle, times=times))
        return tuple(found)

    return moves


def handwheel(head: Head, request: Request) -> Iterator[Candidate]:
    """A graduated handwheel whose divisions meet every position."""
    if head.handwheel:
        steps = request.step * MINUTES_PER_TURN / head.handwheel.division_minutes
        if steps.denominator == 1:
            hand = hand_of(_handwheel_moves(head, request, request.kinds)())
            yield Candidate(PLAIN, None, None, _handwheel_moves(head, request, request.runs), hand)


def _handwheel_moves(head: Head, request: Request, runs: Runs) -> MovesLater:
    def moves() -> tuple[Move, ...]:
        return tuple(
            handwheel_move(head, in_arc_minutes(Turns(steps * request.step)), times)
            for steps, times in runs
        )

    return moves


def handwheel_move(head: Head, minutes: ArcMinutes, times: int) -> Move:
    """Whole turns of the handwheel, then the rest in minutes of the spindle."""
    turns, rest = divmod(minutes, MINUTES_PER_TURN / head.worm_ratio)
    return Move(turns=int(turns), minutes=ArcMinutes(rest), times=times)
