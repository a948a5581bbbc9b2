"""Whether the pedal is still a foot: answers sooner than a question can be heard, again and again,
come from a loose contact, an echo, or something that lies on it."""

from __future__ import annotations

from dataclasses import replace

from assistant.engine.events import Gesture, PedalUsed

HASTY = 3
"""So many answers before their questions were heard, and the pedal is believed no more."""
QUIET_S = 30.0
"""What a faulty contact does not do by chance: nothing at all for so long. Contacts once a second
at random would need e**30 seconds for it."""


class PedalWatch:
    """Judges press by press; times are those of the events."""

    def __init__(self) -> None:
        self._last = float("-inf")
        self._hasty = 0
        self.doubted = False

    def judge(self, event: PedalUsed, needed: float) -> PedalUsed:
        """The event, marked as not to be trusted where the pedal is doubted. `needed` is how long
        the question takes to be understood, seconds."""
        if event.source != "pedal":
            return event
        if event.at - self._last >= QUIET_S:
            self._hasty, self.doubted = 0, False
        self._last = event.at
        if event.gesture is Gesture.PRESS:
            self._count(event.waited, needed)
        return replace(event, trusted=not self.doubted)

    def _count(self, waited: float, needed: float) -> None:
        if waited < needed:
            self._hasty += 1
        else:
            # In a long job a few come too soon: what came in time since makes up for them. A fault
            # can't live on that: at a lock it is too soon each time, and the job stands there.
            self._hasty = max(0, self._hasty - 1)
        self.doubted = self.doubted or self._hasty >= HASTY
