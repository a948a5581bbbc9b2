"""The drawing of each part, reckoned from the job file and published definitions alone.

A `Drawing` says what must be there (`needed`), where nothing may stand (outside `allowed`), and
how far both may be off. First cut at the top, unless the kind's own note says otherwise.
"""

from __future__ import annotations

import tomllib
from dataclasses import dataclass, field, replace
from math import cos, pi, radians, sin, sqrt, tan
from pathlib import Path
from typing import Any

from shapely import affinity
from shapely.geometry import Polygon, box
from shapely.ops import unary_union

from tests.machinist.figures import degrees_in_file, limits_in_file
from tests.machinist.machine import round_bar, turned

# mm: a depth and an offset are each said to a hundredth, so each is off by half of one.
SAID = 0.012


@dataclass(frozen=True)
class Drawing:
    needed: Any
    allowed: Any
    proud: float = SAID
    short: float = SAID

    def mirrored(self) -> Drawing:
        def flip(shape: Any) -> Any:
            return affinity.scale(shape, -1, 1, origin=(0, 0))

        return Drawing(flip(self.needed), flip(self.allowed), self.proud, self.short)


@dataclass
class DrawnJob:
    """A job file as a drawing office reads it."""

    path: Path
    data: dict[str, Any] = field(init=False)

    def __post_init__(self) -> None:
        self.data = tomllib.loads(self.path.read_text("utf-8"))

    @property
    def works(self) -> list[dict[str, Any]]:
        return [self.data["work"]] if "work" in self.data else list(self.data["ring"])

    @property
    def kind(self) -> str:
        return str(self.works[0]["kind"])

    def whole(self, key: str) -> int:
        return int(self.works[0][key])

    def mm(self, key: str, table: str = "work") -> float:
        """The size; where limits are stated, their middle."""
        low, high = limits_in_file(self._table(table)[key])
        return (low + high) / 2

    def limits(self, key: str) -> tuple[float, float]:
        """The least and the greatest size that are good, mm; without limits the size twice."""
        return limits_in_file(self.works[0][key])

    def has(self, key: str, table: str = "work") -> bool:
        return key in self._table(table)

    def _table(self, name: str) -> dict[str, Any]:
        return self.works[0] if name == "work" else self.data.get(name, {})

    def degrees(self, key: str, default: float = 0.0) -> float:
        return degrees_in_file(self.works[0].get(key, default))


def round_and_round(shape: Polygon, count: int) -> Polygon:
    return unary_union([turned(shape, n / count) for n in range(count)])


def polygon(job: DrawnJob) -> Drawing:
    """Flats at AF/2 from the axis, over what the bar has room for (geometry)."""
    sides, radius = job.whole("sides"), job.mm("bar") / 2

    def cut(flat: float) -> Polygon:
        shape = round_bar(2 * radius)
        for n in range(sides):
            beyond = box(-2 * radius, flat, 2 * radius, 3 * radius)
            shape = shape.difference(turned(beyond, n / sides))
        return shape

    return _between(*(cut(size / 2) for size in job.limits("across_flats")))


def _between(least: Polygon, most: Polygon) -> Drawing:
    """Of a part that may be as small as the one and as large as the other."""
    return Drawing(least, most)


def splines(job: DrawnJob) -> Drawing:
    """The hub: a bore of the root diameter with a slot as wide as a spline for each, to the
    outside diameter. The shaft: every spline whole, on a core of the root diameter. (The fit of
    straight-sided splines centred on the inner diameter, ISO 14; geometry.)"""
    count, outer, root = job.whole("splines"), job.mm("outside") / 2, job.mm("root") / 2

    def hub(width: float) -> Polygon:
        spline = box(-width / 2, 0, width / 2, 2 * outer)
        bars = round_and_round(spline, count).intersection(round_bar(2 * outer))
        return unary_union([bars, round_bar(2 * root)])

    return replace(_between(*(hub(width) for width in job.limits("width"))), proud=0.05)


def keyways(job: DrawnJob) -> Drawing:
    """Slots as wide as the key, with a floor at the depth below the crown or below the slot's own
    edge, as it is given (geometry)."""
    half, radius = job.mm("width") / 2, job.mm("shaft") / 2
    from_side = job.data["work"].get("depth_from", "crown") == "side"
    edge = sqrt(radius**2 - half**2) if from_side else radius
    shallow, deep = job.limits("depth")
    bar = round_bar(2 * radius)
    slots = [box(-half, edge - each, half, 2 * radius) for each in (deep, shallow)]
    places = keyway_places(job)
    return _between(
        *(bar.difference(unary_union([turned(slot, each) for each in places])) for slot in slots)
    )


def keyway_places(job: DrawnJob) -> list[float]:
    """In turns, clockwise on the free end; equal ones where the job lists none."""
    work = job.works[0]
    if "angles" in work:
        return [degrees_in_file(each) / 360 for each in work["angles"]]
    return [n / work["keyways"] for n in range(work["keyways"])]


def ratchet(job: DrawnJob) -> Drawing:
    """A face as deep as the depth, leaning back from the radius through its point by the rake, and
    a back that stands off it by the cutter's angle. The face is upright in this drawing, the space
    on its left. (Definition of the rake of a tooth.)"""
    radius, rake = job.mm("diameter") / 2, radians(job.degrees("rake"))
    x, y = radius * sin(rake), radius * cos(rake)
    foot = y - job.mm("depth")
    lean = radians(job.degrees("cutter_angle"))
    far = 3 * radius
    if lean > radians(89.9):
        back = [(x - far, foot), (x - far, far)]
    else:
        back = [(x - far * sin(lean), foot + far * cos(lean)), (x - far, far)]
    space = Polygon([(x, foot), (x, far), *reversed(back)])
    shape = round_bar(2 * radius).difference(round_and_round(space.buffer(0), job.whole("teeth")))
    return Drawing(shape, shape)


def clutch(job: DrawnJob) -> Drawing:
    """Seen on the end: flanks in planes through the axis, a space as much wider than a tooth as
    the clearance. The first flank stands at the top, its space on the left. An island that the
    cutter is too narrow to reach stands in each space."""
    ring = _clutch_ring(job)
    spaces = round_and_round(_sector(_clutch_space(job), 3 * job.mm("outside")), job.whole("teeth"))
    shape = unary_union([ring.difference(spaces), islands(job)])
    return Drawing(shape, shape)


def islands(job: DrawnJob) -> Any:
    """What a cutter of this width leaves of each space, set with an edge in the plane of either
    flank (geometry). Odd teeth with clearance are cut again, turned on by half of it."""
    teeth, wide, space = job.whole("teeth"), job.mm("cutter_width"), _clutch_space(job)
    reach = 3 * job.mm("outside")
    again = job.degrees("clearance") / 2 if teeth % 2 else 0.0
    cut = [
        *(turned(box(-wide, 0, 0, reach), -at / 360) for at in (0.0, again)),
        *(turned(box(0, 0, wide, reach), -(space - at) / 360) for at in (0.0, again)),
    ]
    one = _sector(space, reach).difference(unary_union(cut))
    return round_and_round(one, teeth).intersection(_clutch_ring(job))


def _clutch_ring(job: DrawnJob) -> Polygon:
    return round_bar(job.mm("outside")).difference(round_bar(job.mm("bore")))


def _clutch_space(job: DrawnJob) -> float:
    return 180 / job.whole("teeth") + job.degrees("clearance") / 2


def _sector(angle: float, reach: float) -> Polygon:
    """From the top to the left by so many degrees."""
    steps = [radians(angle * n / 24) for n in range(25)]
    return Polygon([(0, 0), *[(-reach * sin(a), reach * cos(a)) for a in steps]])


__all__ = ["Drawing", "DrawnJob", "pi", "tan"]
