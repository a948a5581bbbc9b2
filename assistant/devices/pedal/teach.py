"""The learn step: the next key pressed, on whatever it is pressed, is the pedal."""

from __future__ import annotations

import contextlib
import queue
import select
import sys
import time
from typing import Any

from assistant.devices.pedal import evdev, screen_keys
from assistant.devices.pedal.binding import KeyBinding
from assistant.devices.pedal.kernel_input import KEY_EVENT, InputDevice, key_name
from assistant.devices.pedal.screen_keys import Key
from assistant.errors import Reason

WAIT_S = 15.0
SAME_PRESS_S = 0.3
"""The same press may show under X and as an input event: the latter names the device."""
_TYPED = {"SPACE": " ", "ENTER": "\r\n", "KPENTER": "\r\n", "TAB": "\t"}


def learn_key(wait_s: float = WAIT_S) -> tuple[KeyBinding | None, str]:
    """What was pressed within so many seconds; or None, and a line with the cure."""
    watcher = _Watcher()
    try:
        found = watcher.wait(wait_s)
    finally:
        watcher.close()
        _forget_typed()
    return found, "" if found else watcher.complaint(wait_s)


class _Watcher:
    """Listens on every input device and on the screen at once."""

    def __init__(self) -> None:
        self._keys: queue.SimpleQueue[Key] = queue.SimpleQueue()
        self._listener, self._no_screen = self._listen()
        self._devices = evdev.readable()

    def _listen(self) -> tuple[Any, Reason]:
        return screen_keys.listen_keys(lambda down, key: self._keys.put(key) if down else None)

    def wait(self, seconds: float) -> KeyBinding | None:
        if self._deaf():
            return None
        end = time.monotonic() + seconds
        from_x: KeyBinding | None = None
        while time.monotonic() < end:
            if event := self._input_event(0.05):
                return event
            if from_x is None and (key := self._x_key()) is not None:
                from_x = _bound_x(key)
                end = min(end, time.monotonic() + SAME_PRESS_S)
        return from_x

    def complaint(self, seconds: float) -> Reason:
        if self._deaf():
            why = evdev.unreadable() or self._no_screen
            cure = "" if why.cure else "plug the pedal in, or do this in a window of the desktop"
            return Reason(f"no keys can be listened to: {why}", cure)
        return Reason(
            f"nothing was pressed within {seconds:g} s", "is the pedal plugged in? try again"
        )

    def _deaf(self) -> bool:
        return not self._devices and self._listener is None

    def close(self) -> None:
        for device in self._devices:
            with contextlib.suppress(OSError):
                device.close()
        if self._listener is not None:
            screen_keys.stop_listener(self._listener)

    def _input_event(self, seconds: float) -> KeyBinding | None:
        if not self._devices:
            time.sleep(seconds)
            return None
        ready, _, _ = select.select(self._devices, [], [], seconds)
        for device in ready:
            try:
                events = list(device.read())
            except OSError:  # unplugged meanwhile
                self._devices.remove(device)
                continue
            for event in events:
                if event.type == KEY_EVENT and event.value == evdev.DOWN:
                    return _bound_evdev(device, event.code)
        return None

    def _x_key(self) -> Key | None:
        try:
            return self._keys.get_nowait()
        except queue.Empty:
            return None


def _bound_evdev(device: InputDevice, code: int) -> KeyBinding:
    name = key_name(code)
    types = _TYPED.get(name, name.lower() if len(name) == 1 else "")
    return KeyBinding("evdev", name, code, device.name, device.ident, types)


def _bound_x(key: Key) -> KeyBinding:
    return KeyBinding("x", key.name, key.symbols[0], types=_TYPED.get(key.name.upper(), key.char))


def _forget_typed() -> None:
    """What the pedal typed into the terminal is not meant for the shell."""
    with contextlib.suppress(Exception):
        import termios

        termios.tcflush(sys.stdin.fileno(), termios.TCIFLUSH)
