"""A terminal that is stopped or closed: a real pseudo-terminal, read from or not."""

from __future__ import annotations

import os
import pty
import select
import subprocess
import sys
import termios
import threading
from collections.abc import Iterator
from dataclasses import replace

import pytest

from assistant.devices.terminal import drawing_thread
from assistant.devices.terminal.drawing_thread import MOST_WAITING, SteadyScreen
from assistant.devices.terminal.screen import open_terminal
from assistant.engine.events import Device, DeviceLost, DeviceReturned, Tone
from tests.commands import ROOT
from tests.devices.test_terminal import VIEW
from tests.devices.told import Told
from tests.whole.sound import wait_for

pytestmark = pytest.mark.live


class Window:
    """A terminal's window: what is drawn arrives only while somebody takes it."""

    def __init__(self, kind: str = "full") -> None:
        self.master, slave = pty.openpty()
        termios.tcsetwinsize(slave, (50, 120))
        self.told = Told()
        self.out = os.fdopen(slave, "w", encoding="utf-8")
        self.screen = SteadyScreen(open_terminal(self.out, kind), self.told)
        self.shown = 0

    def draw(self) -> None:
        """Something new each time."""
        self.shown += 1
        self.screen.show(replace(VIEW, said=f"sentence {self.shown} " * 20))

    def draw_until_told(self) -> DeviceLost:
        """More than the terminal's own store holds."""
        for _ in range(200):
            self.draw()
        return self.told.wait(DeviceLost)

    def take(self) -> bytes:
        taken = b""
        while select.select([self.master], [], [], 0.3)[0]:
            taken += os.read(self.master, 65536)
        return taken


@pytest.fixture(params=["full", "lines"])
def window(request: pytest.FixtureRequest) -> Iterator[Window]:
    window = Window(request.param)
    yield window
    window.screen.close()


def test_a_stopped_screen_holds_up_nobody_and_is_told(window: Window) -> None:
    """The session's thread goes on; when the screen goes on, too, the newest is on it."""
    lost = window.draw_until_told()
    assert lost.device is Device.DISPLAY and "Ctrl-Q" in lost.why
    window.screen.signal(Tone.REFUSED)
    window.screen.typing("a note")
    window.draw()
    taken = window.take()
    assert window.told.wait(DeviceReturned).device is Device.DISPLAY
    assert f"sentence {window.shown}".encode() in taken + window.take()


def test_a_closed_screen_is_told_once(window: Window) -> None:
    """Each drawing fails; the session hears of it once."""
    os.close(window.master)
    for _ in range(5):
        window.draw()
    lost = window.told.wait(DeviceLost)
    assert lost.device is Device.DISPLAY and "can't be written to" in lost.why
    window.screen.close()
    assert window.told.so_far() == [lost]


def test_a_stopped_screen_fills_no_memory() -> None:
    """However long it is stopped: what waits is bounded."""
    window = Window()
    window.draw_until_told()
    for _ in range(5 * MOST_WAITING):
        window.draw()
    assert len(window.screen._waiting) == MOST_WAITING
    window.take()
    window.screen.close()


def test_a_screen_that_fails_and_then_works_is_back(monkeypatch: pytest.MonkeyPatch) -> None:
    """What did not arrive is drawn again, though nothing in it has changed."""
    window = Window()
    window.draw()
    wait_for(lambda: not window.screen._waiting, "the drawing")
    fails = threading.Event()
    real = os.write

    def write(handle: int, data: bytes) -> int:
        if fails.is_set() and handle == window.out.fileno():
            raise OSError(5, "Input/output error")
        return real(handle, data)

    monkeypatch.setattr(os, "write", write)
    fails.set()
    window.draw()
    window.told.wait(DeviceLost)
    fails.clear()
    window.screen.show(replace(VIEW, said=f"sentence {window.shown} " * 20))
    window.told.wait(DeviceReturned)
    assert f"sentence {window.shown}".encode() in window.take()
    window.screen.close()


_STOPPED = """
import sys
from assistant.devices.terminal.drawing_thread import SteadyScreen
from assistant.devices.terminal.screen import open_terminal
from tests.devices.test_steady import VIEW, replace
screen = SteadyScreen(open_terminal(sys.stdout, "full"), lambda event: None)
for n in range(200):
    screen.show(replace(VIEW, said=f"sentence {n} " * 20))
screen.close()
print("left", file=sys.stderr)
"""


def test_leaving_does_not_wait_for_a_stopped_screen() -> None:
    """The program ends, by itself and with no complaint of the interpreter."""
    master, slave = pty.openpty()
    termios.tcsetwinsize(slave, (50, 120))
    done = subprocess.run(
        [sys.executable, "-c", _STOPPED], stdout=slave, stderr=subprocess.PIPE, text=True,
        stdin=subprocess.DEVNULL, timeout=60, cwd=ROOT, check=False,
    )  # fmt: skip
    assert (done.returncode, done.stderr) == (0, "left\n")
    os.close(slave)
    os.close(master)


def test_a_loss_is_told_within_two_seconds() -> None:
    """The program's own bounds: how long a drawing may take, and how often that is looked at."""
    assert drawing_thread.STOPPED_S + drawing_thread.TICK_S < 2
