"""Tells the session once when a device goes, and once when it is back."""

from __future__ import annotations

import threading
import time

from assistant.engine.events import Device, DeviceLost, DeviceReturned
from assistant.engine.ports import Post


class Presence:
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
