"""Bevel gears by a form cutter: sections along the face, from the large end to the small one, each
on the cone that stands square to the pitch cone. Rolled out, each is a spur gear of pitch radius
r / cos(pitch cone): the back cone of every handbook. The cutter has one outline; towards the small
end less of its depth is in the work, as the head is tilted and the depth dial stands.
"""

from __future__ import annotations

from math import atan, cos, degrees, hypot, pi, radians, sin, sqrt, tan
from typing import Any

from shapely import affinity
from shapely.ops import linemerge

from tests.machinist.cutters import Cutter
from tests.machinist.drawings import SAID, DrawnJob
from tests.machinist.gears import SMALLEST, module, pitch_cone, pressure, whole_depth
from tests.machinist.machine import Machine, round_bar, turned

SECTIONS = 5  # along the face
MISSING = 0.15  # modules: one outline rolled at both ends takes the tips of the large end thinner


def faults(machine: Machine, person: Any, job: DrawnJob) -> list[str]:
    cone = pitch_cone(job)
    distance = module(job) * job.whole("teeth") / 2 / sin(cone)
    dedendum = (whole_depth(job) - 1) * module(job)
    tilt = degrees(cone - atan(dedendum / distance))
    found = []
    if person.tilted is None or abs(person.tilted - tilt) > 1 / 60:
        return [f"the head tilted to {person.tilted} degrees for {tilt:.3f}"]
    depth = whole_depth(job) * module(job)
    if machine.dial is None or abs(machine.dial - depth) > SAID:
        found.append(f"{machine.dial} mm deep at the large end for {depth:.3f}")
    small = 1 - job.mm("face") / distance
    for n in range(SECTIONS):
        scale = 1 - (1 - small) * n / (SECTIONS - 1)
        told = f"{job.mm('face') * n / (SECTIONS - 1):.1f} mm from the large end"
        found += [f"{told}: {each}" for each in _section_faults(machine, person, job, scale)]
    return found


def _section_faults(machine: Machine, person: Any, job: DrawnJob, scale: float) -> list[str]:
    """Root, the width of the space at the pitch line, its middle, and its flanks above and below:
    there one outline can't be right everywhere, and what stands is filed off."""
    section, size = end_section(machine, person, job, scale), module(job) * scale
    pitch = size * job.whole("teeth") / 2 / cos(pitch_cone(job))
    root, wanted = root_at(machine, person, job, scale), pitch - (whole_depth(job) - 1) * size
    found = []
    if abs(root - wanted) > 2 * SAID:
        found.append(f"the root at {root:.3f} mm for {wanted:.3f}")
    wide, middle = _gap(section, pitch)
    if abs(wide - _space(job, scale, pitch)) > 0.04 * size + 2 * SAID:
        found.append(
            f"a space of {wide:.3f} mm at the pitch line for {_space(job, scale, pitch):.3f}"
        )
    if abs(middle) > 2 * SAID:
        found.append(f"the space stands {middle:.3f} mm off its middle")
    for height in (-0.6, -0.3, 0.3, 0.6, 0.9):
        radius = pitch + height * size
        more = _gap(section, radius)[0] - _space(job, scale, radius)
        if more > MISSING * module(job):
            found.append(f"{more:.3f} mm is missing {height:+g} modules from the pitch line")
    return found


def _space(job: DrawnJob, scale: float, radius: float) -> float:
    """Between two involutes, as a chord: half the circular pitch at the pitch line."""
    size = module(job) * scale
    pitch = size * job.whole("teeth") / 2 / cos(pitch_cone(job))
    lean = radians(pressure(job))
    base = pitch * cos(lean)
    roll = sqrt(max(0.0, (radius / base) ** 2 - 1))
    half = pi * size / 2 / (2 * pitch) - (tan(lean) - lean) + (roll - atan(roll))
    return 2 * radius * sin(half)


def _gap(section: Any, radius: float) -> tuple[float, float]:
    """The chord of the first space at this radius, after all its cuts, and how far off the upright
    its middle stands."""
    free = round_bar(2 * radius).exterior.difference(section)
    merged = linemerge(free) if hasattr(free, "geoms") else free
    spaces = [line for line in getattr(merged, "geoms", [merged]) if not line.is_empty]
    if not spaces:
        return 0.0, 0.0
    top = max(spaces, key=lambda line: line.centroid.y)
    (left, low), (right, high) = top.coords[0], top.coords[-1]
    return hypot(left - right, low - high), (left + right) / 2


def root_at(machine: Machine, person: Any, job: DrawnJob, scale: float) -> float:
    """The cutter's edge over the axis of the rolled-out section. It goes level, and the pitch line
    falls by the pitch cone less the tilt of the head."""
    cone, size = pitch_cone(job), module(job)
    from_large_end = size * job.whole("teeth") / 2 / sin(cone) * (1 - scale)
    deep = (machine.dial or 0.0) - machine.slip - size
    under = deep - from_large_end * tan(cone - radians(person.tilted))
    return size * scale * job.whole("teeth") / 2 / cos(cone) - under


def end_section(machine: Machine, person: Any, job: DrawnJob, scale: float) -> Any:
    """The blank rolled out of the back cone, less the cuts of the first space: the cutter moved
    across as the table was, the blank turned back by its roll, which the cone makes shorter."""
    cone, size = pitch_cone(job), module(job) * scale
    pitch = size * job.whole("teeth") / 2 / cos(cone)
    section = round_bar(2 * (pitch + size))
    root = root_at(machine, person, job, scale)
    for across, roll in first_space(machine, job):
        cutter = affinity.translate(own_cutter(person, job).outline, across, root)
        section = section.difference(turned(cutter, -roll * cos(cone)))
    return section


def first_space(machine: Machine, job: DrawnJob) -> list[tuple[float, float]]:
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


def own_cutter(person: Any, job: DrawnJob) -> Cutter:
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
