"""What a device has told, to be waited for: tests never sleep and hope."""

from __future__ import annotations

import queue
import time
from typing import TypeVar

from assistant.engine.events import Event

E = TypeVar("E")


class Told:
    """A `post` that keeps what it is given."""

    def __init__(self) -> None:
        self._queue: queue.SimpleQueue[Event] = queue.SimpleQueue()
        self.all: list[Event] = []

    def __call__(self, event: Event) -> None:
        self._queue.put(event)

    def wait(self, kind: type[E], seconds: float = 60) -> E:
        """The next event of a kind, whatever else comes before. Fails when none comes."""
        end = time.monotonic() + seconds
        while (left := end - time.monotonic()) > 0:
            try:
                event = self._queue.get(timeout=left)
            except queue.Empty:
                break
            self.all.append(event)
            if isinstance(event, kind):
                return event
        raise AssertionError(f"no {kind.__name__} within {seconds:g} s, only {self.all}")

    def so_far(self) -> list[Event]:
        """Everything told until now."""
        while not self._queue.empty():
            self.all.append(self._queue.get())
        return self.all
