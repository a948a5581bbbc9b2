"""A milling machine with a head: table, spindle, a cutter with a true outline, and the work.

Seen along the work's axis: x is from the person (at -x) towards the column, y is up. The machine
does as its handles are turned and knows no drawing. Lengths in mm, angles in degrees.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from fractions import Fraction
from math import cos, pi, sin, sqrt
from typing import Any

from shapely import affinity
from shapely.geometry import Polygon, box

from tests.machinist.cutters import TALL, Cutter

FACETS = 2880  # of the round bar: at 45 mm of radius off by 0.03 micrometres of depth


class Crash(AssertionError):
    """The machine was handled in a way that spoils work or person."""


def round_bar(diameter: float) -> Polygon:
    radius = diameter / 2
    return Polygon(
        [(radius * sin(a), radius * cos(a)) for a in (2 * pi * n / FACETS for n in range(FACETS))]
    )


@dataclass
class Mark:
    """A cut as it was made: where the spindle and the table stood."""

    turns: Fraction  # of the spindle in all, from where it first stood
    across: float
    depth: float | None
    words: str
    length: float | None = None  # that the stop was set to


@dataclass
class Machine:
    """`across` is where the cutter's own nought stands, `zero` the height of its lowest point
    over the axis at the depth dial's nought, None until touched. `sense` +1: an indexing move
    turns the top of the work towards +x. `slip`: how far the dial's nought is really off.
    `upright`: the axis points at the cutter's arbor from below, and the section is the work as
    seen from above, cut by a strip as wide as the cutter; `stop`: where the cutter's middle comes
    to rest on its way in from +y, None where it goes right through; the section is then that at
    `level` under the face, and `face` the one at the face itself.
    """

    cutter: Cutter
    section: Polygon
    sense: int = 1
    slip: float = 0.0
    across: float = 0.0
    slack: float = 0.0  # mm of dead travel in the screw of the cross slide
    going: int = 0  # which way the cutter last went across the work; 0: nobody knows
    zero: float | None = None
    dial: float | None = None
    turns: Fraction = Fraction(0)
    locked: bool = False
    upright: bool = False
    stop: float | None = None
    level: float = 0.0
    divisions: int = 0
    swept: Callable[[float, float], Any] | None = None  # what the cutter takes, where it turns
    tracks: bool = False  # only keeps where each cut was made: the work is no cylinder
    face: Any = None
    cuts: list[Mark] = field(default_factory=list)

    @property
    def facing(self) -> Polygon:
        """The work as the cutter finds it, turned by the spindle."""
        return turned(self.section, self.sense * float(self.turns))

    @property
    def deepest(self) -> float:
        """Of all cuts, under the surface that was touched."""
        return max((each.depth or 0.0 for each in self.cuts), default=0.0) - self.slip

    def touch_side(self, side: int) -> None:
        """Bring the cutter up to the work's flank at +x (side 1) or -x (side -1)."""
        low, _, high, _ = self.facing.bounds
        self.across = high - self.cutter.left if side > 0 else low - self.cutter.right
        self.going = -side

    def touch_upright_part(self, side: int) -> None:
        """Bring the cutter up to the side of what stands on top, as far down as most of the
        last cut."""
        work = self.facing
        assert self.dial is not None
        level = work.intersection(box(-TALL, work.bounds[3] - 0.6 * self.dial, TALL, TALL))
        pieces = getattr(level, "geoms", [level])
        low, _, high, _ = next(each.bounds for each in pieces
                               if each.bounds[0] < 0 < each.bounds[2])  # fmt: skip
        self.across = high - self.cutter.left if side > 0 else low - self.cutter.right
        self.going = -side

    def move(self, by: float, *, came_up: bool = False) -> None:
        """By so much on the dial. Turned the other way than before, or with nobody knowing which
        way it was, the screw's slack is lost; `came_up`: it was gone past and come up to again."""
        lost = self.slack if by * self.going <= 0 and not came_up else 0.0
        way = 1 if by > 0 else -1
        self.across += way * (abs(by) - lost)
        if not came_up:
            self.going = way

    def touch_top(self) -> None:
        """The work comes up to the turning cutter where it stands now, and the dial to nought."""
        self.zero = self.contact() + self.slip

    def contact(self) -> float:
        if self.upright:
            return 0.0
        work = self.facing
        low, high = 0.0, work.bounds[3] + 1
        for _ in range(40):
            middle = (low + high) / 2
            if self._at(middle).intersects(work):
                low = middle
            else:
                high = middle
        if high > work.bounds[3] + 0.5:
            raise Crash("the cutter passes beside the work: there is nothing to touch")
        return high

    def _at(self, height: float) -> Polygon:
        return affinity.translate(self.cutter.outline, self.across, height)

    def index(self, turns: Fraction) -> None:
        if self.locked:
            raise Crash("the crank is turned with the spindle locked")
        self.turns += turns

    def mark(self, words: str, length: float | None, driven: bool = False) -> None:
        """A cut of which only the place counts: a line, a hole, a notch."""
        if not self.locked and not driven:
            raise Crash("cut with the spindle loose")
        if self.dial is not None and self.zero is None:
            raise Crash(f"{words!r}: a depth is called, and nothing was touched and set to nought")
        self.cuts.append(Mark(self.turns, self.across, self.dial, words, length))

    def cut(self, words: str, driven: bool = False) -> None:
        """Through the whole length of the work with table and knee as they stand."""
        if not self.locked and not driven:
            raise Crash("cut with the spindle loose")
        self.cuts.append(Mark(self.turns, self.across, self.dial, words))
        if self.dial is None:
            raise Crash(f"{words!r}: nobody has said how deep")
        if self.zero is None:
            raise Crash(f"{words!r}: a depth is called, and nothing was touched and set to nought")
        if self.tracks:
            return
        if self.upright:
            self._cut_face(self.dial - self.slip)
        else:
            height = self.zero - self.dial
            self._remove(self.swept(height, self.across) if self.swept else self._at(height))
            self.section = largest(self.section)

    def _remove(self, swept: Polygon) -> None:
        self.section = self.section.difference(turned(swept, -self.sense * float(self.turns)))

    def _cut_face(self, depth: float) -> None:
        """The disc comes out of the face farther on than its middle, by the half chord of its
        diameter at that depth; at its full depth only under its middle."""
        if self.face is None:
            self.face = self.section
        beyond = sqrt(max(0.0, depth * (self.cutter.diameter - depth)))
        back = -self.sense * float(self.turns)
        self.face = self.face.difference(turned(self._strip(beyond), back))
        if depth >= self.level:
            self._remove(self._strip(0.0))

    def _strip(self, beyond: float) -> Polygon:
        left, right = self.across + self.cutter.left, self.across + self.cutter.right
        return box(left, -TALL if self.stop is None else self.stop - beyond, right, TALL)


def largest(shape: Any) -> Polygon:
    """What stays in the chuck: pieces that are cut off fall away."""
    return max(getattr(shape, "geoms", [shape]), key=lambda piece: piece.area)


def turned(shape: Polygon, turns: float) -> Polygon:
    """Turned so that the top goes to +x (clockwise as it is drawn)."""
    return affinity.rotate(shape, -360 * turns, origin=(0, 0))


__all__ = ["TALL", "Crash", "Machine", "Mark", "round_bar", "turned"]
