"""Lengths as exact millimetres: from text in mm, inches or thou, and back for eye and ear."""

from __future__ import annotations

import re
from fractions import Fraction
from typing import Literal

from assistant.words.language import in_force, number, number_by_number, say, say_n
from solver import Degrees, Millimetres, Refused, Turns, number_from_text

MM_PER_INCH = Fraction(254, 10)  # exact since 1959 (international inch)
_IN_MM = {"mm": Fraction(1), "in": MM_PER_INCH, "thou": MM_PER_INCH / 1000}
_LENGTH = re.compile(r"\s*([\d./ ]+?)\s*(mm|inch|in|thou|\")\s*")
_MOST_MM = 10_000  # longer than any table: a slip of the unit

Unit = Literal["mm", "in"]
"""The system that a job is written in; `in` is shown in inches and said in thou."""
NO_LENGTH, NO_ANGLE = Millimetres(Fraction(0)), Degrees(Fraction(0))
NO_TURN, A_TURN = Turns(Fraction(0)), Turns(Fraction(1))
UNITS: tuple[Unit, ...] = ("mm", "in")
CURE = "write a number and mm, in or thou"
_POSSIBLE = "give more than 0, and at most 10 metres"


def millimetres_from_text(text: str) -> tuple[Millimetres, Unit]:
    """The length in mm, over 0, and the system it was given in (`mm` or `in`). Raises Refused."""
    found = _LENGTH.fullmatch(text)
    if not found and _LENGTH.fullmatch(text.strip().lstrip("-−")):
        raise Refused(repr(text), _POSSIBLE)
    if not found:
        raise Refused(repr(text), CURE)
    unit = {"inch": "in", '"': "in"}.get(found.group(2), found.group(2))
    millimetres = number_from_text(found.group(1)) * _IN_MM[unit]
    if not 0 < millimetres <= _MOST_MM:
        raise Refused(repr(text), _POSSIBLE)
    return Millimetres(millimetres), "mm" if unit == "mm" else "in"


def near(value: float | Fraction) -> Millimetres:
    """A worked-out length as an exact number of nanometres: far finer than any machine."""
    return Millimetres(Fraction(round(Fraction(value) * 1_000_000), 1_000_000))


def in_unit(millimetres: float | Millimetres, unit: Unit) -> float:
    """The number of mm or inches."""
    return float(millimetres) / float(_IN_MM[unit])


def shown(millimetres: float | Millimetres, unit: Unit) -> str:
    """ "19.05 mm" or "0.75 in": to a micrometre or a tenth of a thou, for the eye."""
    return f"{bare_figure(millimetres, unit)} {unit}"


def bare_figure(millimetres: float | Millimetres, unit: Unit) -> str:
    """ "19.05", "0.75": the same without its unit."""
    return _bare(f"{in_unit(millimetres, unit):.{3 if unit == 'mm' else 4}f}")


def said(millimetres: float | Millimetres, unit: Unit, *, finely: bool = False) -> str:
    """ "nineteen point zero five millimetres", "seven hundred fifty thou": for the ear.

    To a hundredth of a millimetre (below one, a thousandth) or a tenth of a thou; from two
    inches on in inches. `finely`: to a thousandth of a millimetre, a hundredth of a thou.
    """
    if in_force().written:
        return shown(millimetres, unit)
    if unit == "mm":
        places = 2 if abs(near(millimetres)) >= 1 and not finely else 3
        text = _bare(_rounded(near(millimetres), places))
        if text == "1":
            return say("one millimetre")
        return say("{figure} millimetres", figure=digits(text))
    inches = in_unit(millimetres, "in")
    if abs(inches) < 2:
        return say("{figure} thou", figure=digits(_bare(f"{inches * 1000:.{2 if finely else 1}f}")))
    return say("{figure} inches", figure=digits(_bare(f"{inches:.{5 if finely else 4}f}")))


def _rounded(value: Fraction, places: int) -> str:
    """Halves go up, as they do on paper: 5.625 is 5.63."""
    units = int(abs(near(value)) * 10**places + Fraction(1, 2))
    sign = "-" if value < 0 and units else ""
    whole, rest = divmod(units, 10**places)
    return f"{sign}{whole}.{rest:0{places}d}"


def digits(text: str) -> str:
    """A decimal figure in words, its places digit by digit, as it is read off a scale."""
    if in_force().written:
        return text
    whole, _, places = text.lstrip("-").partition(".")
    words = number(int(whole))
    if places:
        after = number_by_number(map(int, places))
        words = say("{whole} point {places}", whole=words, places=after)
    return say("minus {figure}", figure=words) if text.startswith("-") else words


def _bare(figures: str) -> str:
    bare = figures.rstrip("0").rstrip(".") if "." in figures else figures
    return "0" if bare in ("-0", "") else bare


def angle_shown(angle_degrees: float | Degrees) -> str:
    """ "26°34'": to the nearest minute, for the eye."""
    minutes = round(abs(float(angle_degrees)) * 60)
    sign = "-" if angle_degrees < 0 and minutes else ""
    whole, rest = divmod(minutes, 60)
    return f"{sign}{whole}°" + (f"{rest}'" if rest else "")


def angle_said(angle_degrees: float | Degrees) -> str:
    """ "twenty-six degrees thirty-four minutes": for the ear."""
    if in_force().written:
        return angle_shown(angle_degrees)
    whole, rest = divmod(round(abs(float(angle_degrees)) * 60), 60)
    large = say_n(whole, "one degree", "{count} degrees")
    small = say_n(rest, "one minute", "{count} minutes")
    if not rest:
        return large
    return say("{degrees} {minutes}", degrees=large, minutes=small) if whole else small
