"""Cutters by their true outline, in the section square to the work's axis.

An outline stands with its lowest point at height 0 and reaches up beyond any work. `left` and
`right` are the cutter's sides, which can be touched against the work.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import atan2, cos, hypot, pi, radians, sin, sqrt, tan

from shapely import affinity
from shapely.geometry import Polygon, box

TALL = 400.0  # mm: higher than any work that is cut here


@dataclass(frozen=True)
class Cutter:
    """`diameter` is 0 where it is not known: then it reaches no farther than its outline."""

    outline: Polygon
    left: float
    right: float
    diameter: float = 0.0

    @property
    def width(self) -> float:
        return self.right - self.left

    def mirrored(self) -> Cutter:
        turned = affinity.scale(self.outline, -1, 1, origin=(0, 0))
        return Cutter(turned, -self.right, -self.left, self.diameter)


def square(width: float, diameter: float = 0.0) -> Cutter:
    """Disc, side and face cutter, slitting saw or end mill: a flat as wide as it is."""
    half = width / 2
    return Cutter(box(-half, 0, half, TALL), -half, half, diameter)


def single_angle(angle: float, diameter: float = 0.0, nose: float = 0.0) -> Cutter:
    """Upright side at 0 on the right, the other leaning away to the left by `angle` degrees."""
    high = 60.0
    lean = high * tan(radians(min(angle, 89.999)))
    points = [(0, 0), (0, TALL), (-lean, TALL), (-lean, high)]
    return Cutter(_rounded(Polygon(points), nose), -lean, 0, diameter)


def _rounded(sharp: Polygon, nose: float) -> Polygon:
    """Its point ground round, and down again so that the lowest place is at height 0."""
    if not nose:
        return sharp
    shape = sharp.buffer(-nose, join_style="mitre").buffer(nose, quad_segs=240)
    return affinity.translate(shape, 0, -shape.bounds[1])


def double_angle(angle: float, face: float, nose: float = 0.0) -> Cutter:
    """Its lowest point at 0; the flank that looks to the right leans `face` degrees from upright,
    the other one what is left of the whole angle."""
    high = 60.0
    right = high * tan(radians(face))
    left = -high * tan(radians(min(angle - face, 89.999)))
    points = [(0, 0), (right, high), (right, TALL), (left, TALL), (left, high)]
    shape = _rounded(Polygon(points), nose)
    lowest = min(shape.exterior.coords, key=lambda point: point[1])[0]
    return Cutter(affinity.translate(shape, -lowest, 0), left - lowest, right - lowest)


def round_nosed(width: float) -> Cutter:
    """A convex cutter: half a circle across its width."""
    half = width / 2
    bow = [(half * sin(a), half - half * cos(a)) for a in
           (pi / 2 - pi * n / 60 for n in range(61))]  # fmt: skip
    return Cutter(Polygon([*bow, (-half, TALL), (half, TALL)]), -half, half)


def concave(radius: float, width: float) -> Cutter:
    """A hollow cutter that leaves a round of this radius; its lowest points are its corners."""
    half = width / 2
    top = sqrt(radius**2 - half**2)
    bow = [(x, sqrt(radius**2 - x**2) - top) for x in (half - width * n / 60 for n in range(61))]
    return Cutter(Polygon([*bow, (-half, TALL), (half, TALL)]), -half, half)


def involute(teeth: int, module: float, pressure: float, dedendum: float, width: float) -> Cutter:
    """The space of a gear of so many teeth, as a form cutter: involute flanks (by their equation).

    A cutter of a set has the form of the smallest number of teeth that it is for.
    """
    pitch = module * teeth / 2
    base, root = pitch * cos(radians(pressure)), pitch - dedendum
    involute_at_pitch = tan(radians(pressure)) - radians(pressure)
    half_space = pi / (2 * teeth)
    right = []
    top = pitch + 3 * module
    for n in range(81):
        radius = max(root, base) + (top - max(root, base)) * n / 80
        roll = sqrt(max(0.0, (radius / base) ** 2 - 1))
        angle = half_space - involute_at_pitch + (roll - atan2(roll, 1))
        right.append((radius * sin(angle), radius * cos(angle) - root))
    # Under the base circle straight down to a flat tip, which touches the root circle.
    foot = right[0]
    half = width / 2
    right = [each for each in right if each[0] < half]
    down = [(0.0, 0.0), (foot[0] * root / hypot(foot[0], foot[1] + root), 0.0)]
    whole = [*down, *right, (half, right[-1][1]), (half, TALL)]
    shape = Polygon([*whole, *[(-x, y) for x, y in reversed(whole[1:])]])
    return Cutter(shape.buffer(0), -half, half)


def point(width: float = 0.1) -> Cutter:
    """The sharp point that draws a line."""
    return Cutter(Polygon([(0, 0), (width / 2, 1), (-width / 2, 1)]), -width / 2, width / 2)
