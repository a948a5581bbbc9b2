"""Worm wheels gashed for the hob: swing, places, depth below the throat, the stock left.

The wheel's hollow is a ring round the worm; the cutter is a disc in a plane that leans by the
worm's lead angle. Its tangent: starts x module / pitch diameter of the worm (definition).
"""

from __future__ import annotations

from math import atan, cos, degrees, pi, sin, sqrt, tan
from typing import Any

from tests.machinist.drawings import SAID, DrawnJob
from tests.machinist.machine import Machine


def faults(machine: Machine, person: Any, job: DrawnJob) -> list[str]:
    found = _table(person, job)
    cuts, count = machine.cuts, job.whole("teeth")
    passes = job.works[0].get("passes", 1)
    if len(cuts) != count * passes:
        return [*found, f"{len(cuts)} cuts for {count} gashes"]
    wanted = 2.25 * _module(job) - _left(job)
    sunk = max(cut.depth or 0.0 for cut in cuts) - machine.slip - above_throat(job)
    if abs(sunk - wanted) > 2 * SAID:
        found.append(f"gashed {sunk:.3f} mm below the throat for {wanted:.3f}")
    for n in range(count):
        mine = [cut for cut in cuts if abs((float(cut.turns) - n / count + 0.5) % 1 - 0.5) < 1e-4]
        if len(mine) != passes:
            found.append(f"gash {n + 1} is cut {len(mine)} times")
    middle = cuts[0].across + (machine.cutter.left + machine.cutter.right) / 2
    if abs(middle) > SAID:
        found.append(f"the gashes stand {middle:.3f} mm beside the axis")
    return [*found, *_stock(job)]


def _module(job: DrawnJob) -> float:
    return float(job.works[0]["module"])


def _left(job: DrawnJob) -> float:
    """For the hob, on the floor; an eighth of the module where the job says nothing."""
    return job.mm("leave") if job.has("leave") else _module(job) / 8


def lead_angle(job: DrawnJob) -> float:
    return atan(job.works[0].get("starts", 1) * _module(job) / job.mm("worm_diameter"))


def _table(person: Any, job: DrawnJob) -> list[str]:
    swing = degrees(lead_angle(job)) * (1 if job.works[0].get("hand", "right") == "right" else -1)
    found = []
    if abs(person.swung - swing) > 1 / 60:
        found.append(f"the table swung {person.swung:g} degrees for {swing:g}")
    if not person.in_the_middle:
        found.append("the gashes are not in the middle of the face")
    if not person.hollow_touched:
        found.append("nothing was touched and set to nought")
    return found


def above_throat(job: DrawnJob) -> float:
    """How far over its place at the throat the disc first touches the ring: points all over the
    hollow that lie under it, the highest first."""
    size, worm = _module(job), job.mm("worm_diameter")
    centre = (size * job.whole("teeth") + worm) / 2
    hollow, lean = worm / 2 - size, lead_angle(job)
    disc, half = job.mm("diameter", "cutter") / 2, job.mm("cutter_width") / 2
    highest = 0.0
    for n in range(-300, 301):
        along = job.mm("face") / 2 * n / 300
        ring = centre - sqrt(hollow**2 - along**2)
        for k in range(-300, 301):
            across = 8 * k / 300
            out = across * cos(lean) - along * sin(lean)
            way = along * cos(lean) + across * sin(lean)
            if abs(out) <= half and abs(way) < disc:
                high = sqrt(ring**2 - across**2) + sqrt(disc**2 - way**2)
                highest = max(highest, high)
    return highest - disc - (centre - hollow)


def _stock(job: DrawnJob) -> list[str]:
    """On each flank at the floor of the gash, against the worm's own straight thread (it is a rack
    there: half the pitch at the pitch line, narrower below by the pressure angle)."""
    size, lean = _module(job), lead_angle(job)
    below = 1.25 * size - _left(job)
    pressure = job.degrees("pressure_angle", 20.0) * pi / 180
    thread = pi * size / 2 - 2 * below * tan(pressure)
    left = (thread - job.mm("cutter_width") / cos(lean)) / 2
    return [] if left > -SAID / 2 else [f"{-left:.3f} mm too wide for the worm's thread"]
