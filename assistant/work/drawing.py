"""The drawing of a part, as SVG, from the same numbers as its cuts.

The first cut is at the top; positions run clockwise. Lengths in mm, y upwards.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from html import escape
from itertools import pairwise
from math import atan2, cos, dist, pi, sin, tau

Point = tuple[float, float]

_WIDTH = 480  # pixels
_STYLE = """
.part { fill: #e9e4d8; stroke: #4b4438; }
.hole { fill: #ffffff; stroke: #4b4438; }
.witness { fill: none; stroke: #8a8273; stroke-dasharray: 4 3; }
.open { fill: #ffffff; stroke: #6d6555; }
.done { fill: #9fc3a1; stroke: #35613a; }
.now { fill: #f2a13c; stroke: #7a3d00; stroke-width: 2.5; }
text { font-family: sans-serif; fill: #222222; text-anchor: middle; dominant-baseline: middle; }
"""


@dataclass(frozen=True, slots=True)
class Shape:
    """A closed polygon or an open line; `cut` is the cut (from 0) that makes it, if any."""

    points: tuple[Point, ...]
    look: str = "part"  # part | hole | witness, for shapes that no cut makes
    cut: int | None = None
    closed: bool = True


@dataclass(frozen=True, slots=True)
class Drawing:
    """Shapes, the later ones on top. `anchors` are where cut numbers and stamps are written."""

    shapes: tuple[Shape, ...] = ()
    anchors: tuple[Point, ...] = ()


# --- geometry ---------------------------------------------------------------------------


def polar(radius: float, turns: float) -> Point:
    """The point at this radius, `turns` clockwise from the top."""
    return radius * sin(tau * turns), radius * cos(tau * turns)


def turned(points: Iterable[Point], turns: float) -> tuple[Point, ...]:
    """The points turned clockwise about the axis."""
    c, s = cos(tau * turns), sin(tau * turns)
    return tuple((x * c + y * s, y * c - x * s) for x, y in points)


def arc(radius: float, start: float, end: float, steps: int = 24) -> tuple[Point, ...]:
    """Points along an arc, from `start` to `end` in turns."""
    return tuple(polar(radius, start + (end - start) * n / steps) for n in range(steps + 1))


def disc(radius: float, look: str = "part") -> Shape:
    """The whole round of that radius."""
    return Shape(arc(radius, 0, 1, 180)[:-1], look)


def turns_at(radius: float, offset: float) -> float:
    """The turn at which a line `offset` beside the axis meets the circle, at the top."""
    return atan2(offset, (radius * radius - offset * offset) ** 0.5) / tau


def ring_anchors(radius: float, places: Iterable[float]) -> tuple[Point, ...]:
    return tuple(polar(radius, place) for place in places)


def slot(radius: float, near: float, far: float, floor: float) -> tuple[Point, ...]:
    """A parallel-sided slot from `near` to `far` beside the axis, its floor `floor` above it."""
    a, b = turns_at(radius, near), turns_at(radius, far)
    return ((near, floor), *arc(radius, a, b, 12), (far, floor))


# --- SVG --------------------------------------------------------------------------------


def svg(drawing: Drawing, now: int | None = None, done: int = 0, title: str = "") -> str:
    """The drawing with cut `now` (from 0) highlighted and the first `done` shown as made."""
    left, bottom, right, top = _box(drawing)
    margin = 0.12 * max(right - left, top - bottom)
    scale = _WIDTH / (right - left + 2 * margin)
    height = (top - bottom + 2 * margin) * scale

    def place(point: Point) -> Point:
        return (point[0] - left + margin) * scale, (top + margin - point[1]) * scale

    body = [_shape(shape, place, now, done) for shape in _in_order(drawing, now, done)]
    body += _numbers(drawing, place, now)
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{_WIDTH}" height="{height:.0f}" '
        f'viewBox="0 0 {_WIDTH} {height:.0f}"><title>{escape(title)}</title>'
        f"<style>{_STYLE}</style>\n" + "\n".join(body) + "\n</svg>\n"
    )


def _in_order(drawing: Drawing, now: int | None, done: int) -> Sequence[Shape]:
    """What is made over what is not yet, and this cut over both: no neighbour hides it."""
    looks = ("part", "hole", "open", "done", "now", "witness")
    return sorted(drawing.shapes, key=lambda shape: looks.index(_look(shape, now, done)))


def _shape(shape: Shape, place: Callable[[Point], Point], now: int | None, done: int) -> str:
    points = " ".join(f"{x:.2f},{y:.2f}" for x, y in map(place, shape.points))
    look = _look(shape, now, done)
    mark = "" if shape.cut is None else f' data-cut="{shape.cut + 1}"'
    if shape.closed:
        return f'<polygon class="{look}"{mark} points="{points}"/>'
    return f'<polyline class="{look}"{mark} points="{points}" style="fill: none"/>'


def _look(shape: Shape, now: int | None, done: int) -> str:
    if shape.cut is None:
        return shape.look
    if shape.cut == now:
        return "now"
    return "done" if shape.cut < done else "open"


_ROOM = 20  # pixels that a number takes


def _numbers(drawing: Drawing, place: Callable[[Point], Point], now: int | None) -> list[str]:
    """The cuts' numbers; where they are close together only some, and always this cut's."""
    at = [place(anchor) for anchor in drawing.anchors]
    every = _every(at)
    written = []
    for n, (x, y) in enumerate(at):
        beside = now is not None and n != now and abs(n - now) < every
        if n != now and (n % every or beside):
            continue
        weight = ' font-weight="bold" font-size="20"' if n == now else ' font-size="13"'
        written.append(f'<text x="{x:.1f}" y="{y:.1f}"{weight}>{n + 1}</text>')
    return written


def _every(at: list[Point]) -> int:
    """Which numbers have room: all, every second, fifth, tenth and so on."""
    if len(at) < 2:
        return 1
    apart = min(dist(a, b) for a, b in pairwise(at))
    steps = (1, 2, 5, 10, 20, 50, 100, 200, 500, 1000)
    return next((step for step in steps if step * apart >= _ROOM), steps[-1])


def _box(drawing: Drawing) -> tuple[float, float, float, float]:
    points = [point for shape in drawing.shapes for point in shape.points]
    points += drawing.anchors
    if not points:
        return -1.0, -1.0, 1.0, 1.0
    xs, ys = [x for x, _ in points], [y for _, y in points]
    return min(xs), min(ys), max(xs), max(ys)


def segment(radius: float, middle: float, to_flat: float) -> tuple[Point, ...]:
    """What a flat takes off a round: the piece between the chord and the arc."""
    half = _half_turn(radius, to_flat)
    return arc(radius, middle - half, middle + half)


def _half_turn(radius: float, to_flat: float) -> float:
    return atan2((radius * radius - to_flat * to_flat) ** 0.5, to_flat) / (2 * pi)
