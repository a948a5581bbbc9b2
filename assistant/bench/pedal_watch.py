"""Whether the pedal is a foot: answers sooner than a question can be heard, again and again, come
from a loose contact, an echo, or something that lies on it.

Lock and guard are taken only from a pedal whose contact was still for half a minute since the
session began: no fault of those that come once a second or oftener is, and everybody's is who
listens to the first sentences or sets the machine up. So it has no first lock to stamp by chance.
"""

from __future__ import annotations

from dataclasses import replace

from assistant.engine.events import Gesture, PedalUsed, Source

HASTY = 3
"""So many answers before their questions were heard, and the pedal is believed no more."""
AFTER_HASTY_S = 10.0
"""So long it must have been quiet after one answer too soon before it counts for lock and guard.
Contacts once a second at random leave such a gap once in 20,000, once in two seconds once in 150.
Each further one meanwhile makes it as much longer, up to `QUIET_S`: a foot can wait."""
QUIET_S = 30.0
"""What a faulty contact does not do by chance: nothing at all for so long. Contacts once a second
at random would need e**30 seconds for it."""


class PedalWatch:
    """Judges press by press; times are those of the events. `proven`: it is a foot for certain."""

    def __init__(self, *, proven: bool = False) -> None:
        self._last = float("-inf")
        self._hasty = 0
        self._proven = proven
        self._was_hasty = False
        self._restless = 0  # contacts since that one, each too soon after the one before it
        self.doubted = False

    def judge(
        self, event: PedalUsed, needed: float, *, careful: bool, quick: bool = False
    ) -> PedalUsed:
        """The event, marked as not to be trusted where the pedal is doubted, or not proven and
        the question `careful`: one for lock or guard. `needed` is how long the question takes to
        be understood, seconds; `quick`: far under the person's own time for it. A contact that
        moved meanwhile has not waited for it."""
        if event.source != Source.PEDAL:
            return event
        waited = min(event.waited, event.still)
        if event.still >= QUIET_S:
            self._proven = True
            if event.at - self._last >= QUIET_S:
                self._hasty, self.doubted = 0, False
        self._last = event.at
        unheard = waited < needed
        hasty = quick or unheard
        # After one that came before it could be heard: a foot that was told, or the next contact.
        # A foot can wait. Who was quicker than usual heard the question, and need not.
        quiet = min(QUIET_S, AFTER_HASTY_S * (1 + self._restless))
        restless = careful and self._was_hasty and not hasty and event.still < quiet
        if event.gesture is Gesture.PRESS and not restless:
            self._was_hasty = unheard
            self._count(hasty=hasty)
        self._restless = self._restless + 1 if restless else 0
        trusted = not self.doubted and (self._proven or not careful) and not restless
        return replace(event, waited=waited, trusted=trusted)

    def _count(self, *, hasty: bool) -> None:
        if hasty:
            self._hasty += 1
        else:
            # In a long job a few come too soon: what came in time since makes up for them. A fault
            # can't live on that: at a lock it is too soon each time, and the job stands there.
            self._hasty = max(0, self._hasty - 1)
        self.doubted = self.doubted or self._hasty >= HASTY
