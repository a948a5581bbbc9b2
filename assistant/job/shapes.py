"""A part as shapes, from the same numbers as its cuts: plain data, with its geometry.

The first cut is at the top; positions run clockwise. Lengths in mm, y upwards.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass, replace
from math import atan2, cos, hypot, pi, sin, tau
from typing import Any

Point = tuple[float, float]

MADE, LATER = "made", "later"  # cuts of the stages before this one, and of those after it
_PLACES = 4  # of decimals, in mm, that a drawing is kept with


@dataclass(frozen=True, slots=True)
class Shape:
    """A closed polygon or an open line; `cut` is the cut (from 0) that makes it, if any.

    `look` is "part", "hole" or "witness" for shapes that no cut makes, `MADE` or `LATER` for
    those of other stages.
    """

    points: tuple[Point, ...]
    look: str = "part"
    cut: int | None = None
    closed: bool = True


@dataclass(frozen=True, slots=True)
class Drawing:
    """Shapes, the later ones on top. `anchors` are where cut numbers and stamps are written.

    `sized` is False where the job tells nothing of the part's size; `flat` is True for a part
    that is not seen along an axis.
    """

    shapes: tuple[Shape, ...] = ()
    anchors: tuple[Point, ...] = ()
    sized: bool = True
    flat: bool = False

    def anchor(self, cut: int) -> Point:
        """Where the number of a cut stands; cuts of later rounds share those of the first."""
        return self.anchors[cut % len(self.anchors)]

    def to_record(self) -> dict[str, Any]:
        """JSON-ready data."""
        return {
            "shapes": [
                {
                    "look": each.look,
                    "cut": each.cut,
                    "closed": each.closed,
                    "points": [list(point) for point in each.points],
                }
                for each in self.shapes
            ],
            "anchors": [list(point) for point in self.anchors],
            "flat": self.flat,
        }

    @classmethod
    def from_record(cls, record: dict[str, Any]) -> Drawing:
        """The drawing that `to_record` wrote. Raises KeyError, TypeError or ValueError."""
        shapes = tuple(
            Shape(_points(each["points"]), each["look"], each["cut"], each["closed"])
            for each in record["shapes"]
        )
        return cls(shapes, _points(record["anchors"]), flat=record["flat"])


def _rounded(points: Iterable[Point]) -> tuple[Point, ...]:
    """No finer than a drawing can show, so that it is read back as it was written."""
    return tuple((round(x, _PLACES) + 0.0, round(y, _PLACES) + 0.0) for x, y in points)


def _points(found: Iterable[Sequence[float]]) -> tuple[Point, ...]:
    return tuple((float(x), float(y)) for x, y in found)


# --- a whole job ------------------------------------------------------------------------


def one_part(drawings: Sequence[tuple[Drawing, int]]) -> Drawing:
    """Several rings on one part, each with its count of cuts, which are counted on.

    The largest round is the part. A ring whose size the job does not tell is drawn inside the
    others; flat parts, which share no axis with the rest, lie below one another.
    """
    shapes: list[Shape] = []
    anchors: list[Point] = []
    first = 0
    for drawing, cuts in _fitted(drawings):
        shapes += [_counted_on(each, first) for each in drawing.shapes]
        anchors += [drawing.anchor(cut) for cut in range(cuts)]
        first += cuts
    flat = any(drawing.flat for drawing, _ in drawings)
    return Drawing(tuple(_one_round(shapes)), tuple(anchors), flat=flat)


def _counted_on(shape: Shape, first: int) -> Shape:
    return shape if shape.cut is None else replace(shape, cut=shape.cut + first)


def _fitted(drawings: Sequence[tuple[Drawing, int]]) -> Iterable[tuple[Drawing, int]]:
    known = [size(drawing) for drawing, _ in drawings if drawing.sized]
    inside = max(known, default=max(map(size, (d for d, _ in drawings)), default=1.0) / 0.75)
    below = 0.0
    for drawing, cuts in drawings:
        if drawing.flat and len(drawings) > 1:
            below -= 2.5 * inside
            yield _changed(drawing, 1.0, below), cuts
        elif not drawing.sized:
            inside *= 0.75
            yield _changed(drawing, inside / size(drawing), 0.0), cuts
        else:
            yield drawing, cuts


def _changed(drawing: Drawing, scale: float, up: float) -> Drawing:
    def moved(points: tuple[Point, ...]) -> tuple[Point, ...]:
        return tuple((x * scale, y * scale + up) for x, y in points)

    shapes = tuple(replace(each, points=moved(each.points)) for each in drawing.shapes)
    return replace(drawing, shapes=shapes, anchors=moved(drawing.anchors))


def _one_round(shapes: Sequence[Shape]) -> Iterable[Shape]:
    """Rounds inside the largest are drawn as thin witness lines: no face hides another."""
    rounds = [each for each in shapes if each.look == "part" and each.cut is None]
    largest = max(rounds, key=_reach, default=None)
    for each in shapes:
        inner = each.look == "part" and each.cut is None and each is not largest
        flat = inner and min(y for _, y in each.points) * max(y for _, y in each.points) > 0
        yield replace(each, look="witness") if inner and not flat else each


def size(drawing: Drawing) -> float:
    """How far the part itself reaches from the axis, mm; over 0."""
    solid = [_reach(each) for each in drawing.shapes if each.look == "part"]
    return max(solid, default=0.0) or 1.0


def _reach(shape: Shape) -> float:
    return max((hypot(x, y) for x, y in shape.points), default=0.0)


def for_stage(drawing: Drawing, order: Sequence[int], made: Collection[int]) -> Drawing:
    """The drawing as one stage of the job sees it: its cuts numbered from 0 in their order.

    `order` are the stage's cuts by their numbers in the whole drawing, `made` those of the
    stages before it.
    """
    own = {cut: n for n, cut in enumerate(order)}
    shapes = []
    for each in drawing.shapes:
        if each.cut is None or each.cut in own:
            cut = None if each.cut is None else own[each.cut]
            shapes.append(replace(each, cut=cut, points=_rounded(each.points)))
        else:
            look = MADE if each.cut in made else LATER
            shapes.append(replace(each, cut=None, look=look, points=_rounded(each.points)))
    anchors = _rounded(drawing.anchor(cut) for cut in order)
    return replace(drawing, shapes=tuple(shapes), anchors=anchors, sized=True)


# --- geometry ---------------------------------------------------------------------------


def polar(radius: float, turns: float) -> Point:
    """The point at this radius, `turns` clockwise from the top."""
    return radius * sin(tau * turns), radius * cos(tau * turns)


def turned(points: Iterable[Point], turns: float) -> tuple[Point, ...]:
    """The points turned clockwise about the axis by so many turns."""
    c, s = cos(tau * turns), sin(tau * turns)
    return tuple((x * c + y * s, y * c - x * s) for x, y in points)


def arc_points(radius: float, start: float, end: float, steps: int = 24) -> tuple[Point, ...]:
    """Points along an arc, from `start` to `end` in turns."""
    return tuple(polar(radius, start + (end - start) * n / steps) for n in range(steps + 1))


def disc(radius: float, look: str = "part") -> Shape:
    """The whole round of that radius, mm."""
    return Shape(arc_points(radius, 0, 1, 180)[:-1], look)


def turns_at(radius: float, offset: float) -> float:
    """How many turns from the top a line `offset` mm beside the axis meets the circle."""
    return atan2(offset, (radius * radius - offset * offset) ** 0.5) / tau


def ring_anchors(radius: float, places: Iterable[float]) -> tuple[Point, ...]:
    """Where the numbers stand round a part: one at each place, which is in turns."""
    return tuple(polar(radius, place) for place in places)


def slot_shape(radius: float, near: float, far: float, floor: float) -> tuple[Point, ...]:
    """A parallel-sided slot from `near` to `far` beside the axis, its floor `floor` above it,
    mm."""
    a, b = turns_at(radius, near), turns_at(radius, far)
    return ((near, floor), *arc_points(radius, a, b, 12), (far, floor))


def segment(radius: float, middle: float, to_flat: float) -> tuple[Point, ...]:
    """What a flat takes off a round, mm: the piece between the chord and the arc. `middle` is the
    flat's own, in turns from the top; `to_flat` how far from the axis it lies."""
    half = _half_turn(radius, to_flat)
    return arc_points(radius, middle - half, middle + half)


def _half_turn(radius: float, to_flat: float) -> float:
    return atan2((radius * radius - to_flat * to_flat) ** 0.5, to_flat) / (2 * pi)
