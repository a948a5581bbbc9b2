"""What can be tried of Windows without Windows: its console, its pipes, its folders.

Simulated are: msvcrt (`kbhit`, `getwch`) after its page in Python's library reference, with the
two-piece keys; a standard input that `select` refuses; folders with backslashes by `os.sep`; the
console's mode after Microsoft's page on `SetConsoleMode`.
"""

from __future__ import annotations

import ctypes
import io
import os
import queue
import sys
import types
from collections.abc import Iterator

import pytest

from assistant.devices.terminal import key_source, screen
from assistant.devices.terminal.key_source import Descriptor, WindowsConsole, WindowsPipe
from assistant.devices.terminal.keyboard import Keyboard
from assistant.devices.terminal.screen import FullScreen, Lines, open_terminal
from assistant.engine.events import (
    Command,
    CommandGiven,
    Device,
    DeviceLost,
    PedalUsed,
    SessionLeft,
)
from assistant.files import places
from tests.devices.told import Told


class Console(types.ModuleType):
    """msvcrt as its page tells: a key is there or not; arrows and function keys come in two."""

    def __init__(self) -> None:
        super().__init__("msvcrt")
        self.keys: queue.SimpleQueue[str] = queue.SimpleQueue()

    def kbhit(self) -> bool:
        return not self.keys.empty()

    def getwch(self) -> str:
        return self.keys.get_nowait()

    def type(self, keys: str) -> None:
        for key in keys:
            self.keys.put(key)


@pytest.fixture
def console(monkeypatch: pytest.MonkeyPatch) -> Console:
    console = Console()
    monkeypatch.setitem(sys.modules, "msvcrt", console)
    return console


@pytest.fixture
def keyboard(console: Console) -> Iterator[tuple[Keyboard, Told]]:
    told = Told()
    keyboard = Keyboard(0, source=WindowsConsole())
    keyboard.start(told)
    yield keyboard, told
    keyboard.close()
    assert keyboard._thread is not None and not keyboard._thread.is_alive()


def test_single_keys_by_the_console(console: Console, keyboard: tuple[Keyboard, Told]) -> None:
    """Enter is done, a letter its command, q leaves."""
    _, told = keyboard
    console.type("\r")
    assert told.wait(PedalUsed, 60).source == "keyboard"
    console.type("w")
    assert told.wait(CommandGiven, 60).command is Command.WHAT_NEXT
    console.type("q")
    told.wait(SessionLeft, 60)


def test_arrows_and_function_keys_do_nothing(
    console: Console, keyboard: tuple[Keyboard, Told]
) -> None:
    """Their second piece is a letter: H of the up arrow, and S of delete, must give up no part."""
    _, told = keyboard
    console.type("\xe0H")
    console.type("\xe0s")
    console.type("\x00;")
    console.type("q")
    told.wait(SessionLeft, 60)
    assert [type(event) for event in told.so_far()] == [SessionLeft]


def test_half_of_a_letter_is_no_key(console: Console, keyboard: tuple[Keyboard, Told]) -> None:
    """`getwch` gives what lies beyond 16 bits in two surrogates; the keyboard outlives them."""
    _, told = keyboard
    console.type("\ud83d\ude00q")
    told.wait(SessionLeft, 60)
    assert [type(event) for event in told.so_far()] == [SessionLeft]


class Kernel:
    """A console's mode: known or none at all, and codes that it knows or refuses."""

    def __init__(self, known: bool, codes: bool) -> None:
        self.known, self.codes, self.mode = known, codes, 3

    def GetConsoleMode(self, handle: object, mode: object) -> int:  # noqa: N802
        mode._obj.value = self.mode  # type: ignore[attr-defined]
        return int(self.known)

    def SetConsoleMode(self, handle: object, mode: int) -> int:  # noqa: N802
        self.mode = mode if self.codes else self.mode
        return int(self.codes)


class Typed(io.StringIO):
    """A stream that says that it is a console."""

    encoding = "utf-8"

    def isatty(self) -> bool:
        return True

    def fileno(self) -> int:
        return 1


@pytest.mark.parametrize(
    ("known", "codes", "drawn"),
    [(True, True, FullScreen), (True, False, Lines), (False, True, Lines)],
)
def test_the_console_is_asked_to_draw(
    console: Console, monkeypatch: pytest.MonkeyPatch, known: bool, codes: bool, drawn: type
) -> None:
    """What it was set to stays set; one that can't draw gets lines, not codes as letters."""
    kernel = Kernel(known, codes)
    windll = types.SimpleNamespace(kernel32=kernel)
    monkeypatch.setattr(ctypes, "windll", windll, raising=False)
    monkeypatch.setattr(console, "get_osfhandle", lambda fd: 7, raising=False)
    monkeypatch.setattr(sys, "platform", "win32")
    assert type(open_terminal(Typed())) is drawn
    assert kernel.mode == (3 | 4 if known and codes else 3)


def test_letters_reach_the_console_through_its_stream(monkeypatch: pytest.MonkeyPatch) -> None:
    """Bytes in UTF-8 would be read by the console's code page."""
    out = Typed()
    monkeypatch.setattr(sys, "platform", "win32")
    monkeypatch.setattr(os, "write", lambda *_: pytest.fail("bytes were written"))
    assert screen._write(out, "Grad: 9°") == ""
    assert out.getvalue() == "Grad: 9°"


def test_lines_from_a_pipe_and_its_end() -> None:
    """Each line counts, and the end is told."""
    out, into = os.pipe()
    told = Told()
    keyboard = Keyboard(out, source=WindowsPipe(out))
    keyboard.start(told)
    os.write(into, b"\nwhat is next\n")
    told.wait(PedalUsed, 60)
    assert told.wait(CommandGiven, 60).command is Command.WHAT_NEXT
    os.close(into)
    assert told.wait(DeviceLost, 60).device is Device.KEYBOARD
    keyboard.close()
    os.close(out)


def test_the_source_is_chosen_by_system(console: Console, monkeypatch: pytest.MonkeyPatch) -> None:
    out, into = os.pipe()
    assert isinstance(key_source.key_source(out), Descriptor)
    with monkeypatch.context() as there:
        there.setattr(sys, "platform", "win32")
        piped = key_source.key_source(out)
        there.setattr(os, "isatty", lambda fd: True)
        typed = key_source.key_source(out)
    assert isinstance(piped, WindowsPipe) and isinstance(typed, WindowsConsole)
    os.close(out)
    os.close(into)


def test_a_standard_input_that_select_refuses_is_a_lost_keyboard(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """`select` takes sockets only there: were it used, the loss would be told."""

    def refuses(*_: object) -> None:
        raise OSError(10038, "An operation was attempted on something that is not a socket")

    out, into = os.pipe()
    monkeypatch.setattr(key_source.select, "select", refuses)
    told = Told()
    keyboard = Keyboard(out)
    keyboard.start(told)
    assert "not a socket" in told.wait(DeviceLost, 60).why
    keyboard.close()
    os.close(out)
    os.close(into)


def test_a_name_with_a_backslash_is_a_path(monkeypatch: pytest.MonkeyPatch) -> None:
    r"""`heads\mine.toml` is looked for where it says, not among the heads that come along."""
    looked: list[str] = []
    monkeypatch.setattr(os, "sep", "\\")
    monkeypatch.setattr(os, "altsep", "/")
    for name in (r"heads\mine.toml", "heads/mine.toml"):
        looked[:] = list(places._head_places(name))
        assert looked == [name]


def test_training_counts_its_time_without_the_module_resource(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Windows has none: the training is imported and tells the time of its own process."""
    from assistant.hearing.training import train

    monkeypatch.setitem(sys.modules, "resource", None)
    monkeypatch.setattr(sys, "platform", "win32")
    assert train._cpu_seconds() > 0
