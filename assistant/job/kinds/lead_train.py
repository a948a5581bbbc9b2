"""Change gears between table screw and head for a wanted lead.

The lead of the machine is the worm ratio times the screw's lead; with gears it is that
times driven / drivers, the driver on the table screw, the last driven gear on the head
(Practical Treatise on Milling and Milling Machines, 1914, p. 62).
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Iterator, Sequence
from fractions import Fraction
from functools import lru_cache
from itertools import combinations, permutations
from math import prod
from typing import NamedTuple

from solver import Head, Millimetres

# Teeth that a meshing pair must have beyond the gear beside it on the stud: a rule of thumb
# of the trade (common practice); the machine itself has the last word.
CLEARANCE_TEETH = 15

GearOrder = tuple[int, ...]


class LeadTrain(NamedTuple):
    """Gears for a lead. `orders` are the ways that clear, each met from the head to the screw.

    An order is (gear on the head, first on the stud, second on the stud, gear on the
    screw), or (head, screw) with idlers between. `lead` is what it gives, in mm.
    """

    driven: GearOrder
    drivers: GearOrder
    lead: Millimetres
    orders: tuple[GearOrder, ...]

    def error(self, wanted: float) -> float:
        """mm a turn; plus where the lead comes out too long."""
        return float(self.lead) - wanted


def lead_of_machine(head: Head, table_screw: Millimetres) -> Millimetres:
    """Lead with equal gears: table_screw x worm ratio, in the unit of `table_screw`."""
    return Millimetres(head.worm_ratio * table_screw)


def takes_spindle_gear(head: Head) -> bool:
    """Gears of a differential sit on the spindle; a direct plate tells that the worm comes out."""
    return head.plate_drive == "geared" and bool(head.direct_circle)


def meshing_orders(driven: Sequence[int], drivers: Sequence[int]) -> tuple[GearOrder, ...]:
    """The arrangements that clear each other, the roomiest first.

    Drivers may change places with drivers and driven with driven, never one with the other.
    """
    if len(driven) == 1:
        return ((driven[0], drivers[0]),)
    every = {(a, b, c, d) for a, c in permutations(driven) for b, d in permutations(drivers)}
    clear = [order for order in every if _room(order) >= CLEARANCE_TEETH]
    return tuple(sorted(clear, key=lambda order: (-_room(order), order)))


def _room(order: GearOrder) -> int:
    head, first, second, screw = order
    return min(head + first - second, second + screw - first)


def trains(gears: Sequence[int]) -> Iterator[tuple[GearOrder, GearOrder]]:
    """Every (driven, drivers) of one pair or two from the gears held, each gear used once."""
    held = sorted(gears)
    for one, other in sorted(set(permutations(held, 2))):
        yield (one,), (other,)
    for four in sorted(set(combinations(held, 4))):
        for driven in sorted(set(combinations(four, 2))):
            drivers = _rest(four, driven)
            if not set(driven) & set(drivers):
                yield driven, drivers


def _rest(four: GearOrder, taken: GearOrder) -> GearOrder:
    left = list(four)
    for gear in taken:
        left.remove(gear)
    return tuple(left)


def nearest_trains(
    gears: Sequence[int], machine_lead: Millimetres, wanted: float, most: int = 4
) -> tuple[LeadTrain, ...]:
    """Trains that mesh, nearest lead first; of equals the simple one first. Leads in mm."""
    found = _by_ratio(tuple(gears))
    best = sorted(found, key=lambda ratio: abs(float(machine_lead * ratio) - wanted))[:most]
    return tuple(
        LeadTrain(*found[ratio], Millimetres(machine_lead * ratio), meshing_orders(*found[ratio]))
        for ratio in best
    )


def nearest_train(gears: Sequence[int], machine_lead: Millimetres, wanted: float) -> LeadTrain:
    """The first of `nearest_trains`, found at once where many leads are looked for."""
    held = tuple(gears)
    ratios = _rising(held)
    at = bisect_left(ratios, wanted / float(machine_lead))
    best = min(ratios[max(0, at - 1) : at + 1], key=lambda r: abs(float(machine_lead * r) - wanted))
    found = _by_ratio(held)[best]
    return LeadTrain(*found, Millimetres(machine_lead * best), meshing_orders(*found))


def by_ratio(gears: Sequence[int]) -> Iterator[tuple[Fraction, GearOrder]]:
    """Every ratio driven / drivers that these gears give, with its roomiest order."""
    for ratio, (driven, drivers) in _by_ratio(tuple(gears)).items():
        yield ratio, meshing_orders(driven, drivers)[0]


def reach(gears: Sequence[int]) -> tuple[Fraction, Fraction]:
    """The shortest and the longest lead of all trains of these gears, in leads of the machine."""
    ratios = _rising(tuple(gears))
    return ratios[0], ratios[-1]


@lru_cache(maxsize=8)
def _rising(gears: GearOrder) -> tuple[Fraction, ...]:
    return tuple(sorted(_by_ratio(gears)))


@lru_cache(maxsize=8)
def _by_ratio(gears: GearOrder) -> dict[Fraction, tuple[GearOrder, GearOrder]]:
    """A train that meshes for every ratio driven / drivers; the simple one where there is."""
    found: dict[Fraction, tuple[GearOrder, GearOrder]] = {}
    for driven, drivers in trains(gears):
        ratio = Fraction(prod(driven), prod(drivers))
        if ratio not in found and meshing_orders(driven, drivers):
            found[ratio] = (driven, drivers)
    return found
