"""Spacing of a finished part from what was measured tooth by tooth.

Definitions of ISO 1328-1 (from memory): the single pitch deviation is an actual pitch less the
true one; the cumulative deviation over k pitches is their sum; the total one is the largest
less the smallest index deviation round the whole part. The last pitch closes the circle.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Spacing:
    """`index`: deviation of each flank from its true place, the first nought; same unit all."""

    index: tuple[float, ...]

    @property
    def pitches(self) -> tuple[float, ...]:
        """Single pitch deviations: from each tooth to the next, the last back to the first."""
        teeth = len(self.index)
        return tuple(self.index[(n + 1) % teeth] - self.index[n] for n in range(teeth))

    @property
    def single(self) -> float:
        """The largest single pitch deviation, without its sign."""
        return max(map(abs, self.pitches))

    def over(self, k: int) -> float:
        """The largest cumulative deviation over k pitches, anywhere round the part."""
        teeth = len(self.index)
        return max(abs(self.index[(n + k) % teeth] - self.index[n]) for n in range(teeth))

    @property
    def total(self) -> float:
        return max(self.index) - min(self.index)

    @property
    def usual_k(self) -> int:
        """An eighth of the teeth, two at least: what is looked at where nothing is said."""
        return max(2, round(len(self.index) / 8))


def spacing_of(readings: Sequence[float]) -> Spacing:
    """From readings at each tooth, the indicator against the head: the first is set to nought."""
    return Spacing(tuple(reading - readings[0] for reading in readings))


def polar_chart(spacing: Spacing) -> str:
    """The index deviations round the part as SVG: outside the dashed circle is too far on."""
    teeth, scale = len(spacing.index), 60 / (max(map(abs, spacing.index)) or 1)
    points = []
    for n, deviation in enumerate(spacing.index):
        angle, radius = 2 * math.pi * n / teeth, 110 + scale * deviation
        points.append(f"{radius * math.sin(angle):.1f},{-radius * math.cos(angle):.1f}")
    return (
        '<svg xmlns="http://www.w3.org/2000/svg" viewBox="-200 -200 400 400" role="img" '
        'aria-label="index deviations round the part">'
        '<circle r="110" fill="none" stroke="#777" stroke-dasharray="4 4"/>'
        f'<polygon points="{" ".join(points)}" fill="none" stroke="#b00" stroke-width="2"/>'
        f'<text y="-185" text-anchor="middle" font-size="14">tooth 1</text></svg>\n'
    )
