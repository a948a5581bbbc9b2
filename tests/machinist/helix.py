"""The slot that a disc cutter makes along a helix, as a section square to the work's axis sees it.

The table is swung, so the disc stands aslant in this section, and while it passes the work turns
under it: what it takes of the section is all that it covers there on its way. (Geometry: the disc
is a stack of thin rounds, the heights of its outline their radii.)
"""

from __future__ import annotations

from collections.abc import Callable
from functools import cache
from math import cos, radians, sin, sqrt
from typing import Any

import numpy as np
from shapely.geometry import Polygon
from shapely.ops import unary_union

from tests.machinist.cutters import Cutter
from tests.machinist.machine import turned

USUAL = 60.0  # mm: a form cutter's diameter, where the job names none (common practice)
_DEEP = 20.0  # mm: no slot that is cut here is deeper
_STEPS = 121  # of the cutter on its way: with more of them no flank moves by two micrometres


def slot(cutter: Cutter, swung: float, lead: float) -> Callable[[float, float], Any]:
    """What is taken with the cutter's lowest point at a height and `across` over the axis.

    `swung` in degrees, anticlockwise seen from above; `lead` in mm, less than 0 for a left hand.
    """
    outline = cutter.outline.segmentize(0.2).exterior.coords
    points = np.array([(u, min(high, _DEEP)) for u, high in outline])
    radius = (cutter.diameter or USUAL) / 2

    @cache
    def taken(height: float, across: float) -> Any:
        reach = 1.05 * sqrt(2 * radius * _DEEP)
        passing = (_aslant(points, radius, radians(swung), reach * (2 * n / (_STEPS - 1) - 1))
                   for n in range(_STEPS))  # fmt: skip
        return unary_union(
            [turned(_placed(shape, across, height), along / lead) for shape, along in passing]
        )

    return taken


def _aslant(points: Any, radius: float, swung: float, along: float) -> tuple[Any, float]:
    """The disc in the section when its middle is so far along the axis from it, its lowest point at
    height 0."""
    across = (points[:, 0] - along * sin(swung)) / cos(swung)
    beside = across * sin(swung) - along * cos(swung)
    down = np.sqrt(np.maximum(0.0, (radius - points[:, 1]) ** 2 - beside**2))
    return np.column_stack([across, radius - down]), along


def _placed(shape: Any, across: float, height: float) -> Any:
    return Polygon(np.add(shape, (across, height))).buffer(0)
