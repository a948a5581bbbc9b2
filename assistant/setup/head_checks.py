"""Contradictions in the description of a head: each a plain sentence with what to do.

Facts of the trade used here (common practice): on one side of a plate the circles lie one
within the other with much the same space from hole to hole, so the counts grow from the
inside out; no circle is drilled twice on one plate.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from fractions import Fraction

from solver import Refused, number_from_text

LEAST_HOLES, MOST_HOLES = 2, 1000


def circle_fault(holes: int, plate: Sequence[int]) -> str:
    """Why a count can't be right, or nothing. `plate`: the circles counted before it."""
    if not LEAST_HOLES <= holes <= MOST_HOLES:
        return f"{holes} holes: a circle has {LEAST_HOLES} to {MOST_HOLES}; count again"
    if holes in plate:
        return f"{holes} is on this plate already; count both circles again"
    return ""


def circle_doubt(holes: int, plate: Sequence[int], others: Sequence[Sequence[int]]) -> str:
    """Why a count may be wrong, or nothing: to be asked about."""
    if plate and holes < plate[-1]:
        inner = plate[-1]
        return f"{holes} lies outside {inner} and has fewer holes; a larger circle usually has more"
    for nth, other in enumerate(others):
        if holes in other:
            return f"{holes} is on plate {nth + 1} too; makers seldom drill one twice"
    return ""


def ratio_fault(worm_ratio: Fraction, counted: Fraction) -> str:
    """Whether the crank's turns for one turn of the spindle are those of the worm."""
    if counted == worm_ratio:
        return ""
    told, turned = _shown(worm_ratio), _shown(counted)
    return (
        f"you said {told} to 1 and counted {turned} turns: "
        "mark the spindle and the crank, and count again"
    )


def chart_fault(
    worm_ratio: Fraction, plates: Sequence[Sequence[int]], row: tuple[int, int, int, int]
) -> str:
    """Whether a row of the head's own chart can be: divisions, turns, holes, circle.

    The rule: divisions x (turns + holes / circle) = turns of the crank for one of the spindle.
    """
    divisions, turns, holes, circle = row
    if divisions < 2 or turns < 0 or holes < 0:
        return "a row is divisions (2 or more), whole turns, holes, circle"
    if holes and circle not in [each for plate in plates for each in plate]:
        return f"no plate has a circle of {circle}: a plate is missing, or a count is wrong"
    if holes >= max(circle, 1):
        return f"{holes} holes on a circle of {circle} are a whole turn or more: read the row again"
    ratio = divisions * (turns + (Fraction(holes, circle) if holes else Fraction(0)))
    if ratio == worm_ratio:
        return ""
    return (
        f"this row fits a head of {_shown(ratio)} to 1, not {_shown(worm_ratio)} to 1: "
        "read it again, or the ratio is another"
    )


def head_number(text: str) -> Fraction:
    """A ratio or a count: 40, 40.5 or 81/2; also 40:1, 1:40 and "40 to 1", as a head is stamped.

    Raises Refused.
    """
    found = number_from_text(_bare(text))
    if not 1 <= found <= 1000:
        raise Refused(repr(text), "give a number from 1 to 1000")
    return found


_TO_ONE = re.compile(r"\s*(?:1\s*(?::|to)\s*(.+?)|(.+?)\s*(?::|to)\s*1)\s*", re.IGNORECASE)


def _bare(text: str) -> str:
    """ "40" of "40:1"; any other text as it is."""
    found = _TO_ONE.fullmatch(text)
    return (found[1] or found[2]) if found else text


def _shown(value: Fraction) -> str:
    return str(value) if value.denominator <= 1000 else f"{float(value):.4f}"
