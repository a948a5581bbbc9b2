"""The pedal on Linux, read from its own input device: works on any screen, or on none.

The device is grabbed, so that what it types reaches nothing else. It may be unplugged and
come back under another name in /dev/input; a pedal often shows as several devices.
"""

from __future__ import annotations

import contextlib
import os
import select
import threading
from collections.abc import Callable

from assistant.devices.availability import Availability, told_at_its_end
from assistant.devices.pedal.binding import KeyBinding
from assistant.devices.pedal.contact import Foot
from assistant.devices.pedal.gestures import Manner
from assistant.devices.pedal.kernel_input import KEY_EVENT, InputDevice, nodes
from assistant.engine.events import Command, Device
from assistant.engine.ports import Post
from assistant.errors import Reason

RETRY_S = 1.0
DOWN, UP = 1, 0  # 2 is the repeat of a held key: not a press


class EvdevPedal:
    """Listens to the taught key of the taught device. `second`: another key of the same device,
    which is grabbed once, and its manner."""

    def __init__(
        self,
        binding: KeyBinding,
        on_down: Callable[[], None],
        manner: Manner = Manner.DOUBLE,
        second: tuple[KeyBinding, Manner] | None = None,
    ) -> None:
        self._manners = {binding.code: manner}
        if second:
            self._manners[second[0].code] = second[1]
        self._bindings = (binding, second[0]) if second else (binding,)
        self._on_down = on_down
        self._wake_out, self._wake_in = os.pipe()
        self._closing = threading.Event()
        self._thread: threading.Thread | None = None

    def start(self, post: Post) -> None:
        self._thread = threading.Thread(target=self._work, args=(post,), name="pedal", daemon=True)
        self._thread.start()

    def expect(self, commands: frozenset[Command]) -> None:
        """A press is the answer to whatever was asked: nothing to choose from."""

    def types(self, key: str) -> bool:
        """The device is grabbed: what it types reaches no terminal."""
        return False

    def close(self) -> None:
        self._closing.set()
        os.write(self._wake_in, b"x")
        if self._thread is not None:
            self._thread.join(2)

    def _work(self, post: Post) -> None:
        availability = Availability(Device.PEDAL, post)
        told_at_its_end(lambda: self._watch(availability, post), availability, self._closing.is_set)

    def _watch(self, availability: Availability, post: Post) -> None:
        while not self._closing.is_set():
            why: str
            opened, why = open_bound(*self._bindings)
            if opened:
                availability.back()
                feet = {code: Foot(post, self._on_down, manner)
                        for code, manner in self._manners.items()}  # fmt: skip
                why = self._follow(opened, feet)
            if not self._closing.is_set():
                availability.lost(why)
                self._closing.wait(RETRY_S)

    def _follow(self, opened: list[InputDevice], feet: dict[int, Foot]) -> str:
        """Read until the pedal is gone; returns why."""
        by_fd = {device.fd: device for device in opened}
        try:
            while not self._closing.is_set():
                wait = min(foot.wait() for foot in feet.values())
                ready, _, _ = select.select([*by_fd, self._wake_out], [], [], wait)
                for fd in ready:
                    if fd in by_fd:
                        _take(by_fd[fd], feet)
                for foot in feet.values():
                    foot.tick()
        except OSError as error:
            return f"unplugged ({error.strerror})"
        finally:
            for device in opened:
                release_device(device)
        return ""


def _take(device: InputDevice, feet: dict[int, Foot]) -> None:
    for event in device.read():
        if event.type == KEY_EVENT and event.code in feet:
            if event.value == DOWN:
                feet[event.code].down()
            elif event.value == UP:
                feet[event.code].up()


def open_bound(*bindings: KeyBinding) -> tuple[list[InputDevice], Reason]:
    """All nodes of the taught pedal that can give its keys, grabbed; or none, and why."""
    opened: list[InputDevice] = []
    why = unreadable() or Reason(f"{bindings[0].device or 'the pedal'} is not plugged in")
    for device in readable():
        if not any(fits(device, each) for each in bindings):
            device.close()
            continue
        try:
            device.grab()
        except OSError:
            device.close()
            why = Reason(f"another program holds {device.name}", "close it")
        else:
            opened.append(device)
    return opened, why


def readable() -> list[InputDevice]:
    """Every input device that we may read."""
    found = []
    for path in nodes():
        with contextlib.suppress(OSError):
            found.append(InputDevice(path))
    return found


def unreadable() -> Reason:
    """A line with the cure when there are input devices that we may not read."""
    there = nodes()
    if not there or any(os.access(node, os.R_OK) for node in there):
        return Reason("")
    return Reason(
        "input devices may not be read", "add yourself to the group 'input' and log in again"
    )


def fits(device: InputDevice, binding: KeyBinding) -> bool:
    """The device is the taught one, and has the key."""
    same = device.name == binding.device and device.ident == binding.ident
    return same and binding.code in device.keys


def release_device(device: InputDevice) -> None:
    """Gives the device back to the system and closes it; one that is gone already is let go too."""
    with contextlib.suppress(OSError):
        device.ungrab()
    with contextlib.suppress(OSError):
        device.close()
