"""Several rings on one part: the same quality of set-up for each, with the fewest plate changes."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import permutations
from typing import NamedTuple

from solver import Setup


class RingPlan(NamedTuple):
    """`order` is which ring (from 0) comes when, `setups` theirs in that order.

    `changes` tells for each whether another plate has to be put on before it.
    """

    order: tuple[int, ...]
    setups: tuple[Setup, ...]
    changes: tuple[bool, ...]


class _Way(NamedTuple):
    """`cost`: plate changes, then places in the rankings. `on`: the plate at the end."""

    cost: tuple[int, int]
    on: str | None
    setups: tuple[Setup, ...]
    changes: tuple[bool, ...]


_MOST_FREE = 6  # rings whose order is searched: 720 orders


def equals(setups: Sequence[Setup]) -> tuple[Setup, ...]:
    """The set-ups as good as the best one: no ring is given a worse way to save a change."""
    best = setups[0]
    return tuple(setup for setup in setups if _quality(setup) == _quality(best))


def _quality(setup: Setup) -> tuple[object, ...]:
    gears = len(setup.gearing.drivers) if setup.gearing else 0
    return setup.method, setup.worst_error, setup.every, gears


def fewest_changes(
    choices: Sequence[Sequence[Setup]], fitted: str | None = None, free: bool = True
) -> RingPlan:
    """The plan with the fewest plate changes; of equals the one nearest to the order given.

    `choices` are each ring's set-ups, best first. With `free` the rings may change places.
    Raises ValueError for no rings.
    """
    good = [equals(setups) for setups in choices]
    orders = permutations(range(len(good))) if free and len(good) <= _MOST_FREE else [
        tuple(range(len(good)))
    ]  # fmt: skip
    best: tuple[tuple[int, int, int], RingPlan] | None = None
    for order in orders:
        way = _in_order([good[n] for n in order], fitted)
        cost = (way.cost[0], _moved(order), way.cost[1])
        if best is None or cost < best[0]:
            best = cost, RingPlan(order, way.setups, way.changes)
    if best is None:
        raise ValueError("no rings: give one or more")
    return best[1]


def _moved(order: tuple[int, ...]) -> int:
    """How many pairs of rings have changed places."""
    return sum(a > b for n, a in enumerate(order) for b in order[n + 1 :])


def _in_order(choices: Sequence[Sequence[Setup]], fitted: str | None) -> _Way:
    ways = [_Way((0, 0), fitted, (), ())]
    for setups in choices:
        longer = [_longer(way, place, setup) for way in ways for place, setup in enumerate(setups)]
        # Of all ways that end with the same plate on, only the cheapest can be part of the best.
        cheapest: dict[str | None, _Way] = {}
        for way in sorted(longer, key=lambda way: way.cost, reverse=True):
            cheapest[way.on] = way
        ways = list(cheapest.values())
    return min(ways, key=lambda way: way.cost)


def _longer(way: _Way, place: int, setup: Setup) -> _Way:
    on = setup.plate or way.on  # direct indexing leaves the plate where it is
    change = way.on is not None and on != way.on
    cost = (way.cost[0] + change, way.cost[1] + place)
    return _Way(cost, on, (*way.setups, setup), (*way.changes, change))
