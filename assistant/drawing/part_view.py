"""The part itself: the cuts made, the next one marked, and where the spindle stands.

Drawn from the same shapes as its cuts, the first at the top, positions clockwise. A job that
tells no shape, or has more cuts than a screen can show, is a blank with a notch for each.
"""

from __future__ import annotations

from collections.abc import Iterator
from math import hypot

from assistant.drawing import notches
from assistant.drawing.ink import Mark, drawn_line, drawn_text, path
from assistant.engine.view import PartSight
from assistant.job.shapes import LATER, MADE, Drawing, Point, Shape
from assistant.words.language import say

SIZE = 94.0  # units from the middle to the edge of the drawing
REACH = 67.0  # of the part itself; its numbers and the arrow stand outside
_LOOKS = {"part": "blank", "hole": "bore", "witness": "axis", MADE: "was", LATER: "later"}


def base(sight: PartSight) -> list[Mark]:
    """What stays the same from cut to cut; `last` tells which cut completes a mark."""
    if sight.drawing is None:
        return notches.base(sight)
    return [*_axes(sight.drawing), *_shapes(sight.drawing)]


def overlay(sight: PartSight) -> list[Mark]:
    """The next cut with its number, and an arrow where the spindle stands."""
    if sight.drawing is None:
        return notches.overlay(sight)
    return [*_due(sight, sight.drawing), *_arrow(sight, sight.drawing)]


def _axes(drawing: Drawing) -> Iterator[Mark]:
    if not drawing.flat:
        yield drawn_line((-REACH - 8, 0), (REACH + 8, 0), "axis")
        yield drawn_line((0, -REACH - 8), (0, REACH + 8), "axis")


def _shapes(drawing: Drawing) -> Iterator[Mark]:
    """Blank first, then what other stages cut, then the cuts of this one."""
    order = ("part", "hole", LATER, MADE, "witness")
    place = Placement(drawing)
    for each in sorted(
        (s for s in drawing.shapes if s.cut is None), key=lambda s: order.index(s.look)
    ):
        yield _path(each, place, _LOOKS[each.look])
    for each in drawing.shapes:
        if each.cut is not None:
            yield _path(each, place, "cut", last=str(each.cut))


def _path(shape: Shape, place: Placement, look: str, **data: str) -> Mark:
    if not shape.closed:
        data["open"] = "yes"
    return path([place(point) for point in shape.points], look, shape.closed, **data)


class Placement:
    """Where a point of the drawing stands on the page: the part in the middle, to size."""

    def __init__(self, drawing: Drawing) -> None:
        points = [p for each in drawing.shapes for p in each.points] or [(1.0, 1.0)]
        self.middle = (0.0, 0.0)
        if drawing.flat:
            xs, ys = [x for x, _ in points], [y for _, y in points]
            self.middle = (min(xs) + max(xs)) / 2, (min(ys) + max(ys)) / 2
        self.scale = 1.0
        self.scale = REACH / (max(hypot(*self(point)) for point in points) or 1.0)

    def __call__(self, point: Point) -> Point:
        x, y = self.middle
        return (point[0] - x) * self.scale, (y - point[1]) * self.scale

    def outward(self, anchor: Point, flat: bool) -> Point:
        """The direction away from the part, as a unit vector on the page."""
        x, y = (0.0, -1.0) if flat else self(anchor)
        far = hypot(x, y) or 1.0
        return x / far, y / far


def _due(sight: PartSight, drawing: Drawing) -> Iterator[Mark]:
    """The next cut drawn thick, and its number outside the part."""
    if sight.due is None:
        return
    place = Placement(drawing)
    for each in drawing.shapes:
        if each.cut == sight.due:
            yield _path(each, place, "due", due=str(sight.due))
    far = 19 if sight.due == sight.place else 13  # beyond the arrow, where that is in the way
    x, y = _beside(place, drawing, sight.due, far)
    yield drawn_text((x, y + 6), str(sight.due + 1), "strong")


def _beside(place: Placement, drawing: Drawing, cut: int, far: float) -> Point:
    """A point outside the part, `far` units off it in the direction of a cut."""
    anchor = drawing.anchor(cut)
    u, v = place.outward(anchor, drawing.flat)
    if not drawing.flat:
        return u * (REACH + far), v * (REACH + far)
    x, y = place(anchor)
    return x + u * far, y + v * far


def _arrow(sight: PartSight, drawing: Drawing) -> Iterator[Mark]:
    """An arrowhead that points at the work where the spindle was last confirmed."""
    place = Placement(drawing)
    u, v = place.outward(drawing.anchor(sight.place), drawing.flat)
    tip = _beside(place, drawing, sight.place, 1)
    x, y = _beside(place, drawing, sight.place, 10)
    sides = [(x - v * 3.5, y + u * 3.5), (x + v * 3.5, y - u * 3.5)]
    yield path([tip, *sides], "cutter", role="cutter", place=str(sight.place))


def caption(sight: PartSight) -> str:
    """What the drawing shows, in words."""
    total = len(sight.angles)
    if sight.due is None:
        return say("Part: {done} of {total} cuts made, all cuts made", done=sight.done, total=total)
    return say(
        "Part: {done} of {total} cuts made, next cut {next}",
        done=sight.done, total=total, next=sight.due + 1,
    )  # fmt: skip
