"""Lines, circles and lettering of a drawing, free of any format; SVG made from them.

Coordinates run right and down, in the drawing's own units, with the axis at 0, 0. A look
names what a line is, as on a drawing of the trade (ISO 128: thick for edges, thin for the
rest, long and short dashes for centre lines); the page's style sheet and `PAPER` draw it.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from html import escape
from math import cos, sin, tau

from assistant.job.shapes import Point


@dataclass(frozen=True, slots=True)
class Mark:
    """One drawn thing: an SVG tag with its numbers, a look, and lettering if it is text."""

    tag: str  # circle | line | path | text
    numbers: dict[str, float | str]
    look: str
    words: str = ""
    data: dict[str, str] = field(default_factory=dict)


# How each look is drawn on paper, in black ink. The bench page has its own style sheet.
PAPER: dict[str, dict[str, str]] = {
    "thin": {"fill": "none", "stroke": "#000", "stroke-width": "0.5"},
    "thick": {"fill": "none", "stroke": "#000", "stroke-width": "1.6"},
    "axis": {
        "fill": "none", "stroke": "#000", "stroke-width": "0.5", "stroke-dasharray": "9 2 2 2",
    },
    "hole": {"fill": "#fff", "stroke": "#000", "stroke-width": "0.5"},
    "used": {"fill": "#fff", "stroke": "#000", "stroke-width": "1.1"},
    "count": {"fill": "#bbb", "stroke": "#000", "stroke-width": "1.1"},
    "pin": {"fill": "#000", "stroke": "#000", "stroke-width": "1"},
    "ring": {"fill": "none", "stroke": "#000", "stroke-width": "0.8"},
    "target": {"fill": "none", "stroke": "#000", "stroke-width": "1.8"},
    "arm": {"fill": "none", "stroke": "#000", "stroke-width": "2.2", "stroke-linecap": "round"},
    "blank": {"fill": "#fff", "stroke": "#000", "stroke-width": "1.6"},
    "cut": {"fill": "none", "stroke": "#000", "stroke-width": "0.5"},
    "bore": {"fill": "#fff", "stroke": "#000", "stroke-width": "1.6"},
    "was": {"fill": "#bbb", "stroke": "#000", "stroke-width": "0.8"},
    "later": {
        "fill": "none", "stroke": "#000", "stroke-width": "0.5", "stroke-dasharray": "2 2",
    },
    "due": {"fill": "#ddd", "stroke": "#000", "stroke-width": "2.4"},
    "lead": {"fill": "none", "stroke": "#000", "stroke-width": "1.2"},
    "cutter": {"fill": "#000", "stroke": "#000", "stroke-width": "0.5"},
    "label": {"fill": "#000", "font-family": "sans-serif", "font-size": "9"},
    "name": {
        "fill": "#000", "font-family": "sans-serif", "font-size": "13", "font-weight": "bold",
        "paint-order": "stroke", "stroke": "#fff", "stroke-width": "4",
    },
    "strong": {
        "fill": "#000", "font-family": "sans-serif", "font-size": "11", "font-weight": "bold",
    },
}  # fmt: skip


def at(radius: float, turns: float) -> Point:
    """The point at this radius, `turns` clockwise from the top."""
    return radius * sin(tau * turns), -radius * cos(tau * turns)


def circle(centre: Point, radius: float, look: str, **data: str) -> Mark:
    """A circle, in the units of the drawing; `look` is its class in the style, `data` goes into the
    page as data attributes.
    """
    x, y = centre
    return Mark("circle", {"cx": _round(x), "cy": _round(y), "r": _round(radius)}, look, data=data)


def drawn_line(start: Point, end: Point, look: str, **data: str) -> Mark:
    """A straight line, with look and data as for a circle."""
    numbers = {"x1": start[0], "y1": start[1], "x2": end[0], "y2": end[1]}
    return Mark("line", {k: _round(v) for k, v in numbers.items()}, look, data=data)


def drawn_arc(radius: float, start: float, sweep: float, look: str, **data: str) -> Mark:
    """Part of a circle about the axis: from `start`, `sweep` turns (under 1) clockwise."""
    (x1, y1), (x2, y2) = at(radius, start), at(radius, start + sweep)
    r, large = _round(radius), int(sweep > 0.5)
    path = f"M{_round(x1)} {_round(y1)}A{r} {r} 0 {large} 1 {_round(x2)} {_round(y2)}"
    return Mark("path", {"d": path}, look, data=data)


def path(points: Iterable[Point], look: str, closed: bool = True, **data: str) -> Mark:
    """A line through these points, closed where it bounds an area."""
    joined = "L".join(f"{_round(x)} {_round(y)}" for x, y in points)
    return Mark("path", {"d": f"M{joined}{'Z' if closed else ''}"}, look, data=data)


def drawn_text(where: Point, words: str, look: str = "label", anchor: str = "middle") -> Mark:
    """Words at a place; `anchor` is the end of them that stands there: start, middle or end."""
    numbers: dict[str, float | str] = {"x": _round(where[0]), "y": _round(where[1])}
    return Mark("text", {**numbers, "text-anchor": anchor}, look, words)


def _round(value: float) -> float:
    return round(value, 4)


def to_svg(marks: Iterable[Mark], paper: bool = False) -> str:
    """SVG elements; with `paper`, each carries the ink it needs and no style sheet is asked."""
    return "".join(_element(mark, paper) for mark in marks)


def _element(mark: Mark, paper: bool) -> str:
    pairs: dict[str, object] = {**mark.numbers, "class": mark.look}
    pairs |= PAPER[mark.look] if paper else {}
    pairs |= {f"data-{name}": value for name, value in mark.data.items()}
    inside = "".join(f' {name}="{escape(str(value))}"' for name, value in pairs.items())
    return f"<{mark.tag}{inside}>{escape(mark.words)}</{mark.tag}>"


def to_records(marks: Iterable[Mark]) -> list[list[object]]:
    """The same as JSON-ready data, for a page that draws it: tag, numbers, look, words, data."""
    return [[mark.tag, mark.numbers, mark.look, mark.words, mark.data] for mark in marks]


def plate_svg(
    marks: Iterable[Mark], size: float, name: str, *, paper: bool = False, extra: str = ""
) -> str:
    """A whole drawing, `size` units to each side of the axis; `name` says what it shows."""
    box = f"{-size:g} {-size:g} {2 * size:g} {2 * size:g}"
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="{box}" role="img" '
        f'aria-label="{escape(name)}" {extra}>{to_svg(marks, paper)}</svg>'
    )
