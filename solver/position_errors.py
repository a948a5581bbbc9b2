"""What a set-up's positions are off by, exactly, and what the head itself adds.

`worst` is the largest distance of any position from its true place (errors as they add up
round the work); `adjacent` the largest error of the space between two neighbours. The
budget adds the bounds that the head's own papers state: the plain sum is the worst case;
the root of the sum of squares is the combined figure for independent contributions (JCGM
100:2008, "GUM", 5.1.2, every contribution stated at the same level of confidence).
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from fractions import Fraction
from itertools import pairwise
from typing import NamedTuple

from solver import own_error
from solver.lengths import Length, arc
from solver.model import ARCSEC_PER_TURN, Head, Setup, Turns
from solver.proof import positions as places
from solver.proof import spindle_move
from solver.request import Request, request_of

SOURCE = (
    "worst case: sum of the bounds; rss: root of the sum of squares, "
    "JCGM 100:2008 (GUM), 5.1.2, contributions independent"
)


class Position(NamedTuple):
    """A position visited: where it should be, where crank or dial say that it is, and how far the
    work is off, the head's own error counted where it was measured; all in turns."""

    target: Turns
    reached: Turns
    error: Turns


class Budget(NamedTuple):
    """Bounds at the spindle, in arc-seconds; `missing` names what the head's file leaves out."""

    indexing: Fraction
    worm: Fraction
    plate: Fraction
    missing: tuple[str, ...]

    @property
    def worst_case(self) -> float:
        """All three at their largest and in one direction: arc-seconds."""
        return float(self.indexing + self.worm + self.plate)

    @property
    def rss(self) -> float:
        """The root of the sum of squares, where the three are independent (JCGM 100,
        5.1.2): arc-seconds.
        """
        return math.sqrt(self.indexing**2 + self.worm**2 + self.plate**2)


class Statement(NamedTuple):
    """`worst` and `adjacent`, in turns: of the moves alone, or of the work where the head was
    measured (`measured`). The budget adds what is not known of the head."""

    worst: Turns
    adjacent: Turns
    budget: Budget
    measured: bool = False

    def to_record(self, radius: Length | None = None) -> dict[str, object]:
        """JSON-ready; with a radius also the two errors as lengths there."""
        record: dict[str, object] = {
            "worst_turns": str(self.worst),
            "worst_arcsec": _arcsec(self.worst),
            "adjacent_turns": str(self.adjacent),
            "adjacent_arcsec": _arcsec(self.adjacent),
            "budget": {
                "indexing_arcsec": float(self.budget.indexing),
                "worm_arcsec": float(self.budget.worm),
                "plate_arcsec": float(self.budget.plate),
                "not_stated": list(self.budget.missing),
                "worst_case_arcsec": self.budget.worst_case,
                "rss_arcsec": self.budget.rss,
                "method": SOURCE,
            },
            "head_measured": self.measured,
        }
        if radius:
            record["radius"] = {"value": float(radius.value), "unit": radius.unit}
            record["worst_length"] = float(arc(self.worst, radius).value)
            record["adjacent_length"] = float(arc(self.adjacent, radius).value)
        return record


def error_statement(
    head: Head,
    setup: Setup,
    *,
    divisions: int | None = None,
    angle: Turns | None = None,
    positions: Sequence[Turns] | None = None,
) -> Statement:
    """The errors of a set-up that `plan` gave for this very request; angle and positions in turns.
    Raises Refused."""
    request = request_of(divisions, angle, positions)
    known = setup.true_error is not None
    worst = setup.worst_error if setup.true_error is None else setup.true_error
    space = _adjacent(head, setup, request)
    return Statement(worst, space, budget(head, setup, worst), known)


def each_position(
    head: Head,
    setup: Setup,
    *,
    divisions: int | None = None,
    angle: Turns | None = None,
    positions: Sequence[Turns] | None = None,
) -> Iterator[Position]:
    """Every position in the order visited, exactly, one at a time; angle and positions in turns.
    Raises Refused."""
    request = request_of(divisions, angle, positions)
    targets = request.targets(setup.every)
    counted = setup.true_error is not None
    for target, reached in zip(targets, places(head, setup), strict=True):
        true = reached + own_error.off_at(head, reached) if counted else reached
        yield Position(target, reached, Turns(true - target))


def _adjacent(head: Head, setup: Setup, request: Request) -> Turns:
    if setup.true_error is not None:
        return _adjacent_true(head, setup, request)
    if setup.exact:
        return Turns(Fraction(0))
    if request.divisions is not None:
        # Equal divisions: each kind of move is off by the same every time that it is made.
        space = Fraction(setup.every, request.divisions)
        return Turns(max(abs(spindle_move(head, setup, each) - space) for each in set(setup.moves)))
    errors = [reached - target for target, reached in _pairs(head, setup, request)]
    return Turns(max(abs(b - a) for a, b in pairwise([Fraction(0), *errors])))


def _adjacent_true(head: Head, setup: Setup, request: Request) -> Turns:
    """From one place visited to the next; a bound where there are very many."""
    moves = sum(move.times for move in setup.moves)
    if moves > own_error.MOST_WALKED:
        return Turns(2 * setup.worst_error + own_error.bound(head))
    pairs = _pairs(head, setup, request)
    errors = [reached + own_error.off_at(head, reached) - target for target, reached in pairs]
    return Turns(max(abs(b - a) for a, b in pairwise([Fraction(0), *errors])))


def _pairs(head: Head, setup: Setup, request: Request) -> Iterator[tuple[Turns, Turns]]:
    return zip(request.targets(setup.every), places(head, setup), strict=True)


def budget(head: Head, setup: Setup, worst: Turns) -> Budget:
    """The head's stated bounds carried to the spindle, and `worst` of the moves (turns): the worm
    divides a hole's error by R."""
    stated = head.errors
    if own_error.off_the_worm(setup):
        wanted = {"direct_arcsec": stated.direct_arcsec}
        worm, plate = Fraction(0), stated.direct_arcsec or Fraction(0)
    else:
        wanted = {"worm_arcsec": stated.worm_arcsec}
        worm, plate = stated.worm_arcsec or Fraction(0), Fraction(0)
        if own_error.measured(head):
            worm = stated.known_within or Fraction(0)  # the rest stands in `worst` already
            wanted = {"worm_arcsec": worm}
        if setup.plate is not None:
            wanted["plate_arcsec"] = stated.plate_arcsec
            plate = (stated.plate_arcsec or Fraction(0)) / head.worm_ratio
    missing = tuple(key for key, value in wanted.items() if value is None)
    return Budget(worst * ARCSEC_PER_TURN, worm, plate, missing)


def _arcsec(turns: Turns) -> float:
    return float(turns * ARCSEC_PER_TURN)
