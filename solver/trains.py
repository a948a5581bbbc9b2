"""Change gears: every train that the gears held can make, by its ratio.

A gear is used once. A simple train is one driver and one driven; a compound train two
pairs, the first driven and the second driver side by side on one stud. Orders that foul
are told by the rule of thumb of the trade (common practice): either pair of meshing gears
together must have 15 teeth more than the stud gear of the other pair that lies in its way.
"""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from functools import lru_cache
from itertools import combinations, permutations
from math import gcd
from typing import NamedTuple

from solver.model import Gearing

CLEARANCE_TEETH = 15

Order = tuple[int, ...]


class Train(NamedTuple):
    """Gears from the spindle's side to the plate's; `orders` are those that clear, best first."""

    drivers: tuple[int, ...]
    driven: tuple[int, ...]
    orders: tuple[Order, ...]


@lru_cache(maxsize=16)
def trains_by_ratio(gears: tuple[int, ...]) -> dict[tuple[int, int], tuple[Train, ...]]:
    """Ratio (drivers / driven, in lowest terms) to its trains: simple first, then those that clear.

    Empty where no gears are held.
    """
    found: dict[tuple[int, int], list[Train]] = {}
    for drivers, driven in (*_simple(gears), *_compound(gears)):
        over, under = _product(drivers), _product(driven)
        common = gcd(over, under)
        train = Train(drivers, driven, ())
        found.setdefault((over // common, under // common), []).append(train)
    return {ratio: tuple(trains) for ratio, trains in found.items()}


def largest_ratio(gears: tuple[int, ...]) -> Fraction:
    """The fastest that any train can drive the plate: its turns for one of the spindle; 0 without
    gears."""
    ratios = trains_by_ratio(gears)
    return max((Fraction(*ratio) for ratio in ratios), default=Fraction(0))


def _simple(gears: tuple[int, ...]) -> Iterator[tuple[Order, Order]]:
    for driver, driven in sorted(set(permutations(gears, 2))):
        yield (driver,), (driven,)


def _compound(gears: tuple[int, ...]) -> Iterator[tuple[Order, Order]]:
    """Two pairs with no gear of the same size on both sides: those would cancel out."""
    pairs = sorted(set(combinations(sorted(gears), 2)))
    for drivers in pairs:
        for driven in pairs:
            if not set(drivers) & set(driven):
                yield drivers, driven


def _product(gears: Order) -> int:
    product = 1
    for gear in gears:
        product *= gear
    return product


def arranged(train: Train) -> Train:
    """The train with its orders that clear, drivers and driven put in the best of them."""
    orders = clear_orders(train.drivers, train.driven)
    if not orders:
        return train
    return Train(orders[0][0::2], orders[0][1::2], orders)


def clear_orders(drivers: Order, driven: Order) -> tuple[Order, ...]:
    """Ways to put the gears on that don't foul, each as met from the spindle to the plate.

    Drivers may change places with drivers and driven with driven, never one with the other.
    """
    if len(drivers) == 1:
        return ((drivers[0], driven[0]),)
    orders = {
        (first, second, third, fourth)
        for first, third in permutations(drivers)
        for second, fourth in permutations(driven)
    }
    clear = [order for order in orders if _room(order) >= CLEARANCE_TEETH]
    return tuple(sorted(clear, key=lambda order: (-_room(order), order)))


def _room(order: Order) -> int:
    first, second, third, fourth = order
    return min(first + second - third, third + fourth - second)


def idlers(train: Train, with_crank: bool, for_with: int) -> int:
    """Idlers that make the plate turn as wanted.

    Each wheel more between spindle and plate turns the far end the other way, and the stud
    of a compound train counts as one wheel more than a simple train has: so the head's own
    rule for simple trains settles both.
    """
    if len(train.drivers) == 1:
        if with_crank:
            return for_with
        return for_with + 1 if for_with < 2 else 1
    return (for_with + with_crank) % 2


def gearing(train: Train, with_crank: bool, for_with: int) -> Gearing:
    """The train with the idlers that its direction needs; `for_with` is how many turn the plate
    with the crank on this head.
    """
    plate = "with" if with_crank else "against"
    count = idlers(train, with_crank, for_with)
    return Gearing(train.drivers, train.driven, count, plate, train.orders)
