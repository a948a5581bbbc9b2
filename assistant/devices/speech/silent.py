"""The announcer's substitute where there is no sound: the screen carries the words."""

from __future__ import annotations

from collections.abc import Callable

from assistant.engine.events import Tone


class SilentAnnouncer:
    """Says nothing; a tone is shown instead."""

    def __init__(self, show_tone: Callable[[Tone], None]) -> None:
        self._show_tone = show_tone

    def say(self, text: str, brief: bool = False) -> None:
        """The view shows the last sentence: nothing is left to do here."""

    def signal(self, tone: Tone) -> None:
        self._show_tone(tone)

    def felt(self) -> None:
        """There is nothing to silence, and nothing to tick with."""

    def prepare(self, text: str, brief: bool = False) -> None:
        """There is nothing to make ready."""

    def hush(self) -> None:
        """There is nothing to silence."""

    def busy(self) -> bool:
        return False

    def began(self) -> float | None:
        return None

    def close(self) -> None:
        """There is nothing to free."""
