"""From a pedal's contact to what the session is told, the same for every kind of pedal."""

from __future__ import annotations

import time
from collections import deque
from collections.abc import Callable

from assistant.devices.pedal.gestures import STUCK_S, Gestures, Manner
from assistant.engine.events import Device, DeviceTroubled, Gesture, PedalUsed, Trouble
from assistant.engine.ports import Post

CHATTER_EDGES, CHATTER_S = 14, 1.0
"""A foot makes three or four presses in a second; a loose contact makes many more edges."""
CALM_S = 1.0


class Foot:
    """Posts gestures and troubles. Used by one thread; `on_down` is called at once when the
    contact closes, since it silences our speech."""

    def __init__(
        self, post: Post, on_down: Callable[[], None], manner: Manner = Manner.DOUBLE
    ) -> None:
        self._post = post
        self._on_down = on_down
        self._manner = manner
        self.reset()

    def reset(self) -> None:
        """The pedal was away: whatever it was doing is not finished."""
        self._gestures = Gestures(self._manner, time.monotonic())
        self._contact = False
        self._edges: deque[float] = deque(maxlen=CHATTER_EDGES)
        self._chattering = False
        self._stuck_told = False

    def down(self) -> None:
        """The contact closed: told at once, and once, however often the key repeats."""
        if not self._contact:
            self._on_down()
            self._edge(True)

    def up(self) -> None:
        """The contact opened, where it was closed."""
        if self._contact:
            self._edge(False)

    def tick(self) -> None:
        """Let time pass: call it at least once a `wait`."""
        now = time.monotonic()
        if self._chattering:
            self._calm_down(now)
            return
        self._tell(self._gestures.tick(now))
        since = self._gestures.down_since()
        if since is None:
            self._stuck_told = False
        elif now - since >= STUCK_S and not self._stuck_told:
            self._stuck_told = True
            self._trouble(Trouble.STUCK)

    def wait(self) -> float:
        """Seconds until `tick` is due."""
        due = self._gestures.next_deadline()
        return 0.25 if due is None else max(0.0, min(0.25, due - time.monotonic()))

    def _edge(self, contact: bool) -> None:
        self._contact = contact
        now = time.monotonic()
        self._edges.append(now)
        if self._chattering:
            return
        if len(self._edges) == CHATTER_EDGES and now - self._edges[0] < CHATTER_S:
            self._chattering = True
            self._trouble(Trouble.CHATTERING)
        else:
            self._tell(self._gestures.down(now) if contact else self._gestures.up(now))

    def _calm_down(self, now: float) -> None:
        if not self._contact and now - self._edges[-1] > CALM_S:
            self.reset()

    def _tell(self, gestures: list[Gesture]) -> None:
        for gesture in gestures:
            now = time.time()
            pressed_at = now - (time.monotonic() - self._gestures.pressed_at)
            still = self._gestures.still
            self._post(PedalUsed(now, gesture, pressed_at=pressed_at, still=still))

    def _trouble(self, trouble: Trouble) -> None:
        self._post(DeviceTroubled(time.time(), Device.PEDAL, trouble))
