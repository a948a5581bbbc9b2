"""Number words as figures, and lengths and angles as numbers: read as a person hears them.

Nothing of the program is used here: this is the listener's own knowledge of English.
"""

from __future__ import annotations

import re
from fractions import Fraction

_SMALL = [
    "zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten",
    "eleven", "twelve", "thirteen", "fourteen", "fifteen", "sixteen", "seventeen", "eighteen",
    "nineteen",
]  # fmt: skip
_TENS = ["twenty", "thirty", "forty", "fifty", "sixty", "seventy", "eighty", "ninety"]
_VALUES = {word: n for n, word in enumerate(_SMALL)} | {"nought": 0} | {
    word: 20 + 10 * n for n, word in enumerate(_TENS)
}  # fmt: skip
_WORD = "|".join(sorted([*_VALUES, "hundred", "thousand", "point", "minus"], key=len, reverse=True))
_RUN = re.compile(rf"\b(?:{_WORD})(?:[ -](?:{_WORD}))*\b", re.IGNORECASE)
_PRONOUN = re.compile(
    r"\b(first|this|that|each|no|next|which|every|the|right|wrong|last|other)$", re.IGNORECASE
)
_ONE_OF_TWO = re.compile(r"^ (side|way|flank|of the|after|by one|and the same)\b", re.IGNORECASE)
MM = {"millimetre": 1, "millimetres": 1, "mm": 1, "inch": 25.4, "inches": 25.4, "in": 25.4,
      "thou": 0.0254}  # fmt: skip


def in_figures(text: str) -> str:
    """ "three point nine two millimetres" becomes "3.92 millimetres"."""

    def replace(found: re.Match[str]) -> str:
        run = found.group()
        before, after = text[: found.start()].rstrip(), text[found.end() :]
        if run.lower() == "one" and (_PRONOUN.search(before) or _ONE_OF_TWO.match(after)):
            return run
        if run.lower() == "point":
            return run
        if run.lower() == "nought" and before.endswith(("at", "to")):
            return run  # a dial at nought, not a figure to be read
        return _value(run) if re.search(r"[a-z]", run.lower()) else run

    return _RUN.sub(replace, text)


def _value(run: str) -> str:
    words = run.lower().replace("-", " ").split()
    sign = "-" if words[0] == "minus" else ""
    words = words[bool(sign) :]
    whole, places = words, []
    if "point" in words:
        cut = words.index("point")
        whole, places = words[:cut], words[cut + 1 :]
    total = part = 0
    for word in whole:
        if word == "hundred":
            part *= 100
        elif word == "thousand":
            total, part = total + part * 1000, 0
        elif word in _VALUES:
            part += _VALUES[word]
    digits = "".join(str(_VALUES[word]) for word in places)
    return f"{sign}{total + part}" + (f".{digits}" if digits else "")


def millimetres(figure: str, unit: str) -> float:
    return float(figure) * MM[unit.lower()]


def number(text: str) -> Fraction:
    return Fraction(text)


LENGTH = r"(?P<{0}>-?\d+(?:\.\d+)?) (?P<{0}_unit>millimetres?|mm|inch(?:es)?|thou)"
ANGLE = r"(?:(?P<{0}_d>\d+(?:\.\d+)?) degrees?)?(?: ?(?P<{0}_m>\d+(?:\.\d+)?) minutes?)?"


def length(found: re.Match[str], name: str) -> float:
    return millimetres(found[name], found[f"{name}_unit"])


def degrees(found: re.Match[str], name: str) -> float:
    return float(found[f"{name}_d"] or 0) + float(found[f"{name}_m"] or 0) / 60


def lengths_in_file(text: str) -> float:
    """A length of a job file, in mm: "24 mm", "0.75 in", "3/8 in", "250 thou"."""
    figure, unit = re.fullmatch(r"\s*([\d./ ]+?)\s*(mm|in|inch|thou|\")\s*", text).groups()  # type: ignore[union-attr]
    value = sum(Fraction(each) for each in figure.split())
    return float(value) * {"mm": 1, "thou": 0.0254}.get(unit, 25.4)


# Widths of the tolerances IT6 to IT11, micrometres, over the size before up to this one (ISO 286-1,
# table 1, from memory); the class h lies under the size.
_CLASSES = {
    10: {"h6": 9, "h7": 15, "h9": 36, "h10": 58, "h11": 90},
    18: {"h6": 11, "h7": 18, "h9": 43, "h10": 70, "h11": 110},
    30: {"h6": 13, "h7": 21, "h9": 52, "h10": 84, "h11": 130},
    50: {"h6": 16, "h7": 25, "h9": 62, "h10": 100, "h11": 160},
    80: {"h6": 19, "h7": 30, "h9": 74, "h10": 120, "h11": 190},
}
_DEVIATION = r"[+-]\d*\.?\d+|0"


# Across flats of hexagon heads, product grade A (ISO 4014; from memory).
_HEADS = {"M8": (12.73, 13.0), "M12": (17.73, 18.0), "M16": (23.67, 24.0)}


def limits_in_file(text: str) -> tuple[float, float]:
    """The least and the greatest size, mm, as a drawing writes them: "24 mm -0.1 +0", "5 mm ±0.05",
    "24 mm h11"; twice the same where it states no limits. "M12" is the head of such a screw."""
    if text.strip() in _HEADS:
        return _HEADS[text.strip()]
    size, _, rest = text.strip().partition(" ")
    unit, _, rest = rest.partition(" ")
    if not rest:
        return (lengths_in_file(text),) * 2
    nominal, scale = lengths_in_file(f"{size} {unit}"), MM[unit]
    if found := re.fullmatch(rf"({_DEVIATION})\s+({_DEVIATION})", rest):
        off = sorted(float(each) * scale for each in found.groups())
        return nominal + off[0], nominal + off[1]
    if found := re.fullmatch(r"±\s*(\d*\.?\d+)", rest):
        return nominal - float(found[1]) * scale, nominal + float(found[1]) * scale
    row = next(widths for most, widths in _CLASSES.items() if nominal <= most)
    return nominal - row[rest] / 1000, nominal


def deviations_in_file(text: str) -> tuple[float, float]:
    """ "-0.15 -0.05 mm": from a size that the drawing office works out, mm."""
    one, other, unit = text.split()
    low, high = sorted((float(one) * MM[unit], float(other) * MM[unit]))
    return low, high


def degrees_in_file(text: str | float) -> float:
    """An angle of a job file: "60d", "14d30m", "8.8333", "2/3", "7/51 turn"."""
    words = str(text).strip()
    if words.endswith("turn"):
        return float(Fraction(words[:-4].strip()) * 360)
    found = re.fullmatch(r"(?:([\d./]+)\s*[d°])?\s*(?:([\d./]+)\s*[m'])?", words)
    if found and words:
        return float(Fraction(found[1] or 0) + Fraction(found[2] or 0) / 60)
    return float(Fraction(words))
