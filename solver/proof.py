"""The independent proof: what the moves do to the spindle, worked out anew from the head.

Nothing here knows how a set-up was found; only the plain data is shared with the search.
Direct: holes / circle. Worm: (turns + holes/circle + plate holes/plate circle) / R.
Geared: (turns + holes/circle) / (R - g), g = drivers / driven, minus when the plate runs
against the crank.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from fractions import Fraction
from math import lcm

from solver.model import Gearing, Head, Move, Setup, Turns, in_turns


class Disproved(Exception):
    """A set-up does not do what it says: a fault of the solver, never of the person."""


def spindle_move(head: Head, setup: Setup, move: Move) -> Turns:
    """What one doing of `move` turns the spindle by, in turns, whatever its `times`."""
    if move.direct_circle is not None:
        return Turns(Fraction(move.direct_holes or 0, move.direct_circle))
    if move.minutes is not None:
        return Turns(move.turns / head.worm_ratio + in_turns(move.minutes))
    crank = Fraction(move.turns)
    if move.circle is not None:
        crank += Fraction(move.holes, move.circle)
    if move.plate_circle is not None:
        crank += Fraction(move.plate_holes, move.plate_circle)
    return Turns(crank / (head.worm_ratio - plate_ratio(setup.gearing)))


def plate_ratio(gearing: Gearing | None) -> Fraction:
    """Turns of the plate for one of the spindle: plus with the crank, minus against it."""
    if gearing is None:
        return Fraction(0)
    ratio = Fraction(1)
    for driver, driven in zip(gearing.drivers, gearing.driven, strict=True):
        ratio = ratio * driver / driven
    return ratio if gearing.plate == "with" else -ratio


def positions(head: Head, setup: Setup) -> Iterator[Turns]:
    """Where the spindle stands after each move, in turns from the start, never reduced."""
    place = Fraction(0)
    for move in setup.moves:
        by = spindle_move(head, setup, move)
        for _ in range(move.times):
            place += by
            yield Turns(place)


def worst_error(head: Head, setup: Setup, targets: Iterable[Turns]) -> Turns:
    """The largest distance from a target, position by position, in turns.

    Raises Disproved when the moves are more or fewer than the targets.
    """
    most = Fraction(0)
    try:
        for place, target in zip(positions(head, setup), targets, strict=True):
            most = max(most, abs(place - target))
    except ValueError as error:
        raise Disproved(f"{setup.method}: as many moves as positions: {error}") from error
    return Turns(most)


def worst_error_of_divisions(head: Head, setup: Setup, divisions: int) -> Turns:
    """The same, in turns, for N equal divisions, without walking through equal moves one by one.

    Along a run of equal moves the error changes by equal amounts, so it is largest where
    the run ends or where the one before it did. Whole numbers over one denominator keep
    large N quick. Raises Disproved.
    """
    by = {move: spindle_move(head, setup, move) for move in set(setup.moves)}
    scale = lcm(divisions, *(turn.denominator for turn in by.values()))
    steps = {move: turn.numerator * (scale // turn.denominator) for move, turn in by.items()}
    division = scale // divisions * setup.every
    most = place = done = 0
    for move in setup.moves:
        place += steps[move] * move.times
        done += move.times
        most = max(most, abs(place - done * division))
    if done != divisions:
        raise Disproved(f"{setup.method}: {done} moves for {divisions} divisions")
    return Turns(Fraction(most, scale))


def check_parts(head: Head, setup: Setup) -> None:
    """Every circle is on the plate named, every gear is held, the drive allows it.

    Raises Disproved.
    """
    circles = {plate.name: plate.circles for plate in head.plates}.get(setup.plate or "", ())
    for move in setup.moves:
        _check_move(head, move, circles)
    if setup.gearing:
        _check_gears(head, setup.gearing)
        if any(move.plate_holes for move in setup.moves):
            raise Disproved("the back pin can't hold a plate that gears drive")


def _check_move(head: Head, move: Move, circles: tuple[int, ...]) -> None:
    if move.direct_circle is not None:
        wrong = move.direct_circle not in head.direct_circle or (move.direct_holes or 0) < 0
    elif move.minutes is not None:
        step = head.handwheel.division_minutes if head.handwheel else None
        wrong = step is None or move.minutes % step != 0 or move.minutes < 0 or move.turns < 0
    else:
        wrong = not _holes_stand(move, circles)
        wrong = wrong or (move.plate_circle is not None and head.plate_drive == "fixed")
    if wrong or move.times < 1:
        raise Disproved(f"a move that this head can't make: {move}")


def _holes_stand(move: Move, circles: tuple[int, ...]) -> bool:
    if move.turns < 0 or move.circle not in circles or not 0 <= move.holes < (move.circle or 0):
        return False
    if move.plate_circle is None:
        return move.plate_holes == 0
    return move.plate_circle in circles and abs(move.plate_holes) < move.plate_circle


def _check_gears(head: Head, gearing: Gearing) -> None:
    held = list(head.change_gears)
    for gear in (*gearing.drivers, *gearing.driven):
        if gear not in held:
            raise Disproved(f"gear {gear} is not held, or is used twice")
        held.remove(gear)
    if head.plate_drive != "geared" or len(held) < gearing.idlers:
        raise Disproved("this head has no gears to spare for the train")
    # One more shaft in a train turns its far end the other way; a stud with two gears is one.
    between = gearing.idlers + len(gearing.drivers) - 1
    runs_with = between % 2 == head.idlers_for_with % 2
    if runs_with != (gearing.plate == "with"):
        raise Disproved(f"{gearing.idlers} idlers would not turn the plate {gearing.plate}")


def prove(head: Head, setup: Setup, targets: Iterable[Turns], divisions: int | None = None) -> None:
    """Recompute everything that the set-up claims, its places held against the targets (turns).
    Raises Disproved for any difference."""
    check_parts(head, setup)
    if divisions is None:
        found = worst_error(head, setup, targets)
    else:
        found = worst_error_of_divisions(head, setup, divisions)
    if found != setup.worst_error:
        raise Disproved(
            f"{setup.method}: the error is {found} turns, not {setup.worst_error} as claimed"
        )
