"""Spindle speed, table feed and time, as a first guess to be mended at the machine.

n = 1000 v / (pi d), feed = n z f. The ranges are common practice, from memory: the figures
of the machine's and the cutter's maker come first, and so does what you hear and see.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import pi, sqrt

from assistant.job.part import Cutter, Figure, Machine
from assistant.job.units import Unit, in_unit
from solver import Millimetres

REMINDER = "The machine's and the cutter maker's figures come first."

# Cutting speed in m/min and chip load in mm a tooth for high-speed steel cutters.
MATERIALS: dict[str, tuple[tuple[float, float], tuple[float, float]]] = {
    "mild-steel": ((21, 30), (0.03, 0.08)),
    "tool-steel": ((12, 18), (0.02, 0.05)),
    "stainless-steel": ((12, 20), (0.02, 0.05)),
    "wrought-iron": ((18, 25), (0.03, 0.08)),
    "cast-iron": ((15, 24), (0.04, 0.1)),
    "bronze": ((20, 40), (0.04, 0.1)),
    "brass": ((45, 75), (0.05, 0.12)),
    "aluminium": ((75, 150), (0.05, 0.15)),
}
CUTTER_MATERIALS = {"hss": 1.0, "carbide": 3.0}  # how much faster than high-speed steel

_HANDLING_MINUTES = 0.75  # from the end of one cut to the start of the next, before any is known
_APPROACH_MM = 3


@dataclass(frozen=True, slots=True)
class Feeds:
    """Ranges: spindle turns a minute, table feed in mm a minute; None where not known."""

    speed: tuple[float, float]
    feed: tuple[float, float] | None = None
    advised_speed: float = 0.0
    advised_feed: float | None = None


def spindle_speed(metres_a_minute: float, diameter: float) -> float:
    """Turns a minute: 1000 v / (pi d), the diameter in mm."""
    return 1000 * metres_a_minute / (pi * diameter)


def table_feed(turns: float, teeth: int, chip: float) -> float:
    """mm a minute: turns x teeth x chip load."""
    return turns * teeth * chip


def feeds(material: str, cutter: Cutter, machine: Machine) -> Feeds | None:
    """None where the cutter's diameter or the material is not known."""
    if cutter.diameter is None or material not in MATERIALS:
        return None
    diameter = float(cutter.diameter)
    slow, fast = _speeds(material, cutter)
    speed = (spindle_speed(slow, diameter), spindle_speed(fast, diameter))
    advised = geared_speed(machine.speeds, *speed)
    if cutter.teeth is None:
        return Feeds(speed, advised_speed=advised)
    low, high = _chips(material, cutter)
    feed = (table_feed(advised, cutter.teeth, low), table_feed(advised, cutter.teeth, high))
    return Feeds(speed, feed, advised, sum(feed) / 2)


def _speeds(material: str, cutter: Cutter) -> tuple[float, float]:
    if cutter.speed is not None:
        return float(cutter.speed), float(cutter.speed)
    slow, fast = MATERIALS[material][0]
    faster = CUTTER_MATERIALS[cutter.material]
    return slow * faster, fast * faster


def _chips(material: str, cutter: Cutter) -> tuple[float, float]:
    if cutter.chip is not None:
        return float(cutter.chip), float(cutter.chip)
    return MATERIALS[material][1]


def geared_speed(speeds: Sequence[int], slow: float, fast: float) -> float:
    """The fastest speed of the machine within the range; below it where none is within. All in
    turns a minute.

    Without a list the middle of the range. Never above the range while there is a choice.
    """
    if not speeds:
        return (slow + fast) / 2
    return float(max((each for each in speeds if each <= fast), default=min(speeds)))


def minutes_by_feed(
    length: Millimetres | None, depth: Millimetres | None, cutter: Cutter, feed: float | None
) -> float | None:
    """Cutting and handling, with `feed` in mm a minute; None where the length of cut or the feed is
    not known.

    The cutter enters sqrt(h (d - h)) before its full depth (geometry).
    """
    if length is None or not feed or cutter.diameter is None:
        return None
    sink = float(depth or 0)
    approach = sqrt(max(0.0, sink * (float(cutter.diameter) - sink))) + _APPROACH_MM
    return (float(length) + approach) / feed + _HANDLING_MINUTES


def feed_figures(found: Feeds, unit: Unit) -> tuple[Figure, ...]:
    """Spindle speed in turns a minute and table feed in the job's lengths a minute,
    as far as known.
    """
    speed = f"{found.speed[0]:.0f} to {found.speed[1]:.0f} turns a minute"
    lines = [Figure("spindle speed", f"{speed}, begin at {found.advised_speed:.0f}")]
    if found.feed is not None:
        low, high = (in_unit(each, unit) for each in found.feed)
        places = 0 if unit == "mm" else 1
        feed = f"{low:.{places}f} to {high:.{places}f} {unit} a minute"
        lines.append(Figure("table feed", feed))
    return (*lines, Figure("speeds and feeds", REMINDER))
