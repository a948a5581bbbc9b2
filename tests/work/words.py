"""Sizes as they are said, back into figures: by the words alone."""

from __future__ import annotations

import re
from fractions import Fraction

from num2words import num2words

_WHOLE = {str(num2words(n)).replace(" and ", " ").replace(",", ""): n for n in range(2000)}


def size(words: str) -> Fraction:
    """ "two point nine four " -> 2.94 mm. Raises KeyError for what is no figure."""
    whole, _, places = words.strip().lower().partition(" point ")
    digits = "".join(str(_WHOLE[digit]) for digit in places.split())
    return Fraction(f"{_WHOLE[whole]}.{digits or 0}")


def sizes(text: str) -> list[Fraction]:
    """Every size of a text, in order; a figure is what stands before "millimetres"."""
    found = []
    for words in re.findall(r"((?:[\w-]+ )+?)millimetres?\b", text.lower()):
        tail: list[str] = []
        for word in reversed(words.split()):
            if word != "point" and word not in _WHOLE and word != "hundred":
                break
            tail.insert(0, word)
        found.append(size(" ".join(tail)))
    return found
