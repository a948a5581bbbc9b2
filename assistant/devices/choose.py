"""Opens what the settings ask for, and a substitute for what is not to be had."""

from __future__ import annotations

import sys
from dataclasses import dataclass, field

from assistant.devices.keyboard import Keyboard
from assistant.devices.silent import SilentAnnouncer
from assistant.devices.terminal import FullScreen, Lines, open_terminal
from assistant.events import Command
from assistant.ports import Announcer, Display, Listener, Post
from assistant.settings import Settings


@dataclass
class Devices:
    """What a session talks to. `notes`: a plain line for each thing that is missing, with the
    cure, to be printed before the session begins."""

    announcer: Announcer
    listeners: list[Listener]
    display: Display
    notes: list[str] = field(default_factory=list)

    def start(self, post: Post) -> None:
        """Let every listener begin to report."""
        for listener in self.listeners:
            listener.start(post)

    def expect(self, commands: frozenset[Command]) -> None:
        """Tell every listener which commands make sense now."""
        for listener in self.listeners:
            listener.expect(commands)

    def close(self) -> None:
        """Stop all of them, the screen last; never hangs."""
        for listener in self.listeners:
            listener.close()
        self.announcer.close()
        self.display.close()


def open_devices(settings: Settings, post: Post) -> Devices:
    """Open all devices; nothing that is missing raises. Call `start` on what comes back."""
    display = open_terminal(sys.stdout, settings.screen.kind)
    announcer = SilentAnnouncer(display.signal)
    devices = Devices(announcer, [], display)
    if settings.keyboard.use:
        devices.listeners.append(_keyboard(announcer, display))
    return devices


def _keyboard(announcer: Announcer, display: FullScreen | Lines) -> Keyboard:
    return Keyboard(sys.stdin.fileno(), announcer.hush, display.typing)
