"""Tells the session once when a device goes, and once when it is back."""

from __future__ import annotations

import threading
import time
from collections.abc import Callable

from assistant.engine.events import Device, DeviceLost, DeviceReturned
from assistant.engine.ports import Post


class Availability:
    """One device's coming and going; may be called from any thread, as often as one likes."""

    def __init__(self, device: Device, post: Post) -> None:
        self._device = device
        self._post = post
        self._lock = threading.Lock()
        self._why = ""

    def lost(self, why: str) -> None:
        """The device is away; a second reason changes nothing."""
        with self._lock:
            was, self._why = self._why, self._why or why
        if not was:
            self._post(DeviceLost(time.time(), self._device, why))

    def back(self) -> None:
        """The device works."""
        with self._lock:
            was, self._why = self._why, ""
        if was:
            self._post(DeviceReturned(time.time(), self._device))

    @property
    def away(self) -> str:
        """Why it is away, or nothing."""
        return self._why


def told_at_its_end(
    work: Callable[[], None], availability: Availability, closing: Callable[[], bool]
) -> None:
    """Runs what a device's thread does. However it ends, the session hears of it, unless it was
    asked to end: a thread that dies without a word leaves a way to answer on the screen that is
    none any more."""
    why = "its reader has ended"
    try:
        work()
    except Exception as error:
        why = f"its reader has failed ({words_of(error)})"
    if not closing():
        availability.lost(why)


def words_of(error: Exception) -> str:
    """What an error says, on one line; its name where it says nothing."""
    return " ".join(str(error).split()) or type(error).__name__
