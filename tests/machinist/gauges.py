"""Calipers and rulers: sizes taken off the work as it stands, when the program asks for one."""

from __future__ import annotations

import re
from math import tau

from shapely.geometry import LineString, box

from tests.machinist.machine import Machine

PER_PASS = 1000  # cuts back that are looked at


def gauge(machine: Machine, words: str) -> float | None:
    """The size that the words ask for. None where they ask for something that isn't there."""
    if found := re.search(r"across flats (\d+) and (\d+)", words):
        must_be_cut(machine, "flat", int(found[1]), int(found[2]))
        return calipers(machine)
    if "from flat 1 to the far side" in words:
        must_be_cut(machine, "flat", 1)
        return calipers(machine)
    if "from the floor of the keyway to the far side" in words:
        return floor_to_far_side(machine)
    if found := re.search(r"the width of spline (\d+)", words):
        return width_at_the_top(machine)
    raise AssertionError(f"{words!r}: no instrument is known for it")


class NotThere(AssertionError):
    """A size is asked for over something that is not cut yet."""


def must_be_cut(machine: Machine, what: str, *numbers: int) -> None:
    """In this pass: the last cuts as they were called must name all of these, the last of them
    now standing under the cutter."""
    called = [re.search(rf"{what} (\d+)", each.words) for each in machine.cuts[-PER_PASS:]]
    named = {int(each[1]) for each in called if each}
    if missing := set(numbers) - named:
        raise NotThere(f"{what} {sorted(missing)} is to be measured and is not cut yet")


def calipers(machine: Machine) -> float:
    """Between jaws that lie on what was cut last and on the side opposite it."""
    _, low, _, high = machine.facing.bounds
    return high - low


def floor_to_far_side(machine: Machine) -> float:
    """Along the upright through the axis, from the last floor to the far side."""
    far = max(abs(each) for each in machine.facing.bounds) + 1
    upright = machine.facing.intersection(LineString([(0, -far), (0, far)]))
    _, low, _, high = upright.bounds
    return high - low


def width_at_the_top(machine: Machine) -> float:
    """Of the spline that stands at the top, half-way up the cut."""
    work = machine.facing
    top = work.bounds[3]
    assert machine.zero is not None and machine.dial is not None
    height = (top + machine.zero - machine.dial) / 2
    level = work.intersection(box(-top, height, top, height + 1e-6))
    pieces = getattr(level, "geoms", [level])
    at_middle = next(piece for piece in pieces if piece.bounds[0] < 0 < piece.bounds[2])
    return at_middle.bounds[2] - at_middle.bounds[0]


__all__ = ["calipers", "gauge", "tau"]
