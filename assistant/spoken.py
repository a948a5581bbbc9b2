"""Numbers and counts as they are spoken."""

from __future__ import annotations

from fractions import Fraction
from functools import cache

from num2words import num2words


@cache
def number(value: int) -> str:
    """ "forty-nine": a whole number in words, 0 to a million."""
    return str(num2words(value)).replace(",", "").replace(" and ", " ")


def count(value: int, one: str, many: str = "") -> str:
    """ "one turn", "four turns"."""
    return f"{number(value)} {one if value == 1 else many or one + 's'}"


def capital(text: str) -> str:
    return text[:1].upper() + text[1:]


def decimal(value: Fraction) -> str:
    """ "seventeen point one": one place, and no place where the value is whole."""
    tenths = round(abs(value) * 10)
    whole, tenth = divmod(tenths, 10)
    return number(whole) + (f" point {number(tenth)}" if tenth else "")
