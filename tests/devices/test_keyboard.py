"""The keyboard: a real pseudo-terminal, and a real pipe."""

from __future__ import annotations

import os
import pty
import termios
import time
from collections.abc import Iterator

import pytest

from assistant.devices.terminal.keyboard import (
    CALM_S,
    KEYS,
    REPEAT_S,
    TOGETHER_S,
    WALKED_KEYS,
    Keyboard,
)
from assistant.engine.events import (
    Command,
    CommandGiven,
    Device,
    DeviceLost,
    DeviceTroubled,
    Gesture,
    NoteWritten,
    PartScrapped,
    PedalUsed,
    PhraseHeard,
    SessionLeft,
    SizeGiven,
    Trouble,
)
from tests.devices.told import Told

pytestmark = pytest.mark.live


class Typist:
    """A keyboard on a pseudo-terminal."""

    def __init__(self) -> None:
        self.master, self.slave = pty.openpty()
        self.told = Told()
        self.hushed: list[float] = []
        self.typed: list[str | None] = []
        self.pedal_types = ""
        self.keyboard = Keyboard(
            self.slave,
            on_press=lambda: self.hushed.append(time.monotonic()),
            show_typing=self.typed.append,
            not_ours=lambda key: key in self.pedal_types,
        )
        self.keyboard.start(self.told)

    def type(self, keys: str) -> None:
        os.write(self.master, keys.encode())

    def slowly(self, *keys: str) -> None:
        """One after the other, as a person types."""
        for key in keys:
            self.type(key)
            time.sleep(2 * TOGETHER_S)


@pytest.fixture
def typist() -> Iterator[Typist]:
    typist = Typist()
    yield typist
    typist.keyboard.close()
    os.close(typist.master)
    os.close(typist.slave)


def test_enter_is_a_press_and_hushes(typist: Typist) -> None:
    """Enter does what the pedal does, and silences speech."""
    typist.type("\r")
    used = typist.told.wait(PedalUsed)
    assert (used.gesture, used.source) == (Gesture.PRESS, "keyboard")
    assert used.pressed_at > 0
    assert len(typist.hushed) == 1


@pytest.mark.parametrize(("key", "command"), KEYS.items())
def test_every_key_of_the_list_asks_for_its_command(
    typist: Typist, key: str, command: Command
) -> None:
    """The keys shown on the screen do what is written there."""
    typist.type(key)
    assert typist.told.wait(CommandGiven).command is command


class Timed:
    """A keyboard whose time is the test's own: how fast keys come is not left to the machine."""

    def __init__(self) -> None:
        self.now = 0.0
        self.told = Told()
        self.keyboard = Keyboard(-1, clock=lambda: self.now)
        self.keyboard._post = self.told

    def type(self, keys: str) -> None:
        """All in one breath."""
        for key in keys:
            self.keyboard._key(key)

    def rest(self, seconds: float) -> None:
        """No key for so long; what the listener does when its patience ends is done."""
        while (patience := self.keyboard._patience()) is not None and patience <= seconds:
            self.now += patience
            seconds -= patience
            self.keyboard._settle()
        self.now += seconds

    def kinds(self) -> list[type]:
        return [type(event) for event in self.told.so_far()]


def test_a_held_key_is_one_press() -> None:
    """A terminal sends repeats of a held key as if it were pressed again and again; X begins to
    repeat after 0.66 s, then every 40 ms (its defaults)."""
    timed = Timed()
    timed.type("\r")
    timed.rest(0.66)
    for _ in range(30):
        timed.type("\r")
        timed.rest(0.04)
    timed.rest(REPEAT_S + TOGETHER_S)
    assert timed.kinds() == [PedalUsed]
    timed.type("\r")
    timed.rest(TOGETHER_S)
    assert timed.kinds() == [PedalUsed, PedalUsed]


def test_an_elbow_on_the_keys_presses_nothing() -> None:
    """Many keys at once are told as trouble, and none of them acts until it is quiet."""
    timed = Timed()
    timed.type("\rqbxc")
    timed.rest(TOGETHER_S)
    (trouble,) = timed.told.so_far()
    assert isinstance(trouble, DeviceTroubled) and trouble.trouble is Trouble.LEANED_ON
    timed.type("w")
    timed.rest(2 * TOGETHER_S)
    assert len(timed.told.so_far()) == 1
    timed.rest(CALM_S)
    timed.type("w")
    timed.rest(TOGETHER_S)
    asked = timed.told.so_far()[-1]
    assert isinstance(asked, CommandGiven) and asked.command is Command.WHAT_NEXT


def test_a_cat_that_walks_over_the_keys() -> None:
    """One key after the other: after the fourth it is told, and the rest does nothing."""
    timed = Timed()
    for key in "wrlbxow?":
        timed.type(key)
        timed.rest(2 * TOGETHER_S)
    assert timed.kinds() == [CommandGiven] * (WALKED_KEYS - 1) + [DeviceTroubled]
    timed.rest(CALM_S)
    assert len(timed.kinds()) == WALKED_KEYS
    timed.type("l")
    timed.rest(TOGETHER_S)
    asked = timed.told.so_far()[-1]
    assert isinstance(asked, CommandGiven) and asked.command is Command.HOW_MANY_LEFT


def test_arrow_and_function_keys_are_no_letters(typist: Typist) -> None:
    """The sequence of F13 (a pedal's key) holds no command."""
    typist.slowly("\x1b[25~", "\x1b[A", "\x1bOP", "\x1b[1;2P")
    typist.type("w")
    assert typist.told.wait(CommandGiven).command is Command.WHAT_NEXT
    assert len(typist.told.so_far()) == 1


def test_a_note_is_typed_corrected_and_kept(typist: Typist) -> None:
    """Inside a note no key is a command; Escape throws the note away."""
    typist.slowly("n")
    typist.type("cutter bluntt\x7f, à voir\r")
    assert typist.told.wait(NoteWritten).text == "cutter blunt, à voir"
    assert typist.typed[-2:] == ["cutter blunt, à voir", None]
    time.sleep(REPEAT_S)
    typist.slowly("n", "q", "\x1b")
    assert typist.typed[-1] is None
    assert not any(isinstance(event, SessionLeft) for event in typist.told.so_far())


def test_what_the_pedal_types_is_left_alone(typist: Typist) -> None:
    """A pedal that types "b" must not go back one step as well."""
    typist.pedal_types = "b"
    typist.slowly("b", "q")
    typist.told.wait(SessionLeft)
    assert len(typist.told.so_far()) == 1


def test_the_terminal_is_put_back_as_it_was() -> None:
    """After the session the shell echoes again."""
    typist = Typist()
    typist.keyboard.close()
    fresh, _ = pty.openpty()
    assert termios.tcgetattr(typist.slave)[3] == termios.tcgetattr(fresh)[3]


def test_a_terminal_that_goes_is_a_lost_keyboard() -> None:
    """Closing the window ends the keyboard, not the session."""
    typist = Typist()
    os.close(typist.master)
    assert typist.told.wait(DeviceLost).device is Device.KEYBOARD
    typist.keyboard.close()


def test_lines_from_a_pipe() -> None:
    """A line is a phrase, a key, a note, or a press; the end is told."""
    reader, writer = os.pipe()
    told = Told()
    keyboard = Keyboard(reader)
    keyboard.start(told)
    os.write(writer, b"Where am I?\n\nnote: blunt\nopen sesame\nl\nspindle lo")
    os.write(writer, b"cked\nq")
    os.close(writer)
    told.wait(DeviceLost)
    kinds = [type(event).__name__ for event in told.all]
    assert kinds == [
        "CommandGiven", "PedalUsed", "NoteWritten", "PhraseHeard", "CommandGiven", "CommandGiven",
        "SessionLeft", "DeviceLost",
    ]  # fmt: skip
    given = [event.command for event in told.all if isinstance(event, CommandGiven)]
    assert given == [Command.WHERE_AM_I, Command.HOW_MANY_LEFT, Command.LOCKED]
    (unknown,) = (event for event in told.all if isinstance(event, PhraseHeard))
    assert unknown.command is None and not unknown.accepted and unknown.why
    keyboard.close()


def test_a_size_is_typed(typist: Typist) -> None:
    """Inside a size no key is a command; a comma is as good as a point."""
    typist.slowly("m")
    typist.type("19,05\r")
    given = typist.told.wait(SizeGiven)
    assert (given.size, given.source) == ("19.05", "keyboard")


def test_a_part_is_given_up_by_its_own_key(typist: Typist) -> None:
    """No phrase and no press does it; inside a note the letter is a letter."""
    typist.slowly("n")
    typist.type("burrs\r")
    assert typist.told.wait(NoteWritten).text == "burrs"
    typist.slowly("s")
    assert typist.told.wait(PartScrapped).source == "keyboard"
