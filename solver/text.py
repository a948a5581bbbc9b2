"""Exact numbers from the text they come in as: no float is ever in between."""

from __future__ import annotations

import re
from fractions import Fraction

from solver.model import Refused

_LONGEST = 60  # characters: beyond this a text is a slip, and huge powers cost time

NUMBER = r"(?:\d+\s+\d+/\d+|\d+/\d+|\d+\.\d*|\.\d+|\d+)"
_TURN = rf"\s*({NUMBER})\s*(?:turns?|revs?)\s*"
_PARTS = (
    rf"\s*(?:({NUMBER})\s*(?:°|d|deg|degrees?))?"
    rf"\s*(?:({NUMBER})\s*(?:'|\u2032|m|min|minutes?))?"
    rf"\s*(?:({NUMBER})\s*(?:\"|\u2033|''|s|sec|seconds?))?\s*"
)
CURE = "write it as 8d50m, 8°50', 8.8333, 2/3 (degrees) or 7/51 turn"


def number_from_text(text: str) -> Fraction:
    """`40`, `81/2`, `40.5` or `1 1/2` as an exact number, 0 or more. Raises Refused."""
    bare = text.strip()
    if len(bare) > _LONGEST or not re.fullmatch(NUMBER, bare, re.ASCII):
        raise Refused(f"{_shown(text)} is no number: write 40, 40.5, 81/2 or 1 1/2")
    return _number(bare)


def angle_from_text(text: str) -> Fraction:
    """An angle as an exact fraction of a turn, 0 or more.

    Degrees with minutes and seconds (`8d50m`, `8°50'30"`, `24m`), degrees alone (`8.8333`,
    `2/3`, `11 1/2`), or a part of a turn (`7/51 turn`). Raises Refused with the cure.
    """
    if len(text) > _LONGEST or not text.strip():
        raise Refused(f"{_shown(text)} is no angle: {CURE}")
    turn = re.fullmatch(_TURN, text, re.ASCII)
    if turn:
        return _number(turn.group(1))
    if re.fullmatch(NUMBER, text.strip(), re.ASCII):
        return _number(text) / 360
    found = re.fullmatch(_PARTS, text, re.ASCII)
    if not found:
        raise Refused(f"{_shown(text)} is no angle: {CURE}")
    return _from_parts(text, *found.groups())


def _from_parts(text: str, d: str | None, m: str | None, s: str | None) -> Fraction:
    degrees, minutes, seconds = (_number(part) if part else Fraction(0) for part in (d, m, s))
    if (d and minutes >= 60) or ((d or m) and seconds >= 60):
        raise Refused(f"{_shown(text)}: minutes and seconds after a larger unit stay below 60")
    return degrees / 360 + minutes / 21600 + seconds / 1296000


def _number(text: str) -> Fraction:
    try:
        return sum((Fraction(part) for part in text.split()), Fraction(0))
    except ZeroDivisionError:
        raise Refused(f"{_shown(text)}: nothing can be divided by 0") from None


def _shown(text: str) -> str:
    short = " ".join(text.split())
    return repr(short if len(short) <= _LONGEST else short[:_LONGEST] + "...")


def degrees_text(turns: Fraction) -> str:
    """An angle for people, to a hundredth of a second: 1/21 turn is `17°8'34.29"`."""
    hundredths = round(turns * 129600000)
    seconds, rest = divmod(abs(hundredths), 100)
    minutes, second = divmod(seconds, 60)
    degree, minute = divmod(minutes, 60)
    shown = f"{'-' if hundredths < 0 else ''}{degree}°"
    if second or rest:
        return shown + f"{minute}'{second}" + (f".{rest:02d}".rstrip("0") if rest else "") + '"'
    return shown + (f"{minute}'" if minute else "")
