"""Whether the pedal is a foot: answers sooner than a question can be heard, again and again, come
from a loose contact, an echo, or something that lies on it.

Lock and guard are taken only from a pedal whose contact was still for half a minute since the
session began: no fault of those that come once a second or oftener is, and everybody's is who
listens to the first sentences or sets the machine up. So it has no first lock to stamp by chance.

A contact in the middle of a cut is what no foot does often. After one, lock and guard of the next
cut want half a minute of quiet each; a pedal that is believed no more proves itself by a pattern.
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
IN_A_CUT = 2
"""As many answers too soon a contact in the middle of a cut weighs."""
HOLDS = 2
"""So many pauses by the pedal between two cuts, and it is taken for one that sticks."""
PATTERN = ("press", "again", "press", "again")
"""What a doubted pedal has to do after the quiet. Contacts at random, one in ten seconds, leave
half a minute once in twenty, and then make this in less than one of 100,000 tries."""
_APART_S = (0.6, 4.0)
"""From one movement of the pattern to the next, seconds: no burst and no straggler."""
_MOVEMENTS = {Gesture.PRESS: "press", Gesture.SHORT_HOLD: "again", Gesture.DOUBLE: "again"}


class PedalWatch:
    """Judges press by press; times are those of the events. `proven`: it is a foot for certain."""

    def __init__(self, *, proven: bool = False) -> None:
        self._last = float("-inf")
        self._hasty = 0
        self._proven = proven
        self._was_hasty = False
        self._restless = 0  # contacts since that one, each too soon after the one before it
        self._stirred = False  # in the middle of the last cut
        self._holds = 0  # since the last cut
        self._pattern: list[str] = []
        self.doubted = False

    def judge(
        self,
        event: PedalUsed,
        needed: float,
        *,
        careful: bool,
        quick: bool = False,
        in_cut: bool | None = None,
    ) -> PedalUsed:
        """The event, marked as not to be trusted where the pedal is doubted, or not proven and
        the question `careful`: one for lock or guard. `needed` is how long the question takes to
        be understood, seconds; `quick`: far under the person's own time for it; `in_cut`: in the
        middle of a cut, or not, None where no cut is made. A contact that moved meanwhile has not
        waited for it."""
        if event.source != Source.PEDAL:
            return event
        waited = min(event.waited, event.still)
        self._proven = self._proven or event.still >= QUIET_S
        if event.at - self._last >= QUIET_S and event.still >= QUIET_S and not self.doubted:
            self._hasty = 0
        self._last = event.at
        if self.doubted:
            self._prove(event)
            return replace(event, waited=waited, trusted=False)
        unheard = waited < needed
        hasty = quick or unheard
        restless = careful and not hasty and event.still < self._quiet_wanted()
        if event.gesture is Gesture.PRESS:
            self._pressed(unheard=unheard, hasty=hasty, restless=restless)
            self._seen_in_cut(in_cut, counted=hasty)
        elif event.gesture is Gesture.HOLD:
            self._holds += 1
            self._stirred = self._stirred or self._holds >= HOLDS
        self._restless = self._restless + 1 if restless else 0
        trusted = not self.doubted and (self._proven or not careful) and not restless
        return replace(event, waited=waited, trusted=trusted)

    def _quiet_wanted(self) -> float:
        """Seconds without movement before an answer for lock or guard.

        After one that came before it could be heard: a foot that was told, or the next contact. A
        foot can wait. Who was quicker than usual heard the question, and need not."""
        if self._stirred:
            return QUIET_S
        return min(QUIET_S, AFTER_HASTY_S * (1 + self._restless)) if self._was_hasty else 0.0

    def _pressed(self, *, unheard: bool, hasty: bool, restless: bool) -> None:
        if restless and not (self._stirred and self._restless):
            return  # told to wait
        self._was_hasty = unheard
        self._count(hasty=hasty or restless)

    def _seen_in_cut(self, in_cut: bool | None, *, counted: bool) -> None:
        if in_cut is not None:
            self._stirred, self._holds = in_cut, 0
        for _ in range(IN_A_CUT - counted if in_cut else 0):
            self._count(hasty=True)

    def _prove(self, event: PedalUsed) -> None:
        """A doubted pedal shows that a foot works it: quiet first, then the pattern."""
        movement = _MOVEMENTS.get(event.gesture, "")
        if event.still >= QUIET_S:
            self._pattern = []
        elif not self._pattern or not _APART_S[0] <= event.still <= _APART_S[1]:
            self._pattern = []
            return
        if movement != PATTERN[len(self._pattern)]:
            self._pattern = []
            return
        self._pattern.append(movement)
        if self._pattern == [*PATTERN]:
            self._pattern, self.doubted, self._hasty = [], False, 0
            self._was_hasty = self._stirred = False

    def _count(self, *, hasty: bool) -> None:
        if hasty:
            self._hasty += 1
        else:
            # In a long job a few come too soon: what came in time since makes up for them. A fault
            # can't live on that: at a lock it is too soon each time, and the job stands there.
            self._hasty = max(0, self._hasty - 1)
        self.doubted = self.doubted or self._hasty >= HASTY
