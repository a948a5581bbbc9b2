"""Which involute form cutter of a set of eight, or of fifteen, cuts a number of teeth.

Ranges as printed in J. Rose, Modern Machine-Shop Practice (1887-88), gear-cutter section;
sets by diametral pitch count from the rack, sets by module the other way (common practice).
"""

from __future__ import annotations

from fractions import Fraction

from assistant.words.language import number, say

# Smallest number of teeth of cutters 1 to 8 of a set by diametral pitch.
_LEAST = (135, 55, 35, 26, 21, 17, 14, 12)
FEWEST = _LEAST[-1]
# Of 1 1/2 to 7 1/2, which a set of fifteen has besides: each cuts from so many teeth to the end of
# the range of the next whole number (handbooks' table, from memory).
_LEAST_OF_HALVES = (80, 42, 30, 23, 19, 15, 13)


def dp_number(teeth: float | Fraction) -> int | None:
    """The cutter's number in a diametral pitch set; None below 12 teeth.

    Teeth that are not whole (virtual teeth of bevel and helical gears) take the cutter of
    the nearest whole number, whose outline theirs is nearest to: 34.95 takes that of 35.
    """
    whole = Fraction(teeth) + Fraction(1, 2)
    return next((n for n, least in enumerate(_LEAST, 1) if whole >= least), None)


def module_number(teeth: float | Fraction) -> int | None:
    """The cutter's number in a module set: 1 is for 12 and 13 teeth."""
    dp = dp_number(teeth)
    return None if dp is None else 9 - dp


def teeth_range(dp: int) -> tuple[int, int | None]:
    """The teeth that a diametral pitch cutter is for; None stands for the rack."""
    return _LEAST[dp - 1], None if dp == 1 else _LEAST[dp - 2] - 1


def half_number_from(dp: float | Fraction) -> int:
    """The fewest teeth for a half number (1.5 to 7.5) of a set by diametral pitch."""
    return _LEAST_OF_HALVES[int(dp) - 1]


def half_number(teeth: float | Fraction) -> float | None:
    """The number with a half, by diametral pitch, of a set of fifteen that comes nearer than that
    of a set of eight; None where the whole one is the nearest there too."""
    dp = dp_number(teeth)
    if dp is None or dp == 1 or Fraction(teeth) + Fraction(1, 2) < _LEAST_OF_HALVES[dp - 2]:
        return None
    return dp - 0.5


def range_text(dp: int) -> str:
    """ "21 to 25 teeth"."""
    least, most = teeth_range(dp)
    return f"{least} teeth to the rack" if most is None else f"{least} to {most} teeth"


def cutter_shown(teeth: float | Fraction, *, special: bool = False) -> str:
    """Both numbers, so that the one stamped on the cutter is among them."""
    dp = dp_number(teeth)
    if dp is None:
        return f"none: form cutters begin at {FEWEST} teeth"
    if special:
        return "a special one, made for this gear"
    both = f"no. {dp} by diametral pitch, no. {module_number(teeth)} by module ({range_text(dp)})"
    half = half_number(teeth)
    if half is None:
        return both
    least, most = half_number_from(half), teeth_range(dp)[1]
    told = f"{least} to {most} teeth" if least != most else f"{least} teeth"
    return f"{both}, or {_halved(half)} and {_halved(9 - half)} of a set of fifteen ({told})"


def finer_said(teeth: float | Fraction) -> str:
    """The half numbers of a set of fifteen, where they come nearer; else nothing."""
    if (half := half_number(teeth)) is None:
        return ""
    return say(
        "Of a set of fifteen better {dp} and a half, or by module {module} and a half.",
        dp=number(int(half)), module=number(int(9 - half)),
    )  # fmt: skip


def _halved(stamped: float) -> str:
    return f"{int(stamped)}½"
