"""Where the keyboard's bytes come from: a terminal or a pipe, on POSIX systems and on Windows.

Each source gives bytes as they come, `b""` at the end of the input, and None when nothing came
in time.
"""

from __future__ import annotations

import contextlib
import importlib
import os
import select
import sys
import threading
import time
from typing import Any, Protocol


class KeySource(Protocol):
    """One input. Used by one thread, but for `wake`."""

    def enter(self) -> bool:
        """Begin; true when single keys are to be had, false when whole lines come."""

    def read(self, patience: float | None) -> bytes | None:
        """What comes within so many seconds (None: for ever, or until woken). Raises OSError."""

    def wake(self) -> None:
        """Let a `read` that waits return, where the system can."""

    def leave(self) -> None:
        """Put back what `enter` changed."""


def key_source(fd: int) -> KeySource:
    """The source for this descriptor on this system."""
    if sys.platform != "win32":
        return Descriptor(fd)
    return WindowsConsole() if os.isatty(fd) else WindowsPipe(fd)


class Descriptor:
    """A terminal or a pipe where `select` works on both."""

    def __init__(self, fd: int) -> None:
        self._fd = fd
        self._wake_out, self._wake_in = os.pipe()
        self._terminal = Cbreak(fd) if os.isatty(fd) else None

    def enter(self) -> bool:
        return self._terminal is not None and self._terminal.enter()

    def read(self, patience: float | None) -> bytes | None:
        ready, _, _ = select.select([self._fd, self._wake_out], [], [], patience)
        if self._wake_out in ready or not ready:
            return None
        try:
            return os.read(self._fd, 4096)
        except OSError:  # the terminal was closed
            return b""

    def wake(self) -> None:
        with contextlib.suppress(OSError):
            os.write(self._wake_in, b"x")

    def leave(self) -> None:
        if self._terminal is not None:
            self._terminal.leave()


class Cbreak:
    """A terminal that gives each key at once, without showing it; put back on `leave`."""

    def __init__(self, fd: int) -> None:
        self._fd = fd
        self._before: list[Any] | None = None

    def enter(self) -> bool:
        """True when single keys are to be had."""
        if sys.platform == "win32":
            return False
        import atexit
        import termios
        import tty

        try:
            self._before = termios.tcgetattr(self._fd)
            tty.setcbreak(self._fd)
        except termios.error:
            return False
        atexit.register(self.leave)
        return True

    def leave(self) -> None:
        """The terminal as it was before; at once, and never raises."""
        if self._before is None or sys.platform == "win32":
            return
        import termios

        before, self._before = self._before, None
        with contextlib.suppress(termios.error, OSError):
            termios.tcsetattr(self._fd, termios.TCSADRAIN, before)


LOOK_S = 0.03
"""How often the console is asked for a key: there is nothing to wait on that also wakes."""


class WindowsConsole:
    """Single keys by the C runtime (msvcrt). `select` takes sockets only there."""

    def __init__(self) -> None:
        self._msvcrt = importlib.import_module("msvcrt")
        self._woken = threading.Event()

    def enter(self) -> bool:
        return True

    def read(self, patience: float | None) -> bytes | None:
        end = None if patience is None else time.monotonic() + patience
        while not self._msvcrt.kbhit():
            rest = LOOK_S if end is None else min(LOOK_S, end - time.monotonic())
            if rest <= 0 or self._woken.wait(rest):
                return None
        # Half of a letter that comes in two pieces is no key of ours; b"" would be the end.
        return self._key().encode("utf-8", "ignore") or None

    def _key(self) -> str:
        """Arrow and function keys send two: they are given as an escape sequence, and dropped as
        those of other terminals are."""
        key = str(self._msvcrt.getwch())
        return f"\x1bO{self._msvcrt.getwch()}" if key in ("\x00", "\xe0") else key

    def wake(self) -> None:
        self._woken.set()

    def leave(self) -> None:
        """Nothing was changed."""


class WindowsPipe:
    """Lines from a pipe or a file. A read that waits can't be woken: its thread ends with the
    program."""

    def __init__(self, fd: int) -> None:
        self._fd = fd

    def enter(self) -> bool:
        return False

    def read(self, patience: float | None) -> bytes | None:
        try:
            return os.read(self._fd, 4096)
        except OSError:  # the other end is gone
            return b""

    def wake(self) -> None:
        """It can't be."""

    def leave(self) -> None:
        """Nothing was changed."""
