"""Tells the pedal's gestures apart, in one of several manners. Pure: it is told the time.

`hold`: a press is told as the foot comes up, a short hold says again, a long one pauses.
`double`: two presses say again, a hold pauses; so a press is told only when no second followed.
`second`, `second-pauses`: those of a second pedal, none of which answers anything.

A press confirms a lock or a guard, so every doubt is settled on the safe side: a contact
shorter than `BOUNCE_S` is no press, a repeat of the same key is no press, and a quick press
behind another confirms nothing in either manner.
"""

from __future__ import annotations

from enum import StrEnum

from assistant.engine.events import Gesture

BOUNCE_S = 0.03
"""A contact must stay as it is for this long to count (seconds)."""
SECOND_PRESS_S = 0.35
"""A second press that begins this soon after the first one's release makes a double."""
HOLD_S = 0.8
"""Held for this long it is a hold, told while the foot is still down."""
SHORT_HOLD_S, LONG_HOLD_S = 0.5, 1.5
"""In the manner of holds: from here it is no press, and from there it is the long one."""
AGAIN_S = 0.6
"""A press that begins this soon after the last one's release is no answer of its own."""
STUCK_S = 5.0
"""Held for this long something lies on the pedal, or it is broken."""


class Manner(StrEnum):
    """What a press and a hold mean."""

    HOLD = "hold"
    DOUBLE = "double"
    SECOND = "second"  # a press says again, a hold pauses
    SECOND_PAUSES = "second-pauses"  # the other way round


_OF_THE_SECOND = {
    Manner.SECOND: (Gesture.SHORT_HOLD, Gesture.HOLD),
    Manner.SECOND_PAUSES: (Gesture.HOLD, Gesture.SHORT_HOLD),
}
"""What a press of it is told as, and what a hold."""


def calls_the_round(manner: Manner, second: Manner | None) -> str:
    """What of the foot is told as a short hold, which calls the trial round at its item: "hold" a
    hold of the pedal, "second" a press of the second one, "" nothing that is short and sure."""
    if manner is Manner.HOLD:
        return "hold"
    return "second" if second is Manner.SECOND else ""


class Gestures:
    """Edges and ticks in, finished gestures out.

    Times are seconds on any clock that does not run backwards; one that does is taken as
    standing still. Call `tick` no later than `next_deadline` to hear of a gesture in time.
    """

    def __init__(
        self, manner: Manner = Manner.DOUBLE, watched_since: float = float("-inf")
    ) -> None:
        self._manner = manner
        self._hold_s = LONG_HOLD_S if manner is Manner.HOLD else HOLD_S
        self._moved_at = watched_since  # the last edge, however short
        self._still = 0.0  # before the edges that come together now
        self._now = float("-inf")
        self._contact = False  # what the switch says
        self._contact_since = float("-inf")
        self._is_down = False  # what the switch has said for long enough
        self._down_at = float("-inf")
        self._up_at = float("-inf")
        self._presses = 0  # finished presses that are not told yet
        self._spent = False  # this contact was told as a hold
        self.pressed_at = float("-inf")
        """When the foot went down for the gesture told last; of a double the first time."""
        self.still = 0.0
        """For how long the contact had not moved at all before that."""

    def down(self, at: float) -> list[Gesture]:
        """The gestures that are complete as the foot goes down at that time, in seconds."""
        return self._edge(True, at)

    def up(self, at: float) -> list[Gesture]:
        """The gestures that are complete as the foot comes up at that time, in seconds."""
        return self._edge(False, at)

    def tick(self, at: float) -> list[Gesture]:
        """Let time pass up to `at`, in seconds of the same clock as the edges."""
        found: list[Gesture] = []
        at = max(at, self._now)
        while (due := self.next_deadline()) is not None and due <= at:
            found += self._pass(due)
        self._now = at
        return found

    def next_deadline(self) -> float | None:
        """When something may be decided with no further edge, in seconds of the edges' clock; None
        when nothing is pending."""
        if self._unsettled():
            return self._contact_since + BOUNCE_S
        if self._is_down:
            return None if self._spent else self._down_at + self._hold_s
        return self._up_at + SECOND_PRESS_S if self._presses else None

    def down_since(self) -> float | None:
        """Since when the foot is down, in seconds of the edges' clock; None while it is up."""
        return self._down_at if self._is_down else None

    def _edge(self, contact: bool, at: float) -> list[Gesture]:
        found = self.tick(at)
        if contact != self._contact:  # a held key repeats its "down"
            self._contact, self._contact_since = contact, self._now
            since = self._now - self._moved_at
            if since > BOUNCE_S:  # else the same movement: a contact bounces
                self._still = since
            self._moved_at = self._now
        return found

    def _unsettled(self) -> bool:
        return self._contact != self._is_down

    def _pass(self, due: float) -> list[Gesture]:
        self._now = due
        if self._unsettled():
            return self._settle()
        if self._is_down:
            self._spent, self._presses = True, 0
            return [_OF_THE_SECOND.get(self._manner, (Gesture.PRESS, Gesture.HOLD))[1]]
        # A third quick press is part of the double before it: it must confirm nothing.
        told = [Gesture.PRESS] if self._presses == 1 else []
        self._presses = 0
        return told

    def _settle(self) -> list[Gesture]:
        self._is_down = self._contact
        if self._is_down:
            self._down_at = self._contact_since
            if not self._presses:
                self.pressed_at, self.still = self._down_at, self._still
            return []
        before, self._up_at = self._up_at, self._contact_since
        if self._spent:
            self._spent = False
            return []
        if self._manner in _OF_THE_SECOND:
            return [_OF_THE_SECOND[self._manner][0]]
        return self._told_at_once(before) if self._manner is Manner.HOLD else self._released()

    def _told_at_once(self, before: float) -> list[Gesture]:
        """`before` is when the foot last came up."""
        if self._down_at - before < AGAIN_S:
            return [Gesture.DOUBLE]
        held = self._up_at - self._down_at
        return [Gesture.SHORT_HOLD if held >= SHORT_HOLD_S else Gesture.PRESS]

    def _released(self) -> list[Gesture]:
        self._presses += 1
        return [Gesture.DOUBLE] if self._presses == 2 else []
