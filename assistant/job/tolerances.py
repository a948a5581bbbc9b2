"""Reads a size with its limits, as a drawing writes it: "24 mm -0.1 +0", "24 mm h11".

Deviations count in the unit of the size.
"""

from __future__ import annotations

import re
import tomllib
from fractions import Fraction
from functools import cache

from assistant.files.places import config_folder
from assistant.job.limits import Limits
from assistant.job.units import Unit, millimetres_from_text
from solver import Millimetres, Refused, number_from_text

_NUMBER = r"\d+(?:\.\d+)?|\.\d+"
_DEVIATIONS = re.compile(rf"(.*?)\s+([+-](?:{_NUMBER})|0)\s+([+-](?:{_NUMBER})|0)\s*")
_ALONE = re.compile(rf'\s*([+-](?:{_NUMBER})|0)\s+([+-](?:{_NUMBER})|0)\s*(mm|inch|in|thou|")\s*')
_BOTH_WAYS = re.compile(rf"(.*?)\s+(?:±|\+/?-)\s*({_NUMBER})\s*")
_CLASS = re.compile(r"(.*?)\s+([a-zA-Z]{1,2}\d{1,2})\s*")
_MICROMETRE = Fraction(1, 1000)


def limits_from_text(text: str) -> tuple[Limits | None, Millimetres, Unit]:
    """The limits, None where the text states none; the size to cut to, mm; and its system.

    Raises Refused.
    """
    if found := _DEVIATIONS.fullmatch(text):
        size, unit = found[1], _unit(found[1])
        written = f"{found[2]} {found[3]}"
        return _between(size, written, *(_deviation(each, unit) for each in found.groups()[1:]))
    if found := _BOTH_WAYS.fullmatch(text):
        off = _deviation(found[2], _unit(found[1]))
        return _between(found[1], f"±{found[2]}", Millimetres(-off), off)
    if (found := _CLASS.fullmatch(text)) and re.search(r"\d", found[1]):
        nominal, _ = millimetres_from_text(found[1])
        under = Millimetres(-_class(found[2], nominal))
        return _between(found[1], found[2], under, Millimetres(Fraction(0)))
    millimetres, system = millimetres_from_text(text)
    return None, millimetres, system


def deviations_from_text(text: str) -> tuple[Millimetres, Millimetres]:
    """ "-0.15 -0.05 mm": the lower and the upper deviation in mm, of a size that the program
    works out itself. Raises Refused."""
    found = _ALONE.fullmatch(text)
    if not found:
        raise Refused(repr(text), "write two deviations and the unit, like -0.15 -0.05 mm")
    one, other = (_deviation(each, found[3]) for each in (found[1], found[2]))
    if one == other:
        raise Refused(f"{text!r}: the limits are one size", "give two deviations")
    return min(one, other), max(one, other)


def _between(
    size: str, written: str, one: Millimetres, other: Millimetres
) -> tuple[Limits | None, Millimetres, Unit]:
    nominal, system = millimetres_from_text(size)
    low = Millimetres(nominal + min(one, other))
    high = Millimetres(nominal + max(one, other))
    if low == high:
        raise Refused(f"{size} {written}: the limits are one size", "give two deviations")
    if low <= 0:
        raise Refused(f"{size} {written}: the lower limit is nothing", "give smaller deviations")
    limits = Limits(nominal, low, high, written)
    return limits, limits.middle, system


def _unit(size: str) -> str:
    found = re.search(r'(mm|inch|in|thou|")\s*$', size)
    if not found:
        raise Refused(repr(size), "write the unit with the size, like 24 mm -0.1 +0")
    return found[1]


def _deviation(text: str, unit: str) -> Millimetres:
    """In mm, with its sign."""
    plain = text.lstrip("+-")
    if not number_from_text(plain):
        return Millimetres(Fraction(0))
    millimetres, _ = millimetres_from_text(f"{plain} {unit}")
    return Millimetres(-millimetres) if text.startswith("-") else millimetres


def _class(name: str, nominal: Millimetres) -> Millimetres:
    """How far under the nominal size the lower limit of the class lies, mm (ISO 286-2)."""
    rows = classes()
    known = [key for key in rows[0] if key != "to"]
    if name not in known:
        raise Refused(
            f"{name!r}: known classes are {', '.join(known)}",
            "or write the deviations, like -0.1 +0",
        )
    row = next((row for row in rows if nominal <= row["to"]), None)
    if row is None:
        most = rows[-1]["to"]
        raise Refused(f"{name} is known to {most} mm here", "write the deviations, like -0.1 +0")
    return Millimetres(row[name] * _MICROMETRE)


@cache
def classes() -> tuple[dict[str, int], ...]:
    """The rows of `config/standards/tolerances.toml`, the smallest sizes first."""
    path = config_folder() / "standards" / "tolerances.toml"
    return tuple(tomllib.loads(path.read_text("utf-8"))["sizes"])
