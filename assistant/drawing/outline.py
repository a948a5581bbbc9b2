"""The drawing of a part as SVG: what is made, what is next, what is still to come.

Meaning is carried by line and shade as well as colour: on grey paper it reads the same.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from html import escape
from itertools import pairwise
from math import dist

from assistant.job.shapes import LATER, MADE, Drawing, Point, Shape

_WIDTH = 480  # pixels
_STYLE = """
.part { fill: #e6e2d6; stroke: #33302a; stroke-width: 1.6; }
.hole { fill: #ffffff; stroke: #33302a; stroke-width: 1.6; }
.witness { fill: none; stroke: #6f6a5f; stroke-dasharray: 9 2 2 2; }
.later { fill: none; stroke: #6f6a5f; stroke-dasharray: 2 2; }
.open { fill: #ffffff; stroke: #33302a; }
.made { fill: #c9c5ba; stroke: #33302a; }
.done { fill: #55606b; stroke: #1d242b; stroke-width: 1.6; }
.now { fill: #ffd27a; stroke: #7a3d00; stroke-width: 3.4; }
text { font-family: sans-serif; fill: #111111; text-anchor: middle; dominant-baseline: middle;
  paint-order: stroke; stroke: #ffffff; stroke-width: 3; }
"""


# --- SVG --------------------------------------------------------------------------------


def part_svg(drawing: Drawing, now: int | None = None, done: int = 0, title: str = "") -> str:
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
    looks = ("part", "hole", LATER, MADE, "open", "done", "now", "witness")
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
    here = None if now is None or not at else now % len(at)  # later rounds share their places
    every = _every(at)
    taken = set() if here is None else {_spot(at[here])}
    written = []
    for n, spot in enumerate(map(_spot, at)):
        beside = here is not None and abs(n - here) < every
        if n != here and (n % every or beside or spot in taken):
            continue
        taken.add(spot)
        weight = ' font-weight="bold" font-size="20"' if n == here else ' font-size="13"'
        number = (now or 0) + 1 if n == here else n + 1
        written.append(f'<text x="{at[n][0]:.1f}" y="{at[n][1]:.1f}"{weight}>{number}</text>')
    return written


def _spot(point: Point) -> tuple[int, int]:
    return round(point[0]), round(point[1])


def _every(at: list[Point]) -> int:
    """Which numbers have room: all, every second, fifth, tenth and so on."""
    if len(at) < 2:
        return 1
    apart = min((gap for a, b in pairwise(at) if (gap := dist(a, b)) > 0.5), default=_ROOM)
    steps = (1, 2, 5, 10, 20, 50, 100, 200, 500, 1000)
    return next((step for step in steps if step * apart >= _ROOM), steps[-1])


def _box(drawing: Drawing) -> tuple[float, float, float, float]:
    points = [point for shape in drawing.shapes for point in shape.points]
    points += drawing.anchors
    if not points:
        return -1.0, -1.0, 1.0, 1.0
    xs, ys = [x for x, _ in points], [y for _, y in points]
    return min(xs), min(ys), max(xs), max(ys)
