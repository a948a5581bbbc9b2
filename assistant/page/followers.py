"""Whether anybody's page still answers: one that is closed or hangs does not.

A connection alone tells nothing: the system of a browser that hangs goes on taking what is sent.
"""

from __future__ import annotations

import threading
import time

from assistant.devices.availability import Availability

SILENT_S = 1.6
"""No page has answered for this long: a page that is loaded anew answers sooner again."""
TICK_S = 0.1


class Followers:
    """Tells when the last page goes and when one is back. Says nothing before there was one."""

    def __init__(self, availability: Availability) -> None:
        self._availability = availability
        self._answered_at: float | None = None
        self._closing = threading.Event()
        self._thread = threading.Thread(target=self._watch, name="page watch", daemon=True)
        self._thread.start()

    def answered(self) -> None:
        """A page has answered. From any thread."""
        self._answered_at = time.monotonic()
        self._availability.back()

    @property
    def here(self) -> bool:
        """Somebody's page answers."""
        at = self._answered_at
        return at is not None and time.monotonic() - at < SILENT_S

    def close(self) -> None:
        """Ends the watch; at most a second is waited for."""
        self._closing.set()
        self._thread.join(1)

    def _watch(self) -> None:
        while not self._closing.wait(TICK_S):
            if self._answered_at is not None and not self.here:
                self._availability.lost("no page answers")
