"""How numbers are spoken, so that a shop's noise can't turn fifteen into fifty.

The sentence on the screen and in the record stays as it is; only the voice says more. Which way
is clearest was measured: tests/bench/spoken_numbers.py, docs/decisions/704-numbers-aloud.md.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from functools import cache

from assistant.words.language import number, speaking

MANNERS = ("sure", "plain", "digits")
_MOST = 999  # no circle, no count of turns and no angle is larger


def clearly(text: str, manner: str, language: str) -> str:
    """The sentence as the voice is to say it.

    `sure`: teens and tens are followed by their digits, "fifteen, one five". `digits`: every
    number from ten on is its digits alone, "one five". `plain`: as it is written.
    """
    if manner == "plain":
        return text
    pattern, numbers = _known(language)
    if pattern is None:
        return text
    form = _FORMS[manner]
    with speaking(language):
        return pattern.sub(lambda found: form(found, numbers[found[1].lower()]), text)


def mistakable(value: int) -> bool:
    """A teen or a round ten: the two differ in an end that noise swallows."""
    last = value % 100
    return 13 <= last <= 19 or (last >= 30 and last % 10 == 0)


def one_by_one(value: int) -> str:
    """ "one five"."""
    return " ".join(number(int(digit)) for digit in str(value))


def _sure(found: re.Match[str], value: int) -> str:
    if not mistakable(value):
        return found[0]
    # A pause on both sides, unless the sentence makes one itself.
    after = "," if found[2] else ""
    return f"{found[1]}, {one_by_one(value)}{after}{found[2]}"


def _digits(found: re.Match[str], value: int) -> str:
    return (one_by_one(value) if value > 9 else found[1]) + found[2]


_FORMS: dict[str, Callable[[re.Match[str], int], str]] = {"sure": _sure, "digits": _digits}


@cache
def _known(language: str) -> tuple[re.Pattern[str] | None, dict[str, int]]:
    """The words of every number, longest first, and their values; no pattern for a language
    whose numbers are left in figures."""
    with speaking(language):
        numbers = {number(value).lower(): value for value in range(_MOST + 1)}
    if any(word.isdigit() for word in numbers):
        return None, numbers
    words = "|".join(re.escape(word) for word in sorted(numbers, key=len, reverse=True))
    # Not in the middle of a longer word or number; the blank after it belongs to the match.
    return re.compile(rf"(?<![\w-])({words})(?![\w-])(\s?)", re.IGNORECASE), numbers
