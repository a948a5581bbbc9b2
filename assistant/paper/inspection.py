"""Spacing of a finished part from what was measured tooth by tooth.

Definitions of ISO 1328-1 (from memory): the single pitch deviation is an actual pitch less the
true one; the cumulative deviation over k pitches is their sum; the total one is the largest
less the smallest index deviation round the whole part. The last pitch closes the circle.
"""

from __future__ import annotations

import json
import math
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

UNITS = {"mm": "mm", "um": "µm", "in": "in", "thou": "thou"}
"""Of readings, as they are named on the command line, and as they stand on paper."""


@dataclass(frozen=True, slots=True)
class Spacing:
    """`index`: deviation of each flank from its true place, the first nought; same unit all.
    `by`: measured with an "indicator", or over a "span" or "pins" of `over_k`. `unit`: of the
    readings, one of UNITS; "" where it was not said."""

    index: tuple[float, ...]
    by: str = "indicator"
    over_k: int = 0
    unit: str = ""

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
        """The total cumulative pitch deviation (ISO 1328-1), in the unit of the readings."""
        return max(self.index) - min(self.index)

    @property
    def usual_k(self) -> int:
        """An eighth of the teeth, two at least: what is looked at where nothing is said."""
        return max(2, round(len(self.index) / 8))


def spacing_of(readings: Sequence[float]) -> Spacing:
    """From readings at each tooth, in one unit, the indicator against the head: the first is set to
    nought."""
    return Spacing(tuple(reading - readings[0] for reading in readings))


def spacing_of_spans(sizes: Sequence[float], k: int) -> Spacing:
    """From the span over k teeth, first of it tooth 1, tooth 2 and so on round the part.

    One cutter makes all spaces alike, so a span differs from the mean of all by what the space
    after it is further on than the space before it: the deviation over k pitches, measured along
    the base circle (derived from the spacing alone; no table was read). Raises ValueError where k
    and the teeth have a common factor: the sums then never lead to every tooth.
    """
    return Spacing(_put_together(sizes, k, 1.0), "span", k)


def spacing_of_pins(sizes: Sequence[float], k: int) -> Spacing:
    """From the size between two pins, one in each of two spaces k apart, all round the part.

    The pins stand on a chord of k pitches: it grows by cos(180 k / z) of what the arc does (the
    slope of 2 r sin). Raises ValueError as for spans, and where the pins lie nearly opposite one
    another: there the size hardly knows how the spaces lie.
    """
    slope = math.cos(math.pi * k / len(sizes))
    if abs(slope) < _LEAST_SLOPE:
        raise ValueError("opposite")
    return Spacing(_put_together(sizes, k, slope), "pins", k)


_LEAST_SLOPE = 0.3  # beyond 72 degrees from space to space a reading is blown up threefold


def _put_together(sizes: Sequence[float], k: int, slope: float) -> tuple[float, ...]:
    """The index deviation of each tooth, the first nought, from those over k pitches."""
    teeth, mean = len(sizes), sum(sizes) / len(sizes)
    if math.gcd(k, teeth) != 1:
        raise ValueError("common factor")
    index, at = [0.0] * teeth, 0
    for _ in range(teeth - 1):
        following = (at + k) % teeth
        index[following] = index[at] + (sizes[at] - mean) / slope
        at = following
    return tuple(index)


# --- beside a job -----------------------------------------------------------------------

ENDING = ".inspection.json"


def keep_inspection(journal: Path, spacing: Spacing) -> None:
    """Beside the journal, for its report; the journal itself is closed. Raises OSError."""
    record = {"index": list(spacing.index), "by": spacing.by, "over_k": spacing.over_k,
              "unit": spacing.unit}  # fmt: skip
    journal.with_suffix(ENDING).write_text(json.dumps(record), "utf-8")


def kept_inspection(journal: Path) -> Spacing | None:
    """What was kept for this journal; None for nothing, or nothing readable."""
    try:
        record = json.loads(journal.with_suffix(ENDING).read_text("utf-8"))
        index = tuple(float(each) for each in record["index"])
        unit = str(record.get("unit", ""))  # inspections of earlier forms don't say it
        found = Spacing(index, str(record["by"]), int(record["over_k"]), unit)
        return found if len(index) > 2 else None
    except (OSError, ValueError, LookupError, TypeError):
        return None


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
