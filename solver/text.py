"""Exact numbers from the text they come in as: no float is ever in between."""

from __future__ import annotations

import re
from fractions import Fraction

from solver.model import ARCSEC_PER_TURN, Refused, Turns

_LONGEST = 60  # characters: beyond this a text is a slip, and huge powers cost time

NUMBER = r"(?:\d+\s+\d+/\d+|\d+/\d+|\d+\.\d*|\.\d+|\d+)"
_TURN = rf"\s*({NUMBER})\s*(?:turns?|revs?)\s*"
_PARTS = (
    rf"\s*(?:({NUMBER})\s*(?:°|d|deg|degrees?))?"
    rf"\s*(?:({NUMBER})\s*(?:'|\u2032|m|min|minutes?))?"
    rf"\s*(?:({NUMBER})\s*(?:\"|\u2033|''|s|sec|seconds?))?\s*"
)
# An arc given as a length: pi to 30 places, so that the rounding after it decides alone.
_PI = Fraction(3141592653589793238462643383279, 10**30)
MM = {"mm": Fraction(1), "in": Fraction(254, 10), "thou": Fraction(254, 10_000)}
_ARC = rf"\s*({NUMBER})\s*(mm|in|thou)\s+at\s+({NUMBER})\s*(mm|in)\s*"
_COLONS = rf"\s*(\d+)\s*:\s*(\d+)(?:\s*:\s*({NUMBER}))?\s*"
_SPACES = r"\s*(\d+)\s+(\d+)(?:\s+(\d+|\d+\.\d*))?\s*"
CURE = "write it as 8d50m, 8°50', 8:50:00, 8.8333, 2/3 (degrees) or 7/51 turn"


def number_from_text(text: str) -> Fraction:
    """`40`, `81/2`, `40.5` or `1 1/2` as an exact number, 0 or more. Raises Refused."""
    bare = text.strip()
    if len(bare) > _LONGEST or not re.fullmatch(NUMBER, bare, re.ASCII):
        raise Refused(f"{_shown(text)} is no number", "write 40, 40.5, 81/2 or 1 1/2")
    return _number(bare)


def angle_from_text(text: str) -> Turns:
    """An angle as an exact fraction of a turn, 0 or more.

    Degrees with minutes and seconds (`8d50m`, `8°50'30"`, `8:50:30`, `8 50`, `24m`), degrees
    alone (`8.8333`, `2/3`, `11 1/2`), a part of a turn (`7/51 turn`), or an arc at a radius
    (`12 thou at 1.5 in`), which no fraction meets: to a millionth of an arc-second.
    Raises Refused with the cure.
    """
    if len(text) > _LONGEST or not text.strip():
        raise Refused(f"{_shown(text)} is no angle", CURE)
    turn = re.fullmatch(_TURN, text, re.ASCII)
    if turn:
        return Turns(_number(turn.group(1)))
    if re.fullmatch(NUMBER, text.strip(), re.ASCII):
        return Turns(_number(text) / 360)
    if arc := re.fullmatch(_ARC, text, re.ASCII):
        return _arc(text, *arc.groups())
    ways = (_COLONS, _SPACES, _PARTS)
    found = next((m for way in ways if (m := re.fullmatch(way, text, re.ASCII))), None)
    if not found:
        raise Refused(f"{_shown(text)} is no angle", CURE)
    return _from_parts(text, *found.groups())


def _from_parts(text: str, d: str | None, m: str | None, s: str | None) -> Turns:
    degrees, minutes, seconds = (_number(part) if part else Fraction(0) for part in (d, m, s))
    if (d and minutes >= 60) or ((d or m) and seconds >= 60):
        raise Refused(f"{_shown(text)}: minutes and seconds after a larger unit stay below 60", "")
    return Turns(degrees / 360 + minutes / 21600 + seconds / 1296000)


def _arc(text: str, length: str, unit: str, radius: str, at: str) -> Turns:
    """The angle of an arc, in turns, to a millionth of an arc-second."""
    mm = _number(radius) * MM[at]
    if not mm:
        raise Refused(_shown(text), "the radius is more than 0, like 35 mm")
    finest = ARCSEC_PER_TURN * 10**6
    return Turns(Fraction(round(_number(length) * MM[unit] / (2 * _PI * mm) * finest), finest))


def meant_minutes(text: str) -> Turns | None:
    """The whole minutes, in turns, that a bare decimal of degrees is surely a rounding of.

    `8.8333` is 8°49'59.88"; who writes it means 8°50'. None where it is what it says: fewer
    than three places, exact minutes, or further off than its last place.
    """
    found = re.fullmatch(r"\s*\d*\.(\d{3,})\s*(?:°|d|deg|degrees?)?\s*", text, re.ASCII)
    if not found or len(text) > _LONGEST:
        return None
    angle = angle_from_text(text) * 360
    near = Fraction(round(angle * 60), 60)
    place = Fraction(1, 10 ** len(found[1]))
    # Rounded to its last place, or cut off after it.
    short = -place / 2 <= near - angle < place
    return Turns(near / 360) if short and near != angle else None


def _number(text: str) -> Fraction:
    try:
        return sum((Fraction(part) for part in text.split()), Fraction(0))
    except ZeroDivisionError:
        raise Refused(f"{_shown(text)}: nothing can be divided by 0", "") from None


def _shown(text: str) -> str:
    short = " ".join(text.split())
    return repr(short if len(short) <= _LONGEST else short[:_LONGEST] + "...")


def degrees_text(turns: Turns) -> str:
    """An angle for people, to a hundredth of a second: 1/21 turn is `17°8'34.29"`."""
    hundredths = round(turns * 129600000)
    seconds, rest = divmod(abs(hundredths), 100)
    minutes, second = divmod(seconds, 60)
    degree, minute = divmod(minutes, 60)
    shown = f"{'-' if hundredths < 0 else ''}{degree}°"
    if second or rest:
        return shown + f"{minute}'{second}" + (f".{rest:02d}".rstrip("0") if rest else "") + '"'
    return shown + (f"{minute}'" if minute else "")
