"""Cuts made so many spaces apart, round after round, so that the heat of one is gone at the next.

A step without a common divisor with the count meets every place once before it comes back to the
first (number theory); with one it would go round in the same few places.
"""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from math import gcd

from assistant.job.part import Cut, Part, Round
from assistant.words.language import number, say

MOST = 100


def order(each: Round, step: int) -> tuple[Cut, ...]:
    """The cuts of a round as they are made with this step."""
    cuts = sorted(each.cuts, key=lambda cut: cut.at)
    return tuple(cuts[n * step % len(cuts)] for n in range(len(cuts)))


def fault(part: Part, step: int, at_a_time: int) -> str:
    """Why the part can't be cut so, with the cure; "" where it can. `at_a_time` is how many
    divisions the set-up itself takes in a move."""
    if at_a_time > 1:
        return (
            f"every = {step}: the best set-up takes {at_a_time} divisions at a time already: "
            "leave it out"
        )
    for each in part.rounds:
        if each.own_order or not each.closed or not _equal(each.cuts):
            return f"every = {step}: for cuts at equal spaces all the way round: leave it out"
        count = len(each.cuts)
        if step >= count:
            return f"every = {step}: give less than the {count} cuts"
        if gcd(step, count) > 1:
            return (
                f"every = {step}: {count} has the divisor {gcd(step, count)} with it, so that some "
                f"would never be met: give {_near(step, count)}"
            )
    return ""


def _equal(cuts: Sequence[Cut]) -> bool:
    places = sorted(cut.at for cut in cuts)
    space = Fraction(1, len(places))
    return all(place - places[0] == n * space for n, place in enumerate(places))


def _near(step: int, count: int) -> str:
    """ "5 or 7": the nearest steps that meet every place."""
    good = [each for each in range(2, count) if gcd(each, count) == 1]
    near = sorted(sorted(good, key=lambda each: abs(each - step))[:2])
    return " or ".join(map(str, near)) or "no step: these cuts come one after the other"


def block_step(step: int) -> str:
    """For the set-up list."""
    return say(
        "The cuts come {n} spaces apart, {n} times round: the heat does not add up.",
        n=number(step),
    )
