"""Gears drawn as their tooth spaces, seen along the axis."""

from __future__ import annotations

from math import cos, tau

from assistant.job.kinds.gear_teeth import half_thickness
from assistant.job.shapes import Drawing, Point, Shape, disc, polar, ring_anchors, turned

_STEPS = 8


def tooth_space(
    outside: float, root: float, module: float, teeth: float, pressure: float, shift: float = 0.0
) -> tuple[Point, ...]:
    """One tooth space at the top of the gear: involute flanks down to the base circle. `outside`
    and `root` are radii, mm, as `module`; `pressure` in radians, `shift` in modules."""
    base = module * teeth / 2 * cos(pressure)
    bottom = max(root, base * 1.0001)
    radii = [outside + (bottom - outside) * n / _STEPS for n in range(_STEPS + 1)]
    side = [
        (r, 0.5 / teeth - half_thickness(r, module, teeth, pressure, shift) / tau) for r in radii
    ]
    if root < bottom:
        side.append((root, side[-1][1]))
    right = [polar(r, at) for r, at in side]
    left = [polar(r, -at) for r, at in reversed(side)]
    top = [polar(outside, -side[0][1] + side[0][1] * n / 3) for n in range(1, 6)]
    return (*right, *left, *top)


def gear(
    outside: float, root: float, module: float, teeth: int, pressure: float, shift: float = 0.0
) -> Drawing:
    """All spaces, with the same figures; the first one at the top."""
    shape = tooth_space(outside, root, module, teeth, pressure, shift)
    places = [n / teeth for n in range(teeth)]
    spaces = [Shape(turned(shape, place), cut=n) for n, place in enumerate(places)]
    pitch = Shape(disc(module * teeth / 2).points, "witness")
    return Drawing((disc(outside), *spaces, pitch), ring_anchors(outside * 1.07, places))
