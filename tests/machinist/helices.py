"""Grooves along a helix: lead, hand, swing, places and depths, and what is done between two cuts.

Lead: table travel for a turn of the work (definition). Looking down on a right-hand thread its near
side rises to the right, so the table's right end goes away from the person (common practice).
Seen rolled out, each groove is a straight line of the slant of its helix.
"""

from __future__ import annotations

import re
from math import atan, degrees, pi, radians, tan
from typing import Any

from tests.machinist.drawings import SAID, DrawnJob
from tests.machinist.machine import Machine

OFF = 0.01  # mm at the outside, over the length: of a groove whose lead is called exact


def faults(machine: Machine, person: Any, job: DrawnJob, printed: str) -> list[str]:
    lead = lead_made(person)
    if lead is None:
        return ["no gears from the head to the table screw"]
    return [
        *_lead(lead, job, printed),
        *_table(person, job),
        *_between_cuts(person, job),
        *_cuts(machine, job),
    ]


def lead_wanted(job: DrawnJob) -> float:
    if job.has("lead"):
        return job.mm("lead")
    return pi * job.mm("diameter") / tan(radians(job.degrees("helix_angle")))


def lead_made(person: Any) -> float | None:
    """mm: through the worm, or from a gear on the spindle, which leaves the worm out."""
    if person.screw is None:
        return None
    if person.from_screw is not None:
        return float(person.ratio / person.from_screw) * person.screw
    return None if person.to_screw is None else float(person.to_screw) * person.screw


def _lead(lead: float, job: DrawnJob, printed: str) -> list[str]:
    wanted = lead_wanted(job)
    off = job.mm("length") * pi * job.mm("diameter") * abs(1 / lead - 1 / wanted)
    told = re.search(r"groove aside over \S+ \S+ +([\d.]+) (mm|in)", printed)
    scale = 25.4 if told and told[2] == "in" else 1.0
    allowed = max(OFF, float(told[1]) * scale + 0.002 if told else 0.0)
    return [] if off <= allowed else [f"a lead of {lead:.3f} mm for {wanted:.3f}: {off:.3f} aside"]


def _table(person: Any, job: DrawnJob) -> list[str]:
    hand, disc = job.works[0]["hand"], job.works[0].get("cutter_form", "end") != "end"
    helix = degrees(atan(pi * job.mm("diameter") / lead_wanted(job)))
    swing = (helix if hand == "right" else -helix) if disc else 0.0
    found = []
    if person.hand != hand:
        found.append(f"a {person.hand}-hand helix for a {hand}-hand one")
    if abs(person.swung - swing) > 1 / 60:
        found.append(f"the table swung {person.swung:g} degrees for {swing:g}")
    if person.fed_along is None or abs(person.fed_along - job.mm("length")) > SAID:
        found.append(f"fed along {person.fed_along} mm for {job.mm('length')}")
    return found


def _between_cuts(person: Any, job: DrawnJob) -> list[str]:
    """Slack out and cutter clear; the plate driven, or the gears parted and the pin out."""
    found = []
    if not person.slack_out:
        found.append("the slack of screw and gears lies in the cut")
    if not person.lowered_to_return:
        found.append("the cutter is dragged back through the groove")
    if person.from_screw is not None:
        return found if person.plate_free else [*found, "the back pin holds the plate: it breaks"]
    if not person.pin_out_to_cut:
        found.append("the direct pin is in while the table drives the spindle")
    first_gear = person.first_gear
    if person.teeth_a_move * job.whole("grooves") != first_gear:
        found.append(f"{person.teeth_a_move} teeth a move of a gear of {first_gear}")
    return found


def _cuts(machine: Machine, job: DrawnJob) -> list[str]:
    count, passes = job.whole("grooves"), job.works[0].get("passes", 1)
    if len(machine.cuts) != count * passes:
        return [f"{len(machine.cuts)} cuts for {count} grooves"]
    middle = (machine.cutter.left + machine.cutter.right) / 2
    found = []
    for n in range(count):
        mine = [cut for cut in machine.cuts if _apart(float(cut.turns), n / count) < 1e-4]
        if len(mine) != passes:
            found.append(f"groove {n + 1} is cut {len(mine)} times")
            continue
        deepest = max(cut.depth or 0.0 for cut in mine) - machine.slip
        if abs(deepest - job.mm("depth")) > SAID:
            found.append(f"groove {n + 1} is {deepest:.3f} mm deep")
        if abs(mine[0].across + middle) > SAID:
            found.append(f"groove {n + 1} stands {mine[0].across + middle:.3f} mm beside the axis")
    return found


def _apart(one: float, other: float) -> float:
    return abs((one - other + 0.5) % 1 - 0.5)
