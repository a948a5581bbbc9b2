"""A second pedal on a device of its own. It answers nothing, so that nobody has to hear of its
going: the pedal itself is still there."""

from __future__ import annotations

from typing import Protocol

from assistant.engine.events import Command, DeviceLost, DeviceReturned, Event
from assistant.engine.ports import Listener, Post


class TypingListener(Listener, Protocol):
    """A listener that may also type."""

    def types(self, key: str) -> bool:
        """The pedal types this key into the terminal as well."""


class SecondPedal:
    """Posts what the pedal in it posts, but for its coming and going."""

    def __init__(self, pedal: TypingListener) -> None:
        self._pedal = pedal
        self.types = pedal.types

    def start(self, post: Post) -> None:
        def told(event: Event) -> None:
            if not isinstance(event, DeviceLost | DeviceReturned):
                post(event)

        self._pedal.start(told)

    def expect(self, commands: frozenset[Command]) -> None:
        self._pedal.expect(commands)

    def close(self) -> None:
        self._pedal.close()
