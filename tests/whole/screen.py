"""A virtual screen for the tests: Xvfb, and real key events from xdotool.

with Screen() as screen:
    subprocess.Popen([...], env={**os.environ, "DISPLAY": screen.display})
    screen.key_down("F13"); screen.key_up("F13")
"""

from __future__ import annotations

import os
import shutil
import subprocess
import time
from collections.abc import Callable
from types import TracebackType

NEEDED = ("Xvfb", "xdotool")


def missing() -> str:
    """Which of the programs needed are not there; empty when the tests can run."""
    return ", ".join(name for name in NEEDED if shutil.which(name) is None)


class Screen:
    """One X server on a display number of its own choosing."""

    def __init__(self) -> None:
        self.display = ""
        self._server: subprocess.Popen[bytes] | None = None

    def __enter__(self) -> Screen:
        self.start()
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        tb: TracebackType | None,
    ) -> None:
        self.stop()

    def start(self) -> None:
        """Start the server, on the display it had before if it had one."""
        reader, writer = os.pipe()
        number = [self.display] if self.display else []
        self._server = subprocess.Popen(
            ["Xvfb", *number, "-displayfd", str(writer), "-screen", "0", "1280x800x24",
             "-nolisten", "tcp"],
            pass_fds=(writer,), stdin=subprocess.DEVNULL,
            stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL,
        )  # fmt: skip
        os.close(writer)
        with os.fdopen(reader) as told:
            self.display = f":{told.readline().strip()}"

    def stop(self) -> None:
        """Kill the server, as when the screen's session ends."""
        if self._server is not None and self._server.poll() is None:
            self._server.kill()
            self._server.wait()
        self._server = None

    @property
    def env(self) -> dict[str, str]:
        return {**os.environ, "DISPLAY": self.display}

    def key_down(self, key: str) -> None:
        self._xdotool("keydown", key)

    def key_up(self, key: str) -> None:
        self._xdotool("keyup", key)

    def press(self, key: str, held_ms: int = 100, times: int = 1, gap_ms: int = 100) -> None:
        """A key pressed and let go; X repeats one that is held for more than 0.66 s.

        Several presses come from one xdotool: two of them may be a second apart when the
        machine is busy.
        """
        once = ["keydown", key, "sleep", str(held_ms / 1000), "keyup", key]
        again = ["sleep", str(gap_ms / 1000), *once]
        self._xdotool(*once, *(again * (times - 1)))

    def press_until(self, key: str, true: Callable[[], object], seconds: float = 60) -> None:
        """Again and again, half a second apart, as a foot that is not sure whether it was felt."""
        end = time.monotonic() + seconds
        while not true():
            assert time.monotonic() < end, f"{key} was not felt within {seconds:g} s"
            self.press(key, 60)
            wait = time.monotonic() + 0.5
            while not true() and time.monotonic() < wait:
                time.sleep(0.02)

    def _xdotool(self, *words: str) -> None:
        subprocess.run(["xdotool", *words], env=self.env, check=True)
