"""Sizes taken off the finished part, all round, against the limits that its job states.

Where a size has no limits nothing is judged here: the section over the drawing is enough then.
"""

from __future__ import annotations

from collections.abc import Callable
from math import acos, cos, pi, radians, sin, sqrt, tan
from typing import Any

from shapely.geometry import LineString, box

from tests.machinist import drawings, gauges, gears
from tests.machinist.drawings import DrawnJob
from tests.machinist.machine import TALL, turned

_FACETS = 0.0005  # mm: what the corners of a drawn circle are off


def faults(section: Any, job: DrawnJob, *, measured: bool) -> list[str]:
    """`measured`: sizes were taken in the session. A cutter of a set is true for the fewest teeth
    of its range alone: what it does to a span of others only measuring can tell. The depth of a
    shifted gear is reckoned for just that form, so its span has to come out by the dial alone."""
    take = _TAKEN.get(job.kind)
    shifted = job.kind == "spur-gear" and bool(gears.shift(job))
    true = shifted or job.kind != "spur-gear" or job.whole("teeth") in gears.TRUE
    if not measured and not true:
        return []
    return take(section, job) if take else []


def _outside(what: str, sizes: list[float], limits: tuple[float, float]) -> list[str]:
    low, high = limits
    return [
        f"{what} {n}: {size:.4f} mm, and the drawing allows {low:.4f} to {high:.4f}"
        for n, size in enumerate(sizes, 1)
        if not low - _FACETS <= size <= high + _FACETS
    ]


def _stated(job: DrawnJob, key: str) -> tuple[float, float] | None:
    low, high = job.limits(key)
    return (low, high) if low < high else None


def _flats(section: Any, job: DrawnJob) -> list[str]:
    """Flat to flat; an odd number has none opposite, and counts twice from the axis."""
    limits, sides = _stated(job, "across_flats"), job.whole("sides")
    if limits is None:
        return []
    uprights = [_upright(section, n / sides) for n in range(sides)]
    sizes = [2 * high if sides % 2 else high - low for low, high in uprights]
    return _outside("across flats", sizes, limits)


def _keyways(section: Any, job: DrawnJob) -> list[str]:
    limits = _stated(job, "depth")
    if limits is None:
        return []
    top = job.mm("shaft") / 2
    if job.works[0].get("depth_from") == "side":
        top = sqrt(top**2 - (job.mm("width") / 2) ** 2)
    places = drawings.keyway_places(job)
    # Seen from either end: where the right hand is taken, all of them are slots.
    either = [[top - _upright(section, way * n)[1] for n in places] for way in (1, -1)]
    return _outside("depth of keyway", max(either, key=min), limits)


def _splines(section: Any, job: DrawnJob) -> list[str]:
    """Half-way up each spline."""
    limits, count = _stated(job, "width"), job.whole("splines")
    if limits is None:
        return []
    height = (job.mm("outside") + job.mm("root")) / 4
    sizes = []
    for n in range(count):
        level = turned(section, n / count).intersection(box(-TALL, height, TALL, height + 1e-6))
        pieces = getattr(level, "geoms", [level])
        low, _, high, _ = next(p.bounds for p in pieces if p.bounds[0] < 0 < p.bounds[2])
        sizes.append(high - low)
    return _outside("width of spline", sizes, limits)


def _spans(section: Any, job: DrawnJob) -> list[str]:
    """Over k teeth from each space on: m cos a (pi (k - 1/2) + z inv a) + 2 x m sin a and the
    deviations (base tangent length; Elements of Metric Gear Technology, section 10)."""
    moved = gears.shift(job)
    allowed = gears.span_deviations(job) or ((-0.02, 0.02) if moved else None)
    if allowed is None:
        return []
    size, teeth, lean = gears.module(job), job.whole("teeth"), radians(gears.pressure(job))
    # So many that the jaws touch a shift above the pitch line: cos = base / (pitch + shift).
    up = acos(teeth * cos(lean) / (teeth + 2 * moved))
    reach = tan(up) - (tan(lean) - lean) - 2 * moved * tan(lean) / teeth
    over = max(2, round(teeth * reach / pi + 0.5))
    exact = size * cos(lean) * (pi * (over - 0.5) + teeth * (tan(lean) - lean))
    exact += 2 * moved * size * sin(lean)
    low, high = allowed
    root = size * (teeth / 2 + gears.addendum(job) + moved - gears.whole_depth(job))
    # The floor of a cutter that is not made for the shift lies a little higher, and is flat.
    floor = root + 0.05 + (abs(moved) / 3 + 0.05) * size * bool(moved)
    sizes = [
        gauges.over_teeth(section, (n + over / 2) / teeth, over / teeth, floor)
        for n in range(teeth)
    ]
    return _outside(f"over {over} teeth from space", sizes, (exact + low, exact + high))


def _upright(section: Any, place: float) -> tuple[float, float]:
    """Along the upright through the axis, this place of the work at the top."""
    met = turned(section, place).intersection(LineString([(0, -TALL), (0, TALL)]))
    _, low, _, high = met.bounds
    return low, high


_TAKEN: dict[str, Callable[[Any, DrawnJob], list[str]]] = {
    "polygon": _flats,
    "keyways": _keyways,
    "splines": _splines,
    "spur-gear": _spans,
}
