"""A program on a terminal of its own: what it shows, what is typed, and when."""

from __future__ import annotations

import os
import pty
import re
import select
import subprocess
import time

_CONTROL = re.compile(rb"\x1b(\[[0-9;?]*[A-Za-z]|[()][A-Z0-9]|[=>78])|\r")


class Terminal:
    """Runs `words` on a terminal of 100 by 40; `shown` is its text so far, without the codes."""

    def __init__(self, words: list[str]) -> None:
        self._master, slave = pty.openpty()
        _size(slave, 40, 100)
        self.began = time.monotonic()
        self._process = subprocess.Popen(
            words, stdin=slave, stdout=slave, stderr=slave, start_new_session=True
        )
        os.close(slave)
        self._raw = b""
        self._read_to = 0

    @property
    def shown(self) -> str:
        return _CONTROL.sub(b"", self._raw).decode("utf-8", "replace")

    @property
    def ended(self) -> bool:
        """The program has ended, and all that it showed was read."""
        return self._process.poll() is not None

    def type(self, text: str) -> None:
        os.write(self._master, text.encode())

    def wait_for(self, pattern: str, seconds: float) -> tuple[float, str]:
        """Seconds since the start at which this came after what was waited for last, and it.

        Raises AssertionError with the end of what was shown.
        """
        end = time.monotonic() + seconds
        while True:
            found = re.compile(pattern).search(self.shown, self._read_to)
            if found:
                self._read_to = found.end()
                return time.monotonic() - self.began, found[0]
            if not self._more(end):
                tail = self.shown[-1500:]
                raise AssertionError(f"{pattern!r} did not come in {seconds:g} s:\n{tail}")

    def _more(self, end: float) -> bool:
        left = end - time.monotonic()
        if left <= 0:
            return False
        if select.select([self._master], [], [], min(left, 0.2))[0]:
            try:
                data = os.read(self._master, 65536)
            except OSError:  # the other end is closed
                data = b""
            self._raw += data
            return bool(data)
        return True

    def end(self, seconds: float = 60) -> int:
        """Reads to the end of the program and gives its exit code."""
        end = time.monotonic() + seconds
        while self._more(end):
            pass
        try:
            return self._process.wait(max(0.1, end - time.monotonic()))
        except subprocess.TimeoutExpired:
            self._process.kill()
            return -1


def leave(terminal: Terminal) -> None:
    """Out of a session. A key typed before the keyboard is listened to is lost, as for a person."""
    for _ in range(20):
        terminal.type("q")
        try:
            terminal.wait_for("The job is kept", 0.5)
        except AssertionError:
            continue
        assert terminal.end() == 0, terminal.shown[-800:]
        return
    raise AssertionError(f"it was not left:\n{terminal.shown[-800:]}")


def _size(fd: int, rows: int, columns: int) -> None:
    import fcntl
    import struct
    import termios

    fcntl.ioctl(fd, termios.TIOCSWINSZ, struct.pack("HHHH", rows, columns, 0, 0))
