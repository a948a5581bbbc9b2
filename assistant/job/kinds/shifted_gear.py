"""A gear with profile shift, cut with a form cutter of unshifted teeth: what it can give.

The space of a shifted gear is the same involute, turned nearer together; a form cutter can only be
sunk less deep, or deeper. So one thing can be made exact by its depth: here the span, which is
measured. The flanks then lean from their involute, the floor lies a little off, and of a set the
cutter for fewer teeth often comes nearer. A cutter made for the gear has none of that (geometry).
Lengths in modules, angles in radians.
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import lru_cache
from math import atan2, cos, hypot, pi, sin
from typing import NamedTuple

from assistant.job.kinds import cutters, gear_teeth

_STEPS = 200


class Shifted(NamedTuple):
    """Teeth with their shift; `addendum` without it. Both in modules, `pressure` in radians."""

    teeth: int
    shift: float
    pressure: float
    addendum: float

    @property
    def tip(self) -> float:
        """The radius of the tip in modules."""
        return self.teeth / 2 + self.addendum + self.shift

    @property
    def base(self) -> float:
        """The radius of the base circle in modules."""
        return self.teeth / 2 * cos(self.pressure)

    @property
    def spanned(self) -> int:
        """Over how many teeth its span is measured."""
        return gear_teeth.span_teeth(self.teeth, self.pressure, self.shift)


class SetCutter(NamedTuple):
    """`number` of the cutter in a set by diametral pitch, made for `made_for` teeth. `raised`: how
    far it stays above where it would cut teeth of its own; `off`: the flank from its involute."""

    number: int
    made_for: int
    raised: float
    off: float


@lru_cache(maxsize=64)
def best_cut(gear: Shifted) -> SetCutter:
    """With the cutter of a set of eight whose flanks come nearest."""
    return min(_cuts(gear), key=lambda cut: cut.off)


def _cuts(gear: Shifted) -> Iterator[SetCutter]:
    for number in range(1, 9):
        made_for = cutters.teeth_range(number)[0]
        raised = _raised(gear, made_for)
        yield SetCutter(number, made_for, raised, _off(gear, made_for, raised))


def span_at(gear: Shifted, made_for: int, raised: float, spanned: int) -> float:
    """Over k teeth. The flanks of the cutter's form are involutes of its own base circle, whose
    middle lies where the cutter stands: so far along either outer space, k pitches apart."""
    own = made_for / 2 * cos(gear.pressure)
    half_space = pi / 2 / made_for - gear_teeth.involute(gear.pressure)
    apart = pi * spanned / gear.teeth
    away = (gear.teeth - made_for) / 2 + raised
    return 2 * (own * (apart - half_space) + away * sin(apart))


def _raised(gear: Shifted, made_for: int) -> float:
    """So that the span is that of the shifted gear."""
    k = gear.spanned
    wanted = gear_teeth.base_tangent(1.0, gear.teeth, k, gear.pressure, gear.shift)
    return (wanted - span_at(gear, made_for, 0.0, k)) / (2 * sin(pi * k / gear.teeth))


def _off(gear: Shifted, made_for: int, raised: float) -> float:
    """The farthest that a flank of the cutter comes from the gear's, from the base circle up to the
    tip, square to it."""
    worst = 0.0
    low, high = made_for / 2 - 1.3, made_for / 2 + 2.5
    for n in range(_STEPS + 1):
        radius = max(low + (high - low) * n / _STEPS, made_for / 2 * cos(gear.pressure))
        angle = pi / made_for - gear_teeth.half_thickness(radius, 1.0, made_for, gear.pressure)
        across = radius * sin(angle)
        out = radius * cos(angle) + (gear.teeth - made_for) / 2 + raised
        reached = hypot(across, out)
        if gear.base < reached <= gear.tip:
            own = pi / gear.teeth - gear_teeth.half_thickness(
                reached, 1.0, gear.teeth, gear.pressure, gear.shift
            )
            worst = max(worst, abs(atan2(across, out) - own) * gear.base)
    return worst


def tip_width(gear: Shifted) -> float:
    """Of a tooth at its top, on the arc, in modules."""
    half = gear_teeth.half_thickness(gear.tip, 1.0, gear.teeth, gear.pressure, gear.shift)
    return 2 * half * gear.tip
