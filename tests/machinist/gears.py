"""Gears that were cut: teeth at the pitch line, depth, and whether the mate's basic rack rolls
through without touching; and the form cutters of a set.

Definitions (published standards of the basic rack, ISO 53, and of the modules; from memory where
a book was not at hand): pitch diameter m z, addendum m, tooth and space alike at the pitch line.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from math import atan, atan2, cos, degrees, hypot, pi, radians, sin, tan
from typing import Any

from shapely import affinity
from shapely.geometry import LineString, Polygon

from tests.machinist.cutters import Cutter, involute
from tests.machinist.drawings import SAID, DrawnJob
from tests.machinist.figures import MM, deviations_in_file
from tests.machinist.judging import farthest
from tests.machinist.machine import round_bar, turned

# The smallest number of teeth of each cutter of a set by diametral pitch (customary sets of eight);
# a set by module is numbered the other way round.
SMALLEST = {1: 135, 2: 55, 3: 35, 4: 26, 5: 21, 6: 17, 7: 14, 8: 12}
TRUE = set(SMALLEST.values())
LARGEST = {1: 10_000, 2: 134, 3: 54, 4: 34, 5: 25, 6: 20, 7: 16, 8: 13}


def module(job: DrawnJob) -> float:
    if job.has("module"):
        return float(job.works[0]["module"])
    return 25.4 / float(job.works[0]["diametral_pitch"])


def pressure(job: DrawnJob) -> float:
    return job.degrees("pressure_angle", 20.0)


def whole_depth(job: DrawnJob) -> float:
    """In modules: what the cutter is stamped with; 2.157 by diametral pitch, 2.25 by module. Stub
    teeth that say nothing are cut with a cutter of full-depth ones."""
    customary = (2.25 if job.has("module") else 2.157) - 1 + addendum(job)
    return float(job.works[0].get("whole_depth", customary))


def addendum(job: DrawnJob) -> float:
    """In modules, without a shift."""
    return float(job.works[0].get("addendum", 1))


def shift(job: DrawnJob) -> float:
    """Of the profile, in modules, outward over 0."""
    return float(job.works[0].get("shift", 0))


def teeth_at_the_cutter(job: DrawnJob) -> float:
    """That the cutter is chosen for: N, N / cos^3 of a helix, N / cos of a pitch cone
    (formulae of every handbook on milling gears)."""
    teeth = job.whole("teeth")
    if job.kind == "helical-gear":
        return float(teeth / cos(radians(job.degrees("helix_angle"))) ** 3)
    if job.kind == "bevel-gear":
        return teeth / cos(pitch_cone(job))
    return float(teeth)


def pitch_cone(job: DrawnJob) -> float:
    """tan = sin(shafts) / (mate / teeth + cos(shafts)), in radians."""
    shafts = radians(job.degrees("shaft_angle", 90.0))
    return atan2(sin(shafts), job.whole("mate") / job.whole("teeth") + cos(shafts))


def form(job: DrawnJob, number: int | None) -> Cutter:
    """The cutter of this number, made for the smallest number of its teeth; None: made for this
    very gear."""
    teeth = teeth_at_the_cutter(job) if number is None else SMALLEST[number]
    size = module(job)
    width = job.mm("width", "cutter") if job.has("width", "cutter") else 4 * size
    reach = (whole_depth(job) - addendum(job)) * size
    made = involute(round(teeth), size, pressure(job), reach, width)
    known = job.has("diameter", "cutter")
    return replace(made, diameter=job.mm("diameter", "cutter")) if known else made


def serves(job: DrawnJob, number: int) -> bool:
    """The range holds the whole number that is nearest, whose outline is nearest (geometry). No
    cutter has the outline of a shifted gear: its flanks are judged as they come out."""
    return (
        bool(shift(job))
        or SMALLEST[number] - 0.5 <= teeth_at_the_cutter(job) < LARGEST[number] + 0.5
    )


def stretched(cutter: Cutter, helix: float) -> Cutter:
    """As the section square to the axis sees a slot cut along a helix."""
    wide = 1 / cos(radians(helix))
    shape = affinity.scale(cutter.outline, wide, 1, origin=(0, 0))
    return Cutter(shape, cutter.left * wide, cutter.right * wide)


# --- the gear that was cut --------------------------------------------------------------


def faults(section: Any, job: DrawnJob, told: Told | None = None) -> list[str]:
    """In the section square to the axis. `told`: what a shift is said to leave off."""
    helix = job.degrees("helix_angle")
    size, teeth = module(job), job.whole("teeth")
    across = size / cos(radians(helix))
    lean = degrees(atan(tan(radians(pressure(job))) / cos(radians(helix))))
    pitch = across * teeth / 2
    moved, tip = shift(job) * size, addendum(job) * size
    told = replace(told or Told(), moved=moved)
    deep = pitch + moved + tip - whole_depth(job) * size
    found = like_a_gear(section, teeth, pitch, (across, size), deep, thinner(job), told)
    if teeth >= 2 * (addendum(job) - shift(job)) / sin(radians(lean)) ** 2:
        # Of a shifted gear the slot is no true section of any cutter.
        found += rolls(section, (pitch, across, lean, tip), (0.1 if moved else 0.04) * size, moved)
    return found


@dataclass(frozen=True)
class Told:
    """Of a shift that a cutter of plain teeth gives: a flank off its form, and the floor, mm."""

    flank: float = 0.0
    floor: float = 0.0
    moved: float = 0.0  # the shift itself

    @classmethod
    def of(cls, printed: str) -> Told:
        """As `job check` prints it."""
        found = [
            re.search(rf"{name} +([\d.]+) (mm|in)", printed)
            for name in ("flanks off at most", "floor")
        ]
        return cls(*(float(each[1]) * MM[each[2]] if each else 0.0 for each in found))


@dataclass(frozen=True)
class Thinner:
    """By how much, mm, at the pitch line, and how much deeper a cutter goes for it."""

    least: float = 0.0
    most: float = 0.0
    deeper: float = 0.0


def thinner(job: DrawnJob) -> Thinner:
    """A span that is less by d has teeth thinner by d / cos a at the pitch line (definition of the
    base tangent). There a flank leans by a + 90/z from the way on which the cutter sinks
    (geometry)."""
    allowed = span_deviations(job)
    if allowed is None:
        return Thinner()
    low, high = allowed
    lean = radians(pressure(job))
    sunk = -low / (2 * sin(lean + pi / 2 / job.whole("teeth")))
    return Thinner(-high / cos(lean), -low / cos(lean), max(0.0, sunk))


def span_deviations(job: DrawnJob) -> tuple[float, float] | None:
    """What the span may be off, mm: as the job has it, or by the limits of the tooth's thickness
    times cos a (ISO 21771, base tangent length; from memory)."""
    for key, share in (("span_limits", 1.0), ("thickness_limits", cos(radians(pressure(job))))):
        if job.has(key):
            low, high = deviations_in_file(job.works[0][key])
            return low * share, high * share
    return None


def like_a_gear(
    section: Any, teeth: int, pitch: float, sizes: tuple[float, float], root: float,
    thin: Thinner | None = None, told: Told | None = None,
) -> list[str]:  # fmt: skip
    """Teeth counted and gauged at the pitch line, the root at its depth. `sizes`: the module round
    about and the one square to the tooth; `thin`: what the drawing allows them less; `told`: of a
    shift of the profile, which makes teeth of 20 degrees 2 x tan 20 thicker (definition); no
    more may be off than is told, nor a flank by more than a tenth of the module."""
    across, size = sizes
    thin, told = thin or Thinner(), told or Told()
    moved = told.moved
    found = []
    arcs = _arcs(section, pitch)
    if len(arcs) != teeth:
        return [f"{len(arcs)} teeth for {teeth}"]
    thick = 2 * pitch * sin((pi * across / 2 + 2 * moved * tan(radians(20))) / (2 * pitch))
    # The form of a range's smallest number differs by so much at the pitch line; a shifted tooth
    # is true where its span touches it, not there, and both its flanks lean.
    most = 0.03 * size + SAID + (2 * min(told.flank, 0.1 * size) if moved else 0.0)
    least, largest = thick - thin.most - most, thick - thin.least + most
    worst = max(arcs, key=lambda arc: abs(arc - (least + largest) / 2))
    if not least <= worst <= largest:
        found.append(f"a tooth {worst:.3f} mm thick at the pitch line for {thick:.3f}")
    lowest = round_bar(4 * pitch).difference(section).distance(LineString([(0, 0), (0, 1e-6)]))
    off = 2 * SAID + (min(told.floor, 0.25 * size) if moved else 0.0)
    if not root - thin.deeper - off <= lowest <= root + off:
        found.append(f"the root at a radius of {lowest:.3f} mm for {root:.3f}")
    return found


def _arcs(section: Any, radius: float) -> list[float]:
    """Chords of what stands on the circle of this radius."""
    from shapely.ops import linemerge

    met = section.intersection(round_bar(2 * radius).exterior)
    if met.is_empty:
        return []
    merged = linemerge(met) if hasattr(met, "geoms") else met
    return [hypot(line.coords[0][0] - line.coords[-1][0], line.coords[0][1] - line.coords[-1][1])
            for line in getattr(merged, "geoms", [merged])]  # fmt: skip


def rolls(
    section: Any, rack: tuple[float, float, float, float], most: float, moved: float = 0.0
) -> list[str]:
    """The mate as a rack, a tooth of which rolls through a space without biting into a flank; on
    a shifted gear its middle line rolls so far outside of the pitch circle, which still carries it.
    """
    pitch, across, lean, addendum = rack
    half = pi * across / 4
    slope = tan(radians(lean))
    low, high = pitch + moved - addendum, pitch + moved + addendum
    tooth = Polygon(
        [(-half + addendum * slope, low), (half - addendum * slope, low),
         (half + addendum * slope, high), (-half - addendum * slope, high)]
    )  # fmt: skip
    worst = 0.0
    for n in range(-20, 21):
        roll = n / 20 * 1.5 * pi * across / pitch / 2
        rolled = affinity.translate(tooth, pitch * roll, 0)
        into = section.intersection(turned(rolled, -roll / (2 * pi)))
        if not into.is_empty:
            far, _ = farthest(into, round_bar(0.01).union(_away(section)))
            worst = max(worst, far)
    return [f"the mate's tooth bites {worst:.3f} mm in"] if worst > most else []


def _away(section: Any) -> Any:
    x, y, far, high = section.bounds
    big = max(-x, -y, far, high) * 2
    return round_bar(2 * big).difference(section)
