"""At which cuts the pin is looked at from the hole that was marked at the start.

A hole that was missed stays missed until something shows it, and the scale does not: every cut
until then is spoilt. Near the mark the look is one of the eye; between, a few holes are counted.
"""

from __future__ import annotations

from assistant.job.programme import Programme
from assistant.job.round_end import shorter

NEAR = 2
"""So many holes are seen without counting."""
LONGEST = 2
"""So many cuts at the most lie between two looks. At the virtual bench (docs/safety.md) that takes
three quarters of the cuts that a missed hole spoils."""


def look_is_due(programme: Programme, place: int, past: int) -> bool:
    """`past`: holes from the mark at this place, by the one circle of all moves.

    Who says his answers aloud, because his foot taps by habit, hears it at every cut: with that
    habit half of the looks are none.
    """
    if abs(past) <= NEAR or programme.answers.lock_and_guard == "voice":
        return True
    circle = programme.moves[0].circle or 1
    if abs(shorter(past + programme.moves[place].holes, circle)) <= NEAR:
        return False  # the next one is seen without counting
    since, at = 0, past
    while abs(at) > NEAR:  # at the first cut the pin is in the marked hole
        since += 1
        at = shorter(at - programme.moves[place - since].holes, circle)
    return since % LONGEST == 0
