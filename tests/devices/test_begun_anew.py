"""While PortAudio begins anew it knows no device: who asks for their names meanwhile waits."""

from __future__ import annotations

import threading
from typing import Any

from assistant.devices.sound.streams import Sound, sound_devices


class Library:
    """As PortAudio: asked between its end and its new beginning, it says that it has not begun."""

    def __init__(self) -> None:
        self.begun, self.ended, self.asked = True, threading.Event(), threading.Event()
        self.go_on = threading.Event()

    def _terminate(self) -> None:
        self.begun = False
        self.ended.set()
        self.go_on.wait(60)

    def _initialize(self) -> None:
        self.begun = True

    def query_devices(self) -> list[dict[str, Any]]:
        self.asked.set()
        if not self.begun:
            raise RuntimeError("PortAudio not initialized")
        return [{"name": "desk", "max_input_channels": 1, "max_output_channels": 0}]


def test_who_asks_for_devices_meanwhile_gets_them() -> None:
    library = Library()
    sound = Sound.__new__(Sound)
    sound._sd, sound._lines = library, []
    told: list[object] = []

    def ask() -> None:
        try:
            told.append(sound_devices(library, False))
        except RuntimeError as error:
            told.append(error)

    begins, asks = threading.Thread(target=sound._restart), threading.Thread(target=ask)
    begins.start()
    assert library.ended.wait(60)
    asks.start()
    library.asked.wait(0.5)  # only where it does not wait
    library.go_on.set()
    begins.join(60)
    asks.join(60)
    assert told == [{0: "desk"}]
