"""The small protocols between a session and its devices: one for each role.

A device runs in threads of its own and reports with `post`, which never blocks and may be
called from any thread. Nothing here raises into the session: a device that dies posts
`DeviceLost`, tries to come back, and posts `DeviceReturned`.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Protocol

from assistant.engine.events import Command, Event, Tone
from assistant.engine.view import View

Post = Callable[[Event], None]


class Announcer(Protocol):
    """Speaks sentences one after the other and plays the short tones."""

    def say(self, text: str, brief: bool = False) -> None:
        """Queue a sentence; returns at once. `brief`: known by rote, it may come briskly."""

    def signal(self, tone: Tone) -> None:
        """Play a short tone now, mixed over nothing: it goes before queued speech."""

    def felt(self) -> None:
        """As `hush`, and a tick at once: the foot was felt. The accepted tone of what it meant
        is not sounded as well. Callable from any thread."""

    def prepare(self, text: str, brief: bool = False) -> None:
        """A sentence that may come next: make it ready while nothing else is to be said."""

    def hush(self) -> None:
        """Fall silent at once and drop what is queued. Callable from any thread."""

    def busy(self) -> bool:
        """True while something is being spoken or is queued."""

    def began(self) -> float | None:
        """When the sentence last given to `say` began to sound (time.time()); None before that,
        and for a sentence that was hushed or failed before it began."""

    def close(self) -> None:
        """Stop and free the device; never hangs."""


class Listener(Protocol):
    """Anything that hears or feels the person: microphone with its ear, pedal, keyboard."""

    def start(self, post: Post) -> None:
        """Begin to report. Returns at once; what is missing is reported as DeviceLost."""

    def expect(self, commands: frozenset[Command]) -> None:
        """The commands that make sense now."""

    def close(self) -> None:
        """Stop and free the device; never hangs."""


class Display(Protocol):
    """Shows the present state; called from the session's thread only."""

    def show(self, view: View) -> None:
        """Draw the view. Must not block."""

    def close(self) -> None:
        """Leave the screen as it was found."""
