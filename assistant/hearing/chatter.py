"""Whether talk is going on: a command stands alone, talk does not.

Nearly all talk that is taken for a phrase is a piece of longer talk: it follows, within a breath,
on words that were none of the phrases.
"""

from __future__ import annotations

BREATH_S = 2.0
"""Silence after which talk is over, in seconds."""

IN_TALK = 0.95
"""Confidence for a phrase while talk is going on."""


class Chatter:
    """Told of every utterance; times in seconds from the start of the stream."""

    def __init__(self) -> None:
        self._until = 0.0

    def heard(self, end_s: float, *, phrase: bool) -> None:
        """An utterance ended then, with one of our phrases in it, or with none."""
        self._until = 0.0 if phrase else end_s + BREATH_S

    def over(self) -> None:
        """What comes now is an answer to us."""
        self._until = 0.0

    def goes_on(self, start_s: float) -> bool:
        """True when an utterance that began then belongs to talk."""
        return start_s < self._until
