"""When a soft tone tells that the ear is open again.

Our own voice is never listened to, so that what is said over it is lost: who has not heard the
tone yet knows that nobody has heard him. Who answers by the foot has no use for it.
"""

from __future__ import annotations

SENTENCES = 9
"""Three cuts in few words. After so many without a phrase that was taken the tone stays away, until
one is."""


class OpeningTone:
    """Counts what is said between two phrases. Asked and told in two threads."""

    def __init__(self) -> None:
        self._since = 0

    def heard(self) -> None:
        """A phrase was taken: this person speaks."""
        self._since = 0

    def due(self) -> bool:
        """Something has been said to its end, and the ear opens: whether the tone tells it."""
        self._since += 1
        return self._since <= SENTENCES
