"""A collet block seen on its end: its faces with their numbers, the one that lies up, the next.

The faces stay as they were at the first cut, face one at the top; the work turns with them. The
ring stands at the face that lies up now, the disc at the one that is called.
"""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from math import cos, pi

from assistant.drawing.ink import Mark, at, circle, drawn_line, drawn_text
from assistant.engine.view import PlateSight
from assistant.words.language import number, say

_CORNER = 96.0  # units from the axis
_COLLET = 34.0


def base(sight: PlateSight) -> Iterator[Mark]:
    """What stays the same from cut to cut."""
    """What of the block never changes: its faces by their numbers, and the collet; in the
    drawing's units.
    """
    faces = sight.circle
    corners = [at(_CORNER, (n + 0.5) / faces) for n in range(faces)]
    for n, corner in enumerate(corners):
        yield drawn_line(corners[n - 1], corner, "thick", face=str(n + 1))
    yield circle((0, 0), _COLLET, "thick")
    for n in range(faces):
        x, y = at(_apothem(faces) - 15, n / faces)
        yield drawn_text((x, y + 4), str(n + 1), "strong")


def overlay(sight: PlateSight) -> Iterator[Mark]:
    """What changes: the face that lies up, and the one that is called."""
    radius = _apothem(sight.circle)
    if sight.target is not None:
        yield circle(at(radius, float(sight.target)), 6.0, "target", role="target")
    yield circle(at(radius, float(sight.pin)), 4.4, "ring", role="ring")


def _apothem(faces: int) -> float:
    return _CORNER * cos(pi / faces)


def caption(sight: PlateSight) -> str:
    """The same in words."""
    up = number(_face(sight, sight.pin))
    if sight.target is None:
        return say("Block: face {n} up", n=up)
    return say(
        "Block: face {n} up, next face {next}", n=up, next=number(_face(sight, sight.target))
    )


def _face(sight: PlateSight, place: Fraction) -> int:
    return round(place * sight.circle) % sight.circle + 1
