"""Bevel gears by a form cutter: a section at each end, on the cone that stands square to the pitch
cone. Rolled out, each is a spur gear of pitch radius r / cos(pitch cone): the back cone of every
handbook. The cutter has one outline; at the small end less of its depth is in the work.
"""

from __future__ import annotations

from math import atan, cos, degrees, hypot, pi, sin
from typing import Any

from shapely import affinity
from shapely.ops import linemerge

from tests.machinist.cutters import Cutter
from tests.machinist.drawings import SAID, Job
from tests.machinist.gears import SMALLEST, module, pitch_cone, whole_depth
from tests.machinist.machine import Machine, round_bar, turned


def faults(machine: Machine, person: Any, job: Job) -> list[str]:
    cone = pitch_cone(job)
    distance = module(job) * job.whole("teeth") / 2 / sin(cone)
    dedendum = (whole_depth(job) - 1) * module(job)
    tilt = degrees(cone - atan(dedendum / distance))
    found = []
    if person.tilted is None or abs(person.tilted - tilt) > 1 / 60:
        found.append(f"the head tilted to {person.tilted} degrees for {tilt:.3f}")
    depth = whole_depth(job) * module(job)
    if machine.dial is None or abs(machine.dial - depth) > SAID:
        found.append(f"{machine.dial} mm deep at the large end for {depth:.3f}")
    for end, scale in (("large", 1.0), ("small", 1 - job.mm("face") / distance)):
        gap, want = _gap(machine, person, job, scale), _space(job, scale)
        if abs(gap - want) > 0.03 * module(job) * scale + 2 * SAID:
            found.append(f"{end} end: a space of {gap:.3f} mm at the pitch line for {want:.3f}")
    return found


def _space(job: Job, scale: float) -> float:
    """Half the circular pitch, as a chord."""
    size = module(job) * scale
    pitch = size * job.whole("teeth") / 2 / cos(pitch_cone(job))
    return 2 * pitch * sin(pi * size / 2 / (2 * pitch))


def _gap(machine: Machine, person: Any, job: Job, scale: float) -> float:
    """The chord of the first space at the pitch line of one end, after all its cuts."""
    section = end_section(machine, person, job, scale)
    size = module(job) * scale
    pitch = size * job.whole("teeth") / 2 / cos(pitch_cone(job))
    free = round_bar(2 * pitch).exterior.difference(section)
    merged = linemerge(free) if hasattr(free, "geoms") else free
    top = max(getattr(merged, "geoms", [merged]), key=lambda line: line.centroid.y)
    return hypot(top.coords[0][0] - top.coords[-1][0], top.coords[0][1] - top.coords[-1][1])


def end_section(machine: Machine, person: Any, job: Job, scale: float) -> Any:
    """The blank rolled out of the back cone, less the cuts of the first space: the cutter moved
    across as the table was, the blank turned back by its roll, which the cone makes shorter."""
    cone, size = pitch_cone(job), module(job) * scale
    pitch = size * job.whole("teeth") / 2 / cos(cone)
    section = round_bar(2 * (pitch + size))
    root = pitch - (whole_depth(job) - 1) * size
    for across, roll in first_space(machine, job):
        cutter = affinity.translate(own_cutter(person, job).outline, across, root)
        section = section.difference(turned(cutter, -roll * cos(cone)))
    return section


def first_space(machine: Machine, job: Job) -> list[tuple[float, float]]:
    """Where table and blank stood in each round's cut of the first space: mm, turns of the work
    (its top towards +x)."""
    middle = -(machine.cutter.left + machine.cutter.right) / 2
    pitch = 1 / job.whole("teeth")
    found = []
    for each in machine.cuts:
        turns = machine.sense * float(each.turns)
        roll = (turns + pitch / 2) % 1 - pitch / 2
        if abs(roll) < pitch / 2:
            found.append((each.across - middle, roll))
    return found


def own_cutter(person: Any, job: Job) -> Cutter:
    """The form of the number that was named, as thin as the job says that it is: a bevel cutter is
    a set's cutter ground narrower, to pass the small end."""
    made = person.forms(person.form)
    if not job.has("cutter_thickness_large"):
        return made
    dedendum = (whole_depth(job) - 1) * module(job)
    line = made.outline.intersection(_level(dedendum))
    thick = line.bounds[2] - line.bounds[0]
    narrow = job.mm("cutter_thickness_large") / thick
    # Ground on both sides: moved in, not squeezed.
    by = (thick - thick * narrow) / 2
    right = affinity.translate(made.outline, -by, 0)
    left = affinity.translate(made.outline, by, 0)
    return Cutter(right.intersection(left), made.left + by, made.right - by)


def _level(height: float) -> Any:
    from shapely.geometry import LineString

    return LineString([(-100, height), (100, height)])


__all__ = ["SMALLEST", "faults"]
