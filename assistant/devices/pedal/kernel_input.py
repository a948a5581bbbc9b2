"""The kernel's input devices (/dev/input/event*), read as they are: no library, no compiler.

Numbers and layouts are those of linux/input.h, linux/input-event-codes.h and asm-generic/ioctl.h,
which hold on x86 and ARM.
"""

from __future__ import annotations

import errno
import os
import struct
from dataclasses import dataclass
from pathlib import Path

KEY_EVENT = 1
"""EV_KEY: a key or a button."""
FOLDER = Path("/dev/input")
_EVENT = struct.Struct("@LLHHi")  # seconds, microseconds, type, code, value
_AT_ONCE = 64
_READ, _WRITE = 2, 1
_NAME, _IDENT, _BITS, _GRAB = 0x06, 0x02, 0x20, 0x90
_NAME_BYTES, _KEY_BYTES = 256, 96


@dataclass(frozen=True, slots=True)
class InputEvent:
    """One event: `value` is 1 for down, 0 for up, 2 for the repeat of a held key."""

    type: int
    code: int
    value: int


class InputDevice:
    """One open node. Raises OSError where it may not be read, is no input device, or is gone."""

    def __init__(self, path: str) -> None:
        self.path = path
        self.fd = os.open(path, os.O_RDONLY | os.O_NONBLOCK | os.O_CLOEXEC)
        try:
            self.name = _text(self._ask(_NAME, _NAME_BYTES))
            _, vendor, product, _ = struct.unpack("@4H", self._ask(_IDENT, 8))
            self.ident = f"{vendor:04x}:{product:04x}"
            self.keys = _numbers(self._ask(_BITS + KEY_EVENT, _KEY_BYTES))
        except OSError:
            os.close(self.fd)
            raise

    def fileno(self) -> int:
        """For `select`."""
        return self.fd

    def read(self) -> list[InputEvent]:
        """What has happened since. Raises OSError when the device is gone."""
        try:
            data = os.read(self.fd, _EVENT.size * _AT_ONCE)
        except BlockingIOError:  # another reader was quicker
            return []
        if not data:
            raise OSError(errno.ENODEV, os.strerror(errno.ENODEV))
        whole = len(data) - len(data) % _EVENT.size
        return [InputEvent(*each[2:]) for each in _EVENT.iter_unpack(data[:whole])]

    def grab(self) -> None:
        """What it types reaches nobody else. Raises OSError where another has grabbed it."""
        self._grab(1)

    def ungrab(self) -> None:
        """Others get its keys again. Raises OSError where it is gone."""
        self._grab(0)

    def close(self) -> None:
        """Closes its node. Raises OSError where it is closed already."""
        os.close(self.fd)

    def _grab(self, on: int) -> None:
        import fcntl

        fcntl.ioctl(self.fd, _request(_WRITE, _GRAB, 4), on)

    def _ask(self, what: int, size: int) -> bytes:
        import fcntl

        answer = bytearray(size)
        fcntl.ioctl(self.fd, _request(_READ, what, size), answer)
        return bytes(answer)


def nodes() -> list[str]:
    """Every input device's node, whether it may be read or not; none where there is no such
    folder."""
    return sorted(map(str, FOLDER.glob("event*"))) if FOLDER.is_dir() else []


def key_name(code: int) -> str:
    """The key for people, as input-event-codes.h names it: F13, SPACE, B."""
    return _NAMES.get(code, f"key {code}")


def _request(direction: int, number: int, size: int) -> int:
    """_IOC of asm-generic/ioctl.h, of the family "E"."""
    return direction << 30 | size << 16 | ord("E") << 8 | number


def _text(raw: bytes) -> str:
    return raw.split(b"\0")[0].decode("utf-8", "replace")


def _numbers(bits: bytes) -> frozenset[int]:
    """The numbers whose bits are set."""
    return frozenset(8 * at + bit for at, byte in enumerate(bits) for bit in range(8)
                     if byte >> bit & 1)  # fmt: skip


def _row(first: int, names: str) -> dict[int, str]:
    return dict(enumerate(names.split(), first))


_NAMES = {
    **_row(1, "ESC 1 2 3 4 5 6 7 8 9 0 MINUS EQUAL BACKSPACE TAB"),
    **_row(16, "Q W E R T Y U I O P LEFTBRACE RIGHTBRACE ENTER LEFTCTRL"),
    **_row(30, "A S D F G H J K L SEMICOLON APOSTROPHE GRAVE LEFTSHIFT BACKSLASH"),
    **_row(44, "Z X C V B N M COMMA DOT SLASH RIGHTSHIFT KPASTERISK LEFTALT SPACE CAPSLOCK"),
    **_row(59, "F1 F2 F3 F4 F5 F6 F7 F8 F9 F10 NUMLOCK SCROLLLOCK"),
    **_row(71, "KP7 KP8 KP9 KPMINUS KP4 KP5 KP6 KPPLUS KP1 KP2 KP3 KP0 KPDOT"),
    **_row(87, "F11 F12"),
    **_row(96, "KPENTER RIGHTCTRL KPSLASH SYSRQ RIGHTALT"),
    **_row(102, "HOME UP PAGEUP LEFT RIGHT END DOWN PAGEDOWN INSERT DELETE"),
    **_row(113, "MUTE VOLUMEDOWN VOLUMEUP"),
    **_row(163, "NEXTSONG PLAYPAUSE PREVIOUSSONG STOPCD"),
    **_row(183, "F13 F14 F15 F16 F17 F18 F19 F20 F21 F22 F23 F24"),
    **_row(0x110, "BTN_LEFT BTN_RIGHT BTN_MIDDLE BTN_SIDE BTN_EXTRA"),
    **_row(0x120, "BTN_TRIGGER BTN_THUMB BTN_THUMB2"),
}  # fmt: skip
