"""A measurement as it is spoken: words to an exact number, and the grammar of such words.

"nineteen point zero five", "one nine point oh five", "seven hundred and fifty thou",
"minus two thou", "three point five millimetres". Figures after the point are said one by
one. Nothing here decides what the number means: it is read back and confirmed elsewhere.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from assistant.engine.phrases import normalise

DIGITS = {
    "zero": 0,
    "oh": 0,
    "nought": 0,
    "one": 1,
    "two": 2,
    "three": 3,
    "four": 4,
    "five": 5,
    "six": 6,
    "seven": 7,
    "eight": 8,
    "nine": 9,
}
_TEENS = {
    "ten": 10,
    "eleven": 11,
    "twelve": 12,
    "thirteen": 13,
    "fourteen": 14,
    "fifteen": 15,
    "sixteen": 16,
    "seventeen": 17,
    "eighteen": 18,
    "nineteen": 19,
}
_TENS = {
    "twenty": 20,
    "thirty": 30,
    "forty": 40,
    "fifty": 50,
    "sixty": 60,
    "seventy": 70,
    "eighty": 80,
    "ninety": 90,
}
UNITS = {
    "thou": "thou",
    "inch": "inch",
    "inches": "inch",
    "millimetre": "mm",
    "millimetres": "mm",
    "degree": "degree",
    "degrees": "degree",
}
PRONUNCIATIONS = {"nought": "N AO T"}
"""Words that the dictionary of PocketSphinx lacks."""

SIGNS = ("minus", "under")
"""Below nought, before the figure: as an indicator shows it."""

_POINT, _HUNDRED, _AND = "point", "hundred", "and"
MOST_PLACES = 4
"""Figures after the point: no hand tool in a shop reads finer than a ten-thousandth."""


@dataclass(frozen=True, slots=True)
class SpokenNumber:
    """`value` exactly as said, in `unit` ("thou", "inch", "mm", "degree" or "" when none was)."""

    value: Fraction
    unit: str


def number_words() -> tuple[str, ...]:
    """Every word that a spoken number may hold."""
    known = (*DIGITS, *_TEENS, *_TENS, *UNITS, _POINT, *SIGNS, _HUNDRED, _AND)
    return tuple(sorted(known))


def digit_words() -> list[str]:
    """The words that are said one by one: digits and "point"."""
    return sorted([*DIGITS, _POINT])


def number_from(text: str) -> SpokenNumber | None:
    """The number in the words, or None when the words are no number: the person is asked again."""
    said = normalise(text).split()
    unit = ""
    if said and said[-1] in UNITS:
        unit = UNITS[said.pop()]
    sign = -1 if said[:1] and said[0] in SIGNS else 1
    said = said[1:] if sign < 0 else said
    whole, point, after = _cut(said)
    if point and (not after or len(after) > MOST_PLACES or any(w not in DIGITS for w in after)):
        return None
    value = _whole(whole) if whole else (0 if point else None)
    if value is None:
        return None
    figures = "".join(str(DIGITS[w]) for w in after)
    return SpokenNumber(sign * (value + Fraction(int(figures or 0), 10 ** len(figures))), unit)


def _cut(said: list[str]) -> tuple[list[str], bool, list[str]]:
    if _POINT not in said:
        return said, False, []
    at = said.index(_POINT)
    return said[:at], True, said[at + 1 :]


def _whole(said: list[str]) -> int | None:
    """A whole number, 0 to 9999: digit by digit, or as it is read."""
    if all(w in DIGITS for w in said):
        return int("".join(str(DIGITS[w]) for w in said)) if len(said) <= 4 else None
    if _HUNDRED in said:
        at = said.index(_HUNDRED)
        hundreds = _below_hundred(said[:at])
        rest = said[at + 1 :]
        if rest[:1] == [_AND]:
            rest = rest[1:] or ["?"]
        low = _below_hundred(rest) if rest else 0
        if not hundreds or low is None:
            return None
        return hundreds * 100 + low
    return _below_hundred(said)


def _below_hundred(said: list[str]) -> int | None:
    match said:
        case [one] if one in DIGITS:
            return DIGITS[one]
        case [teen] if teen in _TEENS:
            return _TEENS[teen]
        case [ten] if ten in _TENS:
            return _TENS[ten]
        case [ten, one] if ten in _TENS and DIGITS.get(one):
            return _TENS[ten] + DIGITS[one]
    return None


def number_grammar() -> str:
    """All spoken numbers as a grammar (JSpeech Grammar Format, W3C note of 2000)."""

    def one_of(several: dict[str, object] | dict[str, int] | dict[str, str]) -> str:
        return " | ".join(several)

    return "\n".join(
        (
            "#JSGF V1.0;",
            "grammar numbers;",
            "public <number> = [ minus | under ] <amount> [ <unit> ] ;",
            "<amount> = <whole> [ point <after> ] | point <after> ;",
            f"<digit> = {one_of(DIGITS)} ;",
            f"<teen> = {one_of(_TEENS)} ;",
            f"<ten> = {one_of(_TENS)} ;",
            f"<unit> = {one_of(UNITS)} ;",
            "<low> = <digit> | <teen> | <ten> [ <digit> ] ;",
            "<figures> = <digit> <digit> [ <digit> ] [ <digit> ] ;",
            "<whole> = <low> | <low> hundred [ [ and ] <low> ] | <figures> ;",
            "<after> = <digit> [ <digit> ] [ <digit> ] [ <digit> ] ;",
        )
    )
