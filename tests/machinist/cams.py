"""Plate cams: the mill's way through the blank, and a roller of its size rolled along each lobe.

A cam of uniform rise lifts its roller by equal amounts for equal angles (definition). The roller is
as large as the mill; seen on the face, angles clockwise from the first point.
"""

from __future__ import annotations

import re
from math import atan, cos, pi, radians, sin
from typing import Any

from shapely.geometry import Point
from shapely.ops import unary_union

from tests.machinist.drawings import DrawnJob
from tests.machinist.figures import MM
from tests.machinist.machine import Machine, round_bar

OFF = 0.03  # mm: a travel is said to a hundredth, an angle to half a degree by its scale
_STEPS = 120


def faults(machine: Machine, person: Any, job: DrawnJob, printed: str) -> list[str]:
    found = _set_up(person, job)
    if found:
        return found
    cam, off = section(machine, person, job), OFF + _told(printed, job)
    lobes = range(job.whole("lobes"))
    return [each for lobe in lobes for each in lobe_faults(cam, lobe, job, person.mill, off)]


def _told(printed: str, job: DrawnJob) -> float:
    """What `job check` says that the rise is off, mm: gears alone give it only so nearly."""
    told = re.search(r"rise given over the angle +([\d.]+) (mm|in)", printed)
    return abs(float(told[1]) * MM[told[2]] - job.mm("rise")) if told else 0.0


def _set_up(person: Any, job: DrawnJob) -> list[str]:
    if person.tilted is None or person.fed_in is None or person.from_screw is None:
        return ["no tilt, no feed or no gears from the head to the table screw"]
    found = []
    if abs(person.tilted + person.vertical - 90) > 1 / 60:
        found.append(f"head at {person.tilted}, spindle {person.vertical} out of the upright")
    if not person.outside:
        found.append("nobody has said where to index: with the mill in the work?")
    along = job.mm("thickness") + person.fed_in * cos(radians(person.tilted))
    if person.mill_long < along - OFF:
        found.append(f"a mill of {person.mill_long:.2f} mm for {along:.2f} along it")
    return found


def lead(person: Any) -> float:
    """Table travel for a turn of the work, mm."""
    return float(person.ratio / person.from_screw) * person.screw


def section(machine: Machine, person: Any, job: DrawnJob) -> Any:
    """The blank less all that the mill swept."""
    radius, low = job.mm("outside") / 2, sin(radians(person.tilted))
    swept = []
    for cut in machine.cuts:
        for n in range(_STEPS + 1):
            fed = person.fed_in * n / _STEPS
            # As the table goes in the work turns against the way in which it parts.
            at = -machine.sense * float(cut.turns) + person.parting * fed / lead(person)
            out = radius + person.mill / 2 - fed * low
            swept.append(_at(out, at).buffer(person.mill / 2, quad_segs=90))
    return round_bar(2 * radius).difference(unary_union(swept))


def _at(radius: float, turns: float) -> Point:
    return Point(radius * sin(2 * pi * turns), radius * cos(2 * pi * turns))


def rollers(job: DrawnJob, roller: float, lobe: int) -> list[Point]:
    """Where the middle of the roller (its diameter, mm) should stand, from the low place of a lobe
    to its point."""
    radius, rise = job.mm("outside") / 2, job.mm("rise")
    way = 1 if job.works[0]["rises"] == "clockwise" else -1
    over = way * job.degrees("over") / 360
    parts = [n / 24 for n in range(25)]
    point = lobe / job.whole("lobes")
    low = radius - rise + roller / 2
    return [_at(low + rise * part, point - (1 - part) * over) for part in parts]


def lobe_faults(cam: Any, lobe: int, job: DrawnJob, roller: float, off: float) -> list[str]:
    middles = rollers(job, roller, lobe)
    worst = max(abs(cam.distance(each) - roller / 2) for each in middles)
    found = [f"lobe {lobe + 1} lifts {worst:.3f} mm off an even rise"] if worst > off else []
    point = _at(job.mm("outside") / 2, lobe / job.whole("lobes"))
    if cam.distance(point) > off + _rounded(job, roller):
        found.append(f"the point of lobe {lobe + 1} is cut off")
    return found


def _rounded(job: DrawnJob, roller: float) -> float:
    """What the roller itself, on its way, takes off where the lobe would end at the rim: it touches
    beside the radius by the slope of its way (geometry)."""
    middle = job.mm("outside") / 2 + roller / 2
    slope = atan(job.mm("rise") / radians(job.degrees("over")) / middle)
    return roller / 2 * (1 - cos(slope))
