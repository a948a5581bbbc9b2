"""Every way to set up a head, found by trying: slow, plain, and sharing nothing with the solver.

Only the standard library; a head comes as anything with the fields that its file has.
"""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from itertools import permutations
from math import ceil, floor, gcd, lcm
from typing import Any


def direct(head: Any, step: Fraction) -> set[tuple[int, int]]:
    """(circle, holes)."""
    return {
        (circle, holes)
        for circle in head.direct_circle
        for holes in range(1, circle + 1)
        if Fraction(holes, circle) == step
    }


def plain(head: Any, step: Fraction) -> set[tuple[str, int, int, int]]:
    """(plate, circle, turns, holes)."""
    found = set()
    for plate in head.plates:
        for circle in plate.circles:
            for holes in range(circle):
                turns = head.worm_ratio * step - Fraction(holes, circle)
                if turns >= 0 and turns.denominator == 1:
                    found.add((plate.name, circle, int(turns), holes))
    return found


def compound(head: Any, step: Fraction) -> set[tuple[str, int, int]]:
    """(plate, crank circle, plate circle) where some holes of both together do it."""
    if head.plate_drive == "fixed":
        return set()
    return {
        (plate.name, crank, other)
        for plate in head.plates
        for crank, other in permutations(plate.circles, 2)
        if _two_circles_do(head.worm_ratio * step, crank, other)
    }


def _two_circles_do(wanted: Fraction, crank: int, other: int) -> bool:
    for plate_holes in range(1 - other, other):
        rest = wanted - Fraction(plate_holes, other)
        if rest >= 0 and (rest * crank).denominator == 1:
            return True
    return False


def trains(gears: tuple[int, ...]) -> Iterator[tuple[tuple[int, ...], tuple[int, ...]]]:
    """Drivers and driven: every choice of two gears and of two pairs."""
    for driver, driven in permutations(gears, 2):
        yield (driver,), (driven,)
    for one, two, three, four in permutations(gears, 4):
        yield (one, two), (three, four)


Geared = tuple[str, int, int, int, tuple[int, ...], tuple[int, ...], str]


def differential(head: Any, step: Fraction) -> set[Geared]:
    """(plate, circle, turns, holes, drivers, driven, with or against), gears in rising order."""
    if head.plate_drive != "geared":
        return set()
    ratios: dict[tuple[tuple[int, ...], tuple[int, ...]], Fraction] = {}
    for drivers, driven in trains(head.change_gears):
        ratio = Fraction(1)
        for driver, follower in zip(drivers, driven, strict=True):
            ratio *= Fraction(driver, follower)
        ratios[tuple(sorted(drivers)), tuple(sorted(driven))] = ratio
    found = set()
    for (drivers, driven), ratio in ratios.items():
        if set(drivers) & set(driven) and len(drivers) > 1:
            continue  # the same size on both sides cancels: a simple train with a detour
        for way, g in (("with", ratio), ("against", -ratio)):
            turns_wanted = (head.worm_ratio - g) * step
            for plate in head.plates:
                for circle in plate.circles:
                    count = turns_wanted * circle
                    if count > 0 and count.denominator == 1:
                        turns, holes = divmod(int(count), circle)
                        found.add((plate.name, circle, turns, holes, drivers, driven, way))
    return found


def handwheel(head: Any, step: Fraction) -> bool:
    if head.handwheel is None:
        return False
    return bool((step * 21600 / head.handwheel.division_minutes).denominator == 1)


def any_exact(head: Any, divisions: int, most_spaces: int) -> bool:
    """Whether anything does these divisions exactly, up to so many spaces at a time."""
    one = Fraction(1, divisions)
    if direct(head, one) or handwheel(head, one):
        return True
    for every in range(1, most_spaces + 1):
        if gcd(every, divisions) == 1:
            step = every * one
            if plain(head, step) or compound(head, step) or differential(head, step):
                return True
    return False


def grids(head: Any) -> dict[tuple[str, tuple[int, ...]], Fraction]:
    """Steps to a turn of the work, of each circle and of each pair that may be used together."""
    found = {}
    for plate in head.plates:
        for circle in plate.circles:
            found[plate.name, (circle,)] = head.worm_ratio * circle
        if head.plate_drive != "fixed":
            for one, two in permutations(sorted(plate.circles), 2):
                if one < two:
                    found[plate.name, (one, two)] = head.worm_ratio * lcm(one, two)
    return found


def rounding_error(targets: list[Fraction], grid: Fraction) -> Fraction:
    """The largest distance of any target from the grid, in turns of the work."""
    return max(_distance(target * grid) for target in targets) / grid


def _distance(place: Fraction) -> Fraction:
    return min(place - floor(place), ceil(place) - place)
