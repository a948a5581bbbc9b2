"""The pedal as a key under X (pynput): for where input devices can't be read.

X can't tell two keyboards apart, and programs without X never show here. The listener never
suppresses keys: that would take every keyboard of the machine.
"""

from __future__ import annotations

import contextlib
import importlib
import logging
import queue
import threading
import time
from collections.abc import Callable
from typing import Any

from assistant.devices.availability import Presence
from assistant.devices.pedal.binding import Taught
from assistant.devices.pedal.contact import Foot
from assistant.engine.events import Command, Device
from assistant.engine.ports import Post

RETRY_S = 1.0
ALIVE_S = 0.25
Edge = tuple[bool, int]  # down or up, key symbol


class XPedal:
    """Listens for the taught key."""

    def __init__(self, taught: Taught, on_down: Callable[[], None], by_holds: bool = False) -> None:
        self._taught = taught
        self._on_down = on_down
        self._by_holds = by_holds
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
        return self._listens and bool(key) and key.lower() in self._taught.types

    def close(self) -> None:
        self._closing.set()
        if self._thread is not None:
            self._thread.join(2)

    def _work(self, post: Post) -> None:
        presence = Presence(Device.PEDAL, post)
        while not self._closing.is_set():
            edges: queue.SimpleQueue[Edge] = queue.SimpleQueue()
            listener, why = listen(edges.put)
            if listener is not None:
                foot = Foot(post, self._on_down, self._by_holds)
                why = self._follow(listener, edges, presence, foot)
            if not self._closing.is_set():
                presence.lost(why)
                self._closing.wait(RETRY_S)

    def _follow(
        self,
        listener: threading.Thread,
        edges: queue.SimpleQueue[Edge],
        presence: Presence,
        foot: Foot,
    ) -> str:
        """Take edges until the screen is gone; returns why."""
        began = time.monotonic()
        while not self._closing.is_set() and listener.is_alive():
            self._listens = True
            if time.monotonic() - began > ALIVE_S:
                presence.back()
            with contextlib.suppress(queue.Empty):
                down, symbol = edges.get(timeout=min(foot.wait(), ALIVE_S))
                if symbol == self._taught.code:
                    foot.down() if down else foot.up()
            foot.tick()
        self._listens = False
        if listener.is_alive():
            stop(listener)
        return "the screen (X server) is gone"


def listen(put: Callable[[Edge], None]) -> tuple[Any, str]:
    """A started listener; or None, and why. It dies with the X server, without a word."""
    return listen_keys(lambda down, key: put((down, symbol_of(key))))


def listen_keys(put: Callable[[bool, Any], None]) -> tuple[Any, str]:
    """The same with pynput's own keys. `put` must not block and must not raise."""
    logging.getLogger("pynput").addHandler(logging.NullHandler())
    try:
        keyboard = importlib.import_module("pynput.keyboard")
    except Exception as error:  # without a screen the import itself fails, in several ways
        return None, f"no screen for the pedal's key: {' '.join(str(error).split()) or error!r}"

    class Listener(keyboard.Listener):  # type: ignore[misc, name-defined]
        def run(self) -> None:
            # A dying X server would print its traceback over the person's screen.
            with contextlib.suppress(Exception):
                super().run()

    listener = Listener(on_press=lambda key: put(True, key), on_release=lambda key: put(False, key))
    listener.daemon = True
    listener.start()
    return listener, ""


def stop(listener: Any) -> None:
    """Ends at the next key: it is not waited for."""
    with contextlib.suppress(Exception):
        listener.stop()


def symbol_of(key: Any) -> int:
    """The key symbol: what two presses of the same key share, whatever pynput calls it."""
    code = getattr(key, "value", key)
    return int(getattr(code, "vk", None) or 0)


def name_of(key: Any) -> str:
    """The key for people."""
    return str(getattr(key, "name", None) or getattr(key, "char", None) or f"key {symbol_of(key)}")
