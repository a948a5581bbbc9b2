"""Whether an answer may come before the silence after a phrase has run out.

Waiting out the silence is most of the delay that a person feels. A winner that is certain
soon after the voice fell silent is almost never another phrase later; one that is not certain
gets the rest of the silence.
"""

from __future__ import annotations

CERTAIN = 0.9
CERTAIN_LOCK_OR_GUARD = 0.98
"""Confidence for an early answer. Stricter than for a late one: what follows may still change
the meaning ("guard closed ... not yet")."""

STRICT_WAIT_S = 0.19
"""Silence that must have passed before a lock or guard phrase is answered early."""

UNEXPECTED = 0.9
"""Confidence for a phrase that makes no sense now. It is answered "not now", and much more often
it is talk that was taken for it."""


def certain(confidence: float, quiet_s: float, *, strict: bool) -> bool:
    """True when an utterance that seems over may be answered now; `strict` for the phrases
    that let a cutter near the work; `quiet_s` is the silence since the voice, in seconds."""
    if strict:
        return confidence >= CERTAIN_LOCK_OR_GUARD and quiet_s >= STRICT_WAIT_S
    return confidence >= CERTAIN
