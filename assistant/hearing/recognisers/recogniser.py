"""What every recogniser offers: an utterance in, the best guess with a confidence out.

Each is one file with one class that fits `Ear`.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Protocol

from assistant.engine.events import Command
from assistant.errors import Unusable


class EarUnusable(Unusable):
    """The ear can't be opened or has failed."""


@dataclass(frozen=True, slots=True)
class Guess:
    """What an ear makes of an utterance.

    `confidence` is 0 to 1 and comparable between ears: 0.6 takes nearly all that is said
    clearly in a quiet shop, 0.9 is for what must not be taken by mistake.
    """

    text: str
    command: Command | None
    confidence: float
    others: Mapping[Command, float] = field(default_factory=dict)
    """How likely other commands are, where the ear can tell."""


class Recogniser(Protocol):
    """A recogniser. Used by one thread. Opening it, and `recognise`, may raise EarUnusable."""

    name: str
    notes: tuple[str, ...]  # a line for each thing it can't do, for the person
    quick: bool  # it may be asked several times while a silence lasts

    def recognise(self, pcm: bytes) -> Guess:
        """The best guess at 16 kHz mono PCM with half a second of run-up before the voice."""
