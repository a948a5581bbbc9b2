"""The pedal as a key of the screen's keyboard: for where input devices can't be read.

X can't tell two keyboards apart, and programs without X never show here. The listener never
suppresses keys: that would take every keyboard of the machine.
"""

from __future__ import annotations

import contextlib
import queue
import threading
import time
from collections.abc import Callable

from assistant.devices.availability import Availability, told_at_its_end
from assistant.devices.pedal.binding import KeyBinding
from assistant.devices.pedal.contact import Foot
from assistant.devices.pedal.gestures import Manner
from assistant.devices.pedal.screen_keys import Edge, start_listener, stop_listener
from assistant.engine.events import Command, Device
from assistant.engine.ports import Post

RETRY_S = 1.0
ALIVE_S = 0.25


class XPedal:
    """Listens for the taught key."""

    def __init__(
        self, binding: KeyBinding, on_down: Callable[[], None], manner: Manner = Manner.DOUBLE
    ) -> None:
        self._binding = binding
        self._on_down = on_down
        self._manner = manner
        self._closing = threading.Event()
        self._listens = False
        self._thread: threading.Thread | None = None

    def start(self, post: Post) -> None:
        self._thread = threading.Thread(target=self._work, args=(post,), name="pedal", daemon=True)
        self._thread.start()

    def expect(self, commands: frozenset[Command]) -> None:
        """A press is the answer to whatever was asked: nothing to choose from."""

    def types(self, key: str) -> bool:
        """The pedal types this key into the terminal as well."""
        return self._listens and bool(key) and key.lower() in self._binding.types

    def close(self) -> None:
        self._closing.set()
        if self._thread is not None:
            self._thread.join(2)

    def _work(self, post: Post) -> None:
        availability = Availability(Device.PEDAL, post)
        told_at_its_end(lambda: self._watch(availability, post), availability, self._closing.is_set)

    def _watch(self, availability: Availability, post: Post) -> None:
        while not self._closing.is_set():
            edges: queue.SimpleQueue[Edge] = queue.SimpleQueue()
            listener, why = start_listener(edges.put)
            if listener is not None:
                foot = Foot(post, self._on_down, self._manner)
                why = self._follow(listener, edges, availability, foot)
            if not self._closing.is_set():
                availability.lost(why)
                self._closing.wait(RETRY_S)

    def _follow(
        self,
        listener: threading.Thread,
        edges: queue.SimpleQueue[Edge],
        availability: Availability,
        foot: Foot,
    ) -> str:
        """Take edges until the screen is gone; returns why."""
        began = time.monotonic()
        while not self._closing.is_set() and listener.is_alive():
            self._listens = True
            if time.monotonic() - began > ALIVE_S:
                availability.back()
            with contextlib.suppress(queue.Empty):
                down, key = edges.get(timeout=min(foot.wait(), ALIVE_S))
                if self._binding.code in key.symbols:
                    foot.down() if down else foot.up()
            foot.tick()
        self._listens = False
        if listener.is_alive():
            stop_listener(listener)
        return "the screen (X server) is gone"
