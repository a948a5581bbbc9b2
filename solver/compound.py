"""Exact set-ups from two circles of one plate that can be turned against its back pin.

T = k R step = turns + a/H1 + b/H2, crank first, then plate and crank together
(Machinery's Reference Series 97, p. 3). It is there whenever the denominator of T divides
lcm(H1, H2).
"""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from itertools import permutations
from math import lcm

from solver.candidate import COMPOUND, Candidate, MovesLater
from solver.hand import hand_of
from solver.model import Head, Move, Plate
from solver.nearest import two_circle_move
from solver.plain import Runs, spaces_at_once
from solver.request import Request


def compound(head: Head, request: Request) -> Iterator[Candidate]:
    """Every pair of circles that serves, where neither of the two would do alone."""
    if head.plate_drive == "fixed":
        return
    for every in spaces_at_once(head, request):
        turns = head.worm_ratio * request.step * every
        for plate in head.plates:
            for pair in _pairs(plate, turns.denominator):
                yield _candidate(request, plate, pair, turns, every)


def _pairs(plate: Plate, denominator: int) -> Iterator[tuple[int, int]]:
    for crank, other in permutations(plate.circles, 2):
        alone = crank % denominator == 0 or other % denominator == 0
        if not alone and lcm(crank, other) % denominator == 0:
            yield crank, other


def _candidate(
    request: Request, plate: Plate, pair: tuple[int, int], turns: Fraction, every: int
) -> Candidate:
    crank, other = pair
    calls = _moves(request.kinds, turns, crank, other)()
    return Candidate(
        COMPOUND,
        plate.name,
        crank,
        _moves(request.runs, turns, crank, other),
        hand_of(calls),
        holes=max(call.holes + abs(call.plate_holes) for call in calls),
        every=every,
        plate_circle=other,
    )


def _moves(runs: Runs, turns: Fraction, crank: int, other: int) -> MovesLater:
    both = lcm(crank, other)
    call = two_circle_move(crank, other)

    def moves() -> tuple[Move, ...]:
        return tuple(call(int(steps * turns * both), times) for steps, times in runs)

    return moves
