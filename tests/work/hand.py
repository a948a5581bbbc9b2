"""A hand at a milling machine that does what a set-up list says, word by word, and no more.

It knows the round that is clamped, and the cutter's outline. It sees the work along its axis:
across to the right, up. The cutter comes from the right.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from math import sqrt

from shapely import affinity
from shapely.geometry import Polygon, box

from tests.work.words import sizes


@dataclass
class Hand:
    """`left` and `right` are the cutter's sides, mm from its middle; `x` is where that stands."""

    radius: float
    left: float
    right: float
    x: float = 0.0
    nought: float | None = None  # height of the cutter's lowest line where the dial reads nought
    depth: float | None = None
    touched: list[str] = field(default_factory=list)

    def do(self, items: list[str] | tuple[str, ...]) -> None:
        for item in items:
            for sentence in re.split(r"(?<=\.) ", item):
                self._one(sentence)

    def _one(self, sentence: str) -> None:
        words = sentence.lower()
        if re.search("touch (one|the rising) side of the work", words):
            self.x = self.radius - self.left
            self.touched.append("side")
        elif words.startswith(("move across", "move on across")):
            assert "same way" in words or "on" not in words.split()[1]
            self.x -= float(sizes(sentence)[0])
        elif words.startswith("wind the table back"):
            self.x += float(sizes(sentence)[0])
        elif words.startswith("touch the top"):
            self.nought = self.highest()
            self.touched.append("top")
        elif words.startswith("point of the cutter over the axis"):
            self.x = 0.0
        elif words.startswith("depth:") or words.startswith("depth dial to"):
            self.depth = float(sizes(sentence)[-1])

    def highest(self) -> float:
        """Of the round under the cutter's width: what it meets first when it comes down."""
        left, right = self.x + self.left, self.x + self.right
        beside = 0.0 if left <= 0 <= right else min(abs(left), abs(right))
        return sqrt(self.radius**2 - beside**2)

    def slot(self) -> Polygon:
        """What a flat cutter takes at the place where it stands, at its depth."""
        assert self.nought is not None and self.depth is not None
        bottom = self.nought - self.depth
        return box(self.x + self.left, bottom, self.x + self.right, 2 * self.radius)


def turned(shape: Polygon, turns: float) -> Polygon:
    """Clockwise, as positions run."""
    return affinity.rotate(shape, -360 * turns, origin=(0, 0))
