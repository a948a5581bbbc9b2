"""Tolerances and errors as lengths: an angle at a radius is an arc, 2 pi r x turns."""

from __future__ import annotations

import re
from fractions import Fraction
from typing import NamedTuple

from solver.model import ARCSEC_PER_TURN, Millimetres, Refused, Turns
from solver.text import MM, NUMBER, angle_from_text, number_from_text

# A little above pi (by 8.5 parts in 100 million): a tolerance made from a length comes out
# a hair too small and an error in length a hair too large, never the other way.
PI_ABOVE = Fraction(355, 113)

_UNIT = r"(mm|inch|in|thou)"
CURE = 'write arc-seconds, like 30, or a length at a radius, like "0.02 mm at 35 mm"'


class Length(NamedTuple):
    """A length in the unit that it was given in: `mm`, `in` or `thou`."""

    value: Fraction
    unit: str

    @property
    def mm(self) -> Millimetres:
        """In millimetres, exact: an inch is 25.4 mm."""
        return Millimetres(self.value * MM[self.unit])


def length_from_text(text: str) -> Length:
    """`35 mm` or `1 3/8 in`. Raises Refused."""
    found = re.fullmatch(rf"\s*({NUMBER})\s*{_UNIT}\s*", text, re.ASCII)
    if not found:
        raise Refused(f"{text!r} is no length", "write 35 mm or 1.375 in")
    unit = "in" if found.group(2) == "inch" else found.group(2)
    return Length(number_from_text(found.group(1)), unit)


def radius_from_text(text: str) -> Length:
    """A length above 0. Raises Refused."""
    radius = length_from_text(text)
    if radius.value == 0:
        raise Refused(f"radius {text!r}", "give more than 0, like 35 mm")
    return radius


def tolerance_from_text(text: str, radius: Length | None = None) -> Turns:
    """The error allowed, in turns: arc-seconds (`30`), or a length (`0.02 mm at 35 mm`).

    A length alone is taken at `radius`. Raises Refused, also for a length without a radius.
    """
    length, _, at = text.partition(" at ")
    if at:
        return _as_turns(length_from_text(length), radius_from_text(at))
    if re.search(rf"{_UNIT}\s*$", text) and not text.rstrip().endswith("min"):
        if radius is None:
            raise Refused(
                f"{text!r} is a length", f'add its radius, like "{text.strip()} at 35 mm"'
            )
        return _as_turns(length_from_text(text), radius)
    return _from_angle(text)


def _from_angle(text: str) -> Turns:
    bare = re.sub(r"\s*arc-?sec(onds)?\s*$", "", text.strip())
    try:
        if re.fullmatch(NUMBER, bare, re.ASCII):
            return Turns(number_from_text(bare) / ARCSEC_PER_TURN)
        return angle_from_text(text)
    except Refused as error:
        raise Refused(f"tolerance {text!r}", CURE) from error


def _as_turns(length: Length, radius: Length) -> Turns:
    return Turns(length.mm / (2 * PI_ABOVE * radius.mm))


def arc(turns: Turns, radius: Length) -> Length:
    """The arc of so many turns at a radius, in the radius's own unit; a hair too long, never too
    short (`PI_ABOVE`)."""
    return Length(2 * PI_ABOVE * radius.value * turns, radius.unit)
