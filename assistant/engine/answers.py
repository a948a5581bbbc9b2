"""When an answer can be one: not before its question could be understood."""

from __future__ import annotations

from assistant.engine import wording
from assistant.engine.allowed import is_for_lock_or_guard
from assistant.engine.pace import is_brief
from assistant.engine.state import State
from assistant.job.programme import Programme

REACTION_S = 0.2
"""A practised person needs about so long to react to a sound (common figure, from memory)."""
LETTER_S = 0.06
"""Seconds that a letter takes to say at the usual pace. Measured with the program's own voice:
0.08 to 0.12. Less than that, so that nobody who heard the question out is refused."""

BRISK_LETTER_S = 0.045
"""The same of the few words that are known by rote (`[speech] brisk`): 0.048 to 0.06, and 0.045
at the briskest that the settings allow; who answers has to react to it besides."""

USUAL_LETTER_S, USUAL_BRISK_LETTER_S = 0.085, 0.045
"""What a letter takes as a rule, for how long the hands needed: with the figures above a foot that
waits for the end of each sentence would seem slow in whole sentences, and too quick in few words.
Measured on real sound: 0.074 to 0.085, and 0.03 to 0.045."""

LEAST_FOR_CARE_S = 1.0
"""However short the call: no hand locks a spindle or closes a guard, and is clear of it, sooner
(judged)."""


def understood_after(programme: Programme, state: State) -> float:
    """Seconds from the beginning of the present question until an answer to it can be one.

    Lock and guard: until the question has been said, without what only tells how to answer.
    `programme` is the stage of `state`.
    """
    if not is_for_lock_or_guard(state):
        return REACTION_S
    return max(LEAST_FOR_CARE_S, said_s(programme, state))


def said_s(programme: Programme, state: State) -> float:
    """Seconds that the present question takes to say at the least, without what only tells how to
    answer."""
    letter = BRISK_LETTER_S if is_brief(programme, state) else LETTER_S
    return letter * _letters(programme, state)


def usually_said_s(programme: Programme, state: State) -> float:
    """The same, in seconds, as long as it takes as a rule."""
    letter = USUAL_BRISK_LETTER_S if is_brief(programme, state) else USUAL_LETTER_S
    return letter * _letters(programme, state)


def _letters(programme: Programme, state: State) -> int:
    return len(wording.asked_alone(programme, state))
