"""The learn step: the next key pressed, on whatever it is pressed, is the pedal."""

from __future__ import annotations

import contextlib
import queue
import select
import sys
import time
from typing import Any

from assistant.devices.pedal import evdev as pedal_evdev
from assistant.devices.pedal import x11
from assistant.devices.pedal.binding import Taught

WAIT_S = 15.0
SAME_PRESS_S = 0.3
"""The same press may show under X and as an input event: the latter names the device."""
_TYPED = {"SPACE": " ", "ENTER": "\r\n", "KPENTER": "\r\n", "TAB": "\t"}


def learn(wait_s: float = WAIT_S) -> tuple[Taught | None, str]:
    """What was pressed; or None, and a line with the cure."""
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
        self._keys: queue.SimpleQueue[Any] = queue.SimpleQueue()
        self._listener, self._no_screen = self._listen()
        self._devices = _input_devices()

    def _listen(self) -> tuple[Any, str]:
        return x11.listen_keys(lambda down, key: self._keys.put(key) if down else None)

    def wait(self, seconds: float) -> Taught | None:
        if self._deaf():
            return None
        end = time.monotonic() + seconds
        from_x: Taught | None = None
        while time.monotonic() < end:
            if event := self._input_event(0.05):
                return event
            if from_x is None and (key := self._x_key()) is not None:
                from_x = _taught_x(key)
                end = min(end, time.monotonic() + SAME_PRESS_S)
        return from_x

    def complaint(self, seconds: float) -> str:
        if self._deaf():
            why = pedal_evdev.unreadable() or self._no_screen
            return f"no keys can be listened to: {why}"
        return f"nothing was pressed within {seconds:g} s; is the pedal plugged in? try again"

    def _deaf(self) -> bool:
        return not self._devices and self._listener is None

    def close(self) -> None:
        for device in self._devices:
            with contextlib.suppress(OSError):
                device.close()
        if self._listener is not None:
            x11.stop(self._listener)

    def _input_event(self, seconds: float) -> Taught | None:
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
                if event.type == pedal_evdev.KEY_EVENT and event.value == pedal_evdev.DOWN:
                    return _taught_evdev(device, event.code)
        return None

    def _x_key(self) -> Any:
        try:
            return self._keys.get_nowait()
        except queue.Empty:
            return None


def _input_devices() -> list[Any]:
    try:
        import evdev
    except ImportError:
        return []
    return pedal_evdev.readable(evdev)


def _taught_evdev(device: Any, code: int) -> Taught:
    from evdev import ecodes

    name = ecodes.KEY.get(code) or ecodes.BTN.get(code) or f"key {code}"
    name = name if isinstance(name, str) else name[0]
    short = name.removeprefix("KEY_")
    types = _TYPED.get(short, short.lower() if len(short) == 1 else "")
    return Taught("evdev", short, code, device.name, pedal_evdev.ident(device), types)


def _taught_x(key: Any) -> Taught:
    name = x11.name_of(key)
    types = _TYPED.get(name.upper(), getattr(key, "char", None) or "")
    return Taught("x", name, x11.symbol_of(key), types=types)


def _forget_typed() -> None:
    """What the pedal typed into the terminal is not meant for the shell."""
    with contextlib.suppress(Exception):
        import termios

        termios.tcflush(sys.stdin.fileno(), termios.TCIFLUSH)
