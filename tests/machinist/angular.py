"""Clutches with sloping teeth: the surface that was cut, and a half like it laid upon it.

Judged by what such a clutch is for (definition): two halves cut alike bear on their sloping flanks
from the rim to the bore, nothing of the one stands in the other, the upright flanks lie in planes
through the axis, and the half pushes the way that the drawing says. Heights are along the axis from
the face of the blank, angles clockwise as one looks at the face.
"""

from __future__ import annotations

from math import cos, pi, radians, sin
from typing import Any

import numpy as np

from tests.machinist.drawings import SAID, DrawnJob
from tests.machinist.machine import Machine

AROUND = 7200  # places round a circle
GAP = 0.02  # mm: a tilt is said to a minute, a depth to a hundredth
Surface = Any


def faults(machine: Machine, person: Any, job: DrawnJob) -> list[str]:
    if person.tilted is None:
        return ["the head is not tilted"]
    if not person.from_high_side:
        return ["nobody has said on which side of the tilted face to cut"]
    outer, bore = job.mm("outside") / 2, job.mm("bore") / 2
    rings = [surface(machine, person, job, each) for each in (outer, (outer + bore) / 2, bore)]
    found = _depth(rings[0], job) + _teeth(rings[0], job)
    return found + _way(rings[0], job) + _upright(rings, job) + bearing(rings)


def surface(machine: Machine, person: Any, job: DrawnJob, radius: float) -> Surface:
    """Heights round a circle, after all cuts. The cutter goes level through the work, also beyond
    the axis: nothing there may be in its way."""
    around = np.arange(AROUND) * 2 * pi / AROUND
    low = radians(90 - person.tilted)
    height = np.zeros(AROUND)
    outer = job.mm("outside") / 2
    for cut in machine.cuts:
        # Seen on the face the high side is at the top, +x on the right.
        at = around + machine.sense * 2 * pi * float(cut.turns)
        up, across = radius * np.cos(at), radius * np.sin(at) - cut.across
        floor = outer * sin(low) - ((cut.depth or 0.0) - machine.slip)
        top = (floor + _outline(machine, job, across) - up * sin(low)) / cos(low)
        height = np.minimum(height, top)
    return height


def _outline(machine: Machine, job: DrawnJob, across: Surface) -> Surface:
    """How high the cutter's edge stands above its lowest point, so far across from it."""
    angle = radians(job.degrees("cutter_angle"))
    if job.works[0]["form"] == "v":
        return np.abs(across) / np.tan(angle / 2)
    body = 1 if machine.cutter.right > 0 else -1  # of the cutter, from its upright side
    lying = across * body
    return np.where(lying >= -1e-9, lying / np.tan(angle), np.inf)


def _depth(rim: Surface, job: DrawnJob) -> list[str]:
    if not job.has("depth") or abs(-rim.min() - job.mm("depth")) <= 2 * SAID:
        return []
    return [f"{-rim.min():.3f} mm deep at the rim for {job.mm('depth'):g}"]


def _teeth(rim: Surface, job: DrawnJob) -> list[str]:
    """So many bottoms, all alike."""
    turn, left = divmod(AROUND, job.whole("teeth"))
    assert not left, "a number of teeth that divides the places round a circle"
    off = np.abs(rim - np.roll(rim, turn)).max()
    return [f"one space differs by {off:.3f} mm from the next"] if off > GAP else []


def _way(rim: Surface, job: DrawnJob) -> list[str]:
    """A flank that looks clockwise falls upright going clockwise, and pushes that way."""
    if job.works[0]["form"] == "v":
        return []
    steps = np.roll(rim, -1) - rim
    way = "clockwise" if -steps.min() > steps.max() else "anticlockwise"
    wanted = job.works[0]["drives"]
    return [] if way == wanted else [f"it drives {way} for {wanted}"]


def _upright(rings: list[Surface], job: DrawnJob) -> list[str]:
    """The steps stand at one angle at the rim and at the bore; of V teeth the bottoms do."""
    vee = job.works[0]["form"] == "v"
    teeth = job.whole("teeth")
    places = []
    for ring in (rings[0], rings[-1]):
        first = ring[: AROUND // teeth]
        place = np.argmin(first) if vee else np.argmax(np.abs(np.roll(first, -1) - first))
        places.append(int(place) * 360 / AROUND)
    off = (places[1] - places[0] + 180 / teeth) % (360 / teeth) - 180 / teeth
    return [f"upright flanks {off:.2f} degrees out of the axis"] if abs(off) > 0.11 else []


def bearing(rings: list[Surface]) -> list[str]:
    """The same half turned over and laid on this one, as it lies deepest."""
    meet, turn = lying_deepest(rings)
    found = []
    for name, ring in zip(("rim", "middle", "bore"), rings, strict=True):
        gap = meet - (ring + turned_over(ring, turn))
        flanks = (ring < -0.05) & (turned_over(ring, turn) < -0.05)
        # Beside an upright flank a place of the one may lie over the bottom of the other.
        clear = np.abs(np.roll(ring, 8) - np.roll(ring, -8)) < 0.7 * np.ptp(ring)
        clear &= np.abs(
            np.roll(turned_over(ring, turn), 8) - np.roll(turned_over(ring, turn), -8)
        ) < (0.7 * np.ptp(ring))
        off = gap[flanks & clear]
        if off.size < AROUND / 20:
            found.append(f"hardly any flank bears at the {name}")
        elif off.max() > GAP:
            found.append(f"{off.max():.3f} mm between the flanks at the {name}")
    return found


def lying_deepest(rings: list[Surface]) -> tuple[float, int]:
    """Height and turn at which the half that is laid on this one goes no deeper."""
    touching = [_laid_on(rings, turn) for turn in range(AROUND // 2)]
    meet = min(touching)
    return meet, touching.index(meet)


def turned_over(ring: Surface, turn: int) -> Surface:
    """Turned over: what ran clockwise runs the other way, turned on by so many places."""
    return np.roll(ring[::-1], turn)


def _laid_on(rings: list[Surface], turn: int) -> float:
    return max(float((ring + turned_over(ring, turn)).max()) for ring in rings)
