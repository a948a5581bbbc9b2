"""The part that came off the machine, laid over its drawing."""

from __future__ import annotations

from typing import Any

import shapely

from tests.machinist.drawings import Drawing

_NOTHING = 1e-5  # mm2: less is the facets of two circles
NOTHING_LEFT = "nothing is left of the work"


def faults(section: Any, drawing: Drawing, face: Any = None) -> list[str]:
    """What stands where nothing may, and what is missing; the hand that suits it better.

    `face` is the section in which something may be missing, where it is another one.
    """
    if section.is_empty:
        return [NOTHING_LEFT]  # how far a point lies from nothing is no figure
    hands = (drawing, drawing.mirrored())
    return min((_faults(section, hand, face or section) for hand in hands), key=_worst)[1]


def best_hand(section: Any, drawing: Drawing) -> Drawing:
    """The drawing, or its mirror image: the one that the part is more like."""
    hands = (drawing, drawing.mirrored())
    return min(hands, key=lambda hand: _faults(section, hand, section)[0])


def _faults(section: Any, drawing: Drawing, face: Any) -> tuple[float, list[str]]:
    found, worst = [], 0.0
    far, where = farthest(section.difference(drawing.allowed), drawing.allowed)
    if far > drawing.proud:
        found.append(f"stands {far:.3f} mm proud at {where}")
        worst = far
    far, where = farthest(drawing.needed.difference(face), face)
    if far > drawing.short:
        found.append(f"{far:.3f} mm is missing at {where}")
        worst = max(worst, far)
    return worst, found


def _worst(judged: tuple[float, list[str]]) -> float:
    return judged[0]


def farthest(pieces: Any, shape: Any) -> tuple[float, str]:
    """How far these pieces reach out of a shape, in mm, and where."""
    worst, where = 0.0, ""
    for piece in getattr(pieces, "geoms", [pieces]):
        if piece.area < _NOTHING:
            continue
        # Also between the corners: those of a strip on a floor lie on the walls.
        edge = shapely.segmentize(piece.exterior, piece.exterior.length / 60)
        far = shapely.distance(shape, shapely.points(edge.coords))
        if far.max() > worst:
            worst = float(far.max())
            x, y = edge.coords[int(far.argmax())]
            where = f"({x:.2f}, {y:.2f})"
    return worst, where
