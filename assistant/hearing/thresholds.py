"""How sure the ear must be, and how soon it may answer.

Waiting out the silence after a phrase is most of the delay that a person feels. A winner that
is certain soon after the voice fell silent is almost never another phrase later; one that is
less certain gets more of the silence. And what makes sense now is said far more often than
what does not.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping
from typing import TypeVar

EARLY = ((0.25, 0.6), (0.18, 0.7), (0.12, 0.8), (0.06, 0.95))
"""Silence in seconds, and the confidence that is enough after it, the longest first. The sooner,
the stricter: the pause may be one within the phrase."""

EARLY_LOCK_OR_GUARD = ((0.25, 0.93), (0.18, 0.96), (0.12, 0.98))
"""The same for the phrases that let a cutter near the work: what follows may still change the
meaning ("guard closed ... not yet")."""

UNEXPECTED = 0.97
"""Confidence for a phrase that makes no sense now. It is answered "not now", and much more often
it is talk that was taken for it. Chosen on voices and pieces of talk that the figures do not count
(decision 773): 0.98 begins to cost phrases by voices that do not whisper."""

SHORT_S, SHORT = 0.5, 0.9
"""A voice of less than half a second is a single word, whatever it sounds like, unless the ear is
nearly certain. Of 533 phrases said at 0.8 to 1.25 of the usual pace the shortest hundredth took
0.54 s."""

FIGURE = 0.6
"""Under it a single figure of a size is not taken. Lower, more figures are heard beside a mill, and
so is the mill: at 0.2 every sixth second of machine noise is a figure, at 0.6 none."""

PRIOR = 0.05
"""How much likelier a phrase is when it makes sense now: twenty times, a guess on the low side."""

AnyKey = TypeVar("AnyKey")


def certain(confidence: float, quiet_s: float, *, strict: bool) -> bool:
    """True when an utterance that seems over may be answered now; `strict` for the phrases
    that let a cutter near the work; `quiet_s` is the silence since the voice, in seconds."""
    steps = EARLY_LOCK_OR_GUARD if strict else EARLY
    return any(quiet_s >= silence and confidence >= needed for silence, needed in steps)


def in_this_step(
    winner: AnyKey, confidence: float, others: Mapping[AnyKey, float], expected: Collection[AnyKey]
) -> float:
    """The winner's confidence, 0 to 1, when it makes sense now: of doubt about phrases that
    make no sense, `others` with their shares, a twentieth counts. A winner that makes no sense
    itself stays as it is: nothing else is ever put in its place."""
    if winner not in expected:
        return confidence
    unlikely = sum(share for key, share in others.items() if key not in expected)
    return confidence / (1 - (1 - PRIOR) * min(unlikely, 1 - confidence))
