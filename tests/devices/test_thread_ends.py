"""A device's thread that ends or fails, however it does, is told: never a way to answer on the
screen that is none any more."""

from __future__ import annotations

import threading
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from assistant.devices.pedal import evdev, x11
from assistant.devices.pedal.binding import KeyBinding
from assistant.devices.pedal.evdev import EvdevPedal
from assistant.devices.pedal.x11 import XPedal
from assistant.devices.sound.streams import KeptStream, Sound, StreamUse
from assistant.devices.speech.announcer import VoiceAnnouncer
from assistant.devices.terminal.drawing_thread import SteadyScreen
from assistant.devices.terminal.keyboard import Keyboard
from assistant.engine.events import Device, DeviceLost, DeviceReturned, SpeechFailed
from assistant.files.settings import Settings
from assistant.hearing import listener
from assistant.hearing.listener import Hearing
from tests.devices.told import Told

BROKEN = "an operation on something that is no socket"


def breaks(*_: object) -> Any:
    raise RuntimeError(BROKEN)


class Keys:
    """A source of keys that gives what it was made with, one at each read."""

    def __init__(self, *given: bytes | Callable[[], bytes]) -> None:
        self._given = list(given)

    def enter(self) -> bool:
        return True

    def read(self, patience: float | None) -> bytes | None:
        if not self._given:
            return None
        given = self._given.pop(0)
        return given if isinstance(given, bytes) else given()

    def wake(self) -> None: ...

    def leave(self) -> None: ...


@pytest.mark.parametrize(("source", "why"), [(Keys(breaks), BROKEN), (Keys(b""), "ended")])
def test_a_keyboard_that_can_be_read_no_more(source: Keys, why: str) -> None:
    """As where waiting on standard input is refused by the system; once, with the reason."""
    told = Told()
    keyboard = Keyboard(0, source=source)
    keyboard.start(told)
    lost = told.wait(DeviceLost, 60)
    assert lost.device is Device.KEYBOARD and why in lost.why
    keyboard.close()
    assert [type(event) for event in told.so_far()] == [DeviceLost]


def test_a_keyboard_that_is_closed_is_not_lost() -> None:
    told = Told()
    keyboard = Keyboard(0, source=Keys())
    keyboard.start(told)
    keyboard.close()
    assert told.so_far() == []


PEDALS = [
    (
        EvdevPedal(KeyBinding("evdev", "F13", 183, "Pedal", "1:1"), lambda: None),
        evdev,
        "open_bound",
    ),
    (XPedal(KeyBinding("x", "f9", 65478), lambda: None), x11, "start_listener"),
]


@pytest.mark.parametrize(("pedal", "module", "opens"), PEDALS)
def test_a_pedal_whose_reader_fails(
    pedal: EvdevPedal | XPedal, module: Any, opens: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(module, opens, breaks)
    told = Told()
    pedal.start(told)
    lost = told.wait(DeviceLost, 60)
    assert lost.device is Device.PEDAL and BROKEN in lost.why
    pedal.close()


def test_an_ear_that_breaks_is_away(monkeypatch: pytest.MonkeyPatch) -> None:
    """Also where what breaks is no fault that the recogniser foresaw."""
    monkeypatch.setattr(listener, "open_hearer", breaks)
    told = Told()
    hearing = Hearing(NoSound(), Settings(Path("tallyhand.toml")), lambda: False)  # type: ignore[arg-type]
    hearing.start(told)
    lost = told.wait(DeviceLost, 60)
    assert lost.device is Device.EAR and BROKEN in lost.why
    hearing.close()


class NoSound:
    """Where a sound system would be."""

    def keep_open(self, line: KeptStream) -> None: ...

    def let_go(self, line: KeptStream) -> None: ...

    def drop_buffered(self, line: KeptStream) -> None: ...


class BreakingVoice:
    name = "breaking"

    def speak(self, *_: object) -> Any:
        breaks()

    def cancel(self) -> None: ...


def test_a_voice_that_breaks_is_told_for_each_sentence() -> None:
    """The words reach the person another way, the second time too."""
    told = Told()
    announcer = VoiceAnnouncer(
        NoSound(), BreakingVoice(), Settings(Path("tallyhand.toml")), told, lambda tone: None  # type: ignore[arg-type]
    )  # fmt: skip
    for text in ("Lock the spindle.", "Close the guard."):
        announcer.say(text)
        failed = told.wait(SpeechFailed, 60)
        assert (failed.text, BROKEN in failed.why) == (text, True)
    assert not announcer.busy()
    announcer.close()


class BreakingScreen:
    fault = ""

    def show(self, view: object) -> None:
        breaks()

    def meter(self, words: str) -> None: ...

    def close(self) -> None: ...


def test_a_screen_that_breaks_is_told_and_comes_back() -> None:
    told = Told()
    screen = SteadyScreen(BreakingScreen(), told)  # type: ignore[arg-type]
    screen.show(None)  # type: ignore[arg-type]
    lost = told.wait(DeviceLost, 60)
    assert lost.device is Device.DISPLAY and BROKEN in lost.why
    screen.meter("quiet")
    assert told.wait(DeviceReturned, 60).device is Device.DISPLAY
    screen.close()


@pytest.mark.parametrize("work", ["_watch", "_run"])
def test_what_breaks_in_one_line_of_sound_is_its_loss(
    work: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The thread that looks after all of them goes on."""
    lost: list[str] = []
    heard = threading.Event()
    use = StreamUse(
        breaks, breaks, lambda why: (lost.append(why), heard.set()), breaks, lambda: True
    )  # type: ignore[func-returns-value]
    broken = KeptStream(True, "", 16000, use)
    monkeypatch.setattr(broken, "watch", breaks)
    sound = Sound.__new__(Sound)
    sound._closing, sound._wake = threading.Event(), threading.Event()
    sound._lines, sound._leaving = [broken], []
    monkeypatch.setattr(sound, "_look_after", breaks)
    thread = threading.Thread(target=getattr(sound, work), daemon=True)
    thread.start()
    assert heard.wait(60)
    time.sleep(0.05)
    assert lost == [BROKEN] and thread.is_alive()
    sound._closing.set()
