"""Calipers and rulers: sizes taken off the work as it stands, when the program asks for one."""

from __future__ import annotations

import re
from math import cos, pi, sin, tau
from typing import Any

from shapely.geometry import LineString, Polygon, box

from tests.machinist.machine import TALL, Machine, round_bar, turned

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
    if found := re.search(
        r"over (\d+) teeth(?:, from tooth space (\d+) on to tooth space (\d+))?", words
    ):
        return span(machine, int(found[1]), found[2] and int(found[2]), found[3] and int(found[3]))
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


def span(machine: Machine, teeth: int, named: int | str | None, last: int | str | None) -> float:
    """Between parallel jaws over so many teeth: from the space that is named, else wherever so many
    stand with a space cut on both sides of them. The jaws touch the outermost flanks: as far as
    these reach."""
    pitch, divisions = 1 / machine.divisions, machine.divisions
    cut = {round(float(each.turns % 1) / pitch) % divisions for each in machine.cuts}
    if named:
        first = int(named) - 1
        if (first + teeth - int(last or 0) + 1) % divisions:
            raise NotThere(f"{teeth} teeth from space {named} on to space {last}")
    else:
        first = min((n for n in cut if (n + teeth) % divisions in cut), default=0)
    if missing := {first, (first + teeth) % divisions} - cut:
        raise NotThere(f"a size over {teeth} teeth is asked for, and the spaces {missing} beside "
                       f"them are not cut: {sorted(cut)}")  # fmt: skip
    assert machine.zero is not None and machine.dial is not None
    floor = machine.zero - machine.dial
    middle = machine.sense * (first + teeth / 2) * pitch
    return over_teeth(machine.section, middle, teeth * pitch, floor + 0.05)


def over_teeth(section: Any, middle: float, wide: float, floor: float) -> float:
    """Between jaws over the teeth that stand so wide (in turns) about this place, above the floors
    that the jaws stand in."""
    group = turned(section, middle).intersection(_wedge(wide, 2 * TALL))
    group = group.difference(round_bar(2 * floor))
    low, _, high, _ = group.bounds
    return high - low


def _wedge(turns: float, reach: float) -> Polygon:
    half = pi * turns
    steps = [half * (n / 12 - 1) for n in range(25)]
    return Polygon([(0, 0), *[(reach * sin(a), reach * cos(a)) for a in steps]])


__all__ = ["calipers", "gauge", "tau"]
