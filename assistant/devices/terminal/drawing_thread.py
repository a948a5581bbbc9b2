"""Draws on the terminal in a thread of its own: a stopped screen holds up nobody.

A terminal that is stopped (Ctrl-S, a window that hangs) takes nothing more, and a write to it
waits for as long as that lasts. One that was closed fails at every write. Both are told as
`DeviceLost`, and as returned when what is drawn arrives again.
"""

from __future__ import annotations

import threading
import time
from collections import deque
from collections.abc import Callable, Sequence

from assistant.devices.availability import Availability, words_of
from assistant.devices.terminal.screen import FullScreen, Lines
from assistant.engine.events import Device, Tone
from assistant.engine.hears import Hears
from assistant.engine.ports import Post
from assistant.engine.view import View

STOPPED_S = 1.0
"""A screen that has not taken a drawing for this long is stopped."""
TICK_S = 0.2
MOST_WAITING = 64
"""Of drawings that wait for a stopped screen only the newest are kept."""
CLOSE_S = 1.0


class SteadyScreen:
    """A terminal's display behind a thread. What it is given to draw returns at once."""

    def __init__(self, screen: FullScreen | Lines, post: Post) -> None:
        self._screen = screen
        self._availability = Availability(Device.DISPLAY, post)
        self._waiting: deque[Callable[[], None]] = deque(maxlen=MOST_WAITING)
        self._wake = threading.Condition()
        self._busy_since: float | None = None
        self._closing = False
        self._drawer = threading.Thread(target=self._draw, name="screen", daemon=True)
        self._watcher = threading.Thread(target=self._watch, name="screen watch", daemon=True)
        self._drawer.start()
        self._watcher.start()

    def missing(self, notes: list[str]) -> None:
        """What is missing at this bench, with the cure: shown first, and kept in sight."""
        self._later(lambda: self._screen.missing(notes))

    def show(self, view: View) -> None:
        self._later(lambda: self._screen.show(view))

    def signal(self, tone: Tone) -> None:
        """A tone, drawn by the thread that draws."""
        self._later(lambda: self._screen.signal(tone))

    def typing(self, text: str | None) -> None:
        """The note or figure that is being typed; None where none is."""
        self._later(lambda: self._screen.typing(text))

    def tell(self, notes: Sequence[str]) -> None:
        """What is missing at this bench, for the lines at the top."""
        self._later(lambda: self._screen.tell(notes))

    def meter(self, words: str) -> None:
        """The noise and the voice over it, in words."""
        self._later(lambda: self._screen.meter(words))

    def hears(self, hears: Hears) -> None:
        """Whether what is said now is heard."""
        self._later(lambda: self._screen.hears(hears))

    def close(self) -> None:
        """Leave the screen as it was found; a stopped one is left behind, not waited for."""
        with self._wake:
            if self._closing:
                return
            self._closing = True
            self._wake.notify_all()
        self._drawer.join(CLOSE_S)
        self._watcher.join(CLOSE_S)
        if self._drawer.is_alive():
            self._screen.abandon()
        else:
            self._screen.close()

    def _later(self, job: Callable[[], None]) -> None:
        with self._wake:
            self._waiting.append(job)
            self._wake.notify_all()

    def _draw(self) -> None:
        while (job := self._next()) is not None:
            fault = self._done(job)
            if fault:
                self._availability.lost(fault)
            else:
                self._availability.back()

    def _done(self, job: Callable[[], None]) -> str:
        """Draws; why that failed, or nothing. The thread goes on: the next drawing may do."""
        self._busy_since = time.monotonic()
        try:
            job()
        except Exception as error:
            return f"it can't be drawn ({words_of(error)})"
        finally:
            self._busy_since = None
        return self._screen.fault

    def _next(self) -> Callable[[], None] | None:
        """What is to be drawn next; None when all is drawn and the session is over."""
        with self._wake:
            while not self._waiting and not self._closing:
                self._wake.wait()
            return self._waiting.popleft() if self._waiting else None

    def _watch(self) -> None:
        while not self._closing:
            began = self._busy_since
            if began is not None and time.monotonic() - began > STOPPED_S:
                self._availability.lost(
                    "it takes nothing more: was it stopped? Ctrl-Q lets it go on"
                )
            with self._wake:
                self._wake.wait(TICK_S)
