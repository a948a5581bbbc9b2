"""Several rings on one job: the same quality of set-up for each, with the fewest plate changes."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

from solver.model import Head, Refused, Setup, Turns
from solver.planner import plan


class Ring(NamedTuple):
    """One ring's set-up; `change` is true where another plate has to be put on for it."""

    divisions: int
    setup: Setup
    change: bool


class _Path(NamedTuple):
    """A way so far, one plate on at its end; `cost`: plate changes, then places in the ranking."""

    cost: tuple[int, int]
    on: str | None
    chosen: tuple[Ring, ...]


def plan_rings(
    head: Head,
    rings: Sequence[int],
    *,
    fitted: str | None = None,
    tolerance: Turns | None = None,
    prefer: Sequence[str] = (),
) -> tuple[Ring, ...]:
    """A set-up for each ring in the order given, with the fewest plate changes over them all.

    No ring is given a slower method or a larger error to save a change: the choice is among
    the set-ups that equal its best one in both. `tolerance` in turns. Raises Refused.
    """
    if not rings:
        raise Refused("no rings", "give the divisions of one or more")
    paths = [_Path((0, 0), fitted, ())]
    for divisions in rings:
        setups = plan(head, divisions=divisions, fitted=fitted, tolerance=tolerance, prefer=prefer)
        paths = _extend(paths, divisions, _equals(setups))
    return min(paths, key=lambda path: path.cost).chosen


def _equals(setups: tuple[Setup, ...]) -> list[Setup]:
    best = setups[0]
    return [
        setup
        for setup in setups
        if (setup.method, setup.exact, setup.every) == (best.method, best.exact, best.every)
        and (setup.exact or setup.worst_error == best.worst_error)
        and _gears(setup) == _gears(best)
    ]


def _gears(setup: Setup) -> int:
    return len(setup.gearing.drivers) if setup.gearing else 0


def _extend(paths: list[_Path], divisions: int, setups: list[Setup]) -> list[_Path]:
    best: dict[str | None, _Path] = {}
    for path in paths:
        for place, setup in enumerate(setups):
            longer = _one_more(path, divisions, setup, place)
            if longer.on not in best or longer.cost < best[longer.on].cost:
                best[longer.on] = longer
    return list(best.values())


def _one_more(path: _Path, divisions: int, setup: Setup, place: int) -> _Path:
    # Direct indexing leaves whatever plate is on where it is.
    on = setup.plate or path.on
    change = path.on is not None and on != path.on
    ring = Ring(divisions, setup, change)
    cost = (path.cost[0] + change, path.cost[1] + place)
    return _Path(cost, on, (*path.chosen, ring))
