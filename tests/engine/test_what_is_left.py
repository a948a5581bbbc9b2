"""A loss is told with what is really left to answer by and to look at, and with nothing else."""

from __future__ import annotations

from dataclasses import replace
from itertools import chain, combinations
from pathlib import Path

import pytest

from assistant.bench.language_files import choose
from assistant.bench.session import Bench
from assistant.devices.speech.silent import SilentAnnouncer
from assistant.engine.engine import Say, advance
from assistant.engine.events import Device, DeviceLost, DeviceReturned, Event, SessionStarted
from assistant.engine.state import State
from assistant.engine.view import NOTHING_HEARD
from tests.engine.jobs import programme

NAMED = {  # what a sentence calls each, read here in the words of the sentences themselves
    Device.PEDAL: "the pedal",
    Device.MICROPHONE: "your voice",
    Device.KEYBOARD: "the keyboard",
    Device.PAGE: "the bench page",
}
THERE = (Device.PEDAL, Device.MICROPHONE, Device.KEYBOARD, Device.PAGE, Device.DISPLAY)


def told(event: Event, state: State | None = None, language: str = "en") -> str:
    job = replace(programme(3), language=language)
    start, _ = advance(job, State(), SessionStarted(0.0, "head"))
    _, effects = advance(job, state or start, event)
    return " ".join(effect.text for effect in effects if isinstance(effect, Say))


def gone(device: Device, *left: Device) -> DeviceLost:
    return DeviceLost(0.0, device, "unplugged", "+".join(left) or "none")


def some_of(devices: tuple[Device, ...]) -> list[tuple[Device, ...]]:
    sizes = range(len(devices) + 1)
    return list(chain.from_iterable(combinations(devices, size) for size in sizes))


@pytest.mark.parametrize("lost", [Device.PEDAL, Device.KEYBOARD, Device.MICROPHONE, Device.EAR])
def test_it_names_what_is_left_to_answer_with_and_nothing_else(lost: Device) -> None:
    """Whatever a bench has: with a page and no pedal it is the page."""
    for left in some_of(THERE):
        words = told(gone(lost, *(each for each in left if each is not lost)))
        for device, name in NAMED.items():
            heard = device is not Device.MICROPHONE or lost is not Device.EAR
            assert (name in words) is (device in left and device is not lost and heard), words
        named = any(name in words for name in NAMED.values())
        assert ("Nothing else is left" in words) is not named, words


def test_a_page_alone_is_what_is_left_of_a_keyboard() -> None:
    words = told(gone(Device.KEYBOARD, Device.PAGE, Device.DISPLAY))
    assert words == "The keyboard is gone. Use the bench page."


def test_with_nothing_left_nothing_is_named() -> None:
    words = told(gone(Device.KEYBOARD))
    assert words == "The keyboard is gone. Nothing else is left to answer with."


def test_an_earlier_loss_is_not_named_as_a_way() -> None:
    job = programme(3)
    state, _ = advance(job, State(), SessionStarted(0.0, "head"))
    state, _ = advance(job, state, gone(Device.PEDAL, Device.MICROPHONE, Device.KEYBOARD))
    left = (Device.PEDAL, Device.MICROPHONE, Device.PAGE)
    assert "the pedal" not in told(gone(Device.KEYBOARD, *left), state)


@pytest.mark.parametrize("lost", [Device.SPEAKER, Device.DISPLAY, Device.PAGE])
def test_it_names_what_is_left_to_look_at(lost: Device) -> None:
    """A speaker is listened to, a screen is looked at or read, a page is one."""
    for left in some_of((Device.SPEAKER, Device.DISPLAY, Device.PAGE)):
        words = told(gone(lost, *(each for each in left if each is not lost))).partition("gone.")[2]
        there = {*left} - {lost}
        assert ("Listen" in words) is (Device.SPEAKER in there), words
        assert ("screen" in words) is (Device.DISPLAY in there), words
        assert ("page" in words) is (Device.PAGE in there), words


def test_german_names_it_too() -> None:
    german = choose("de", Path("tallyhand.toml")).code
    words = told(gone(Device.KEYBOARD, Device.PAGE), language=german)
    assert words == "Die Tastatur ist weg. Anzeigeseite benutzen."


class Screen:
    def show(self, view: object) -> None:
        """Nothing is drawn."""


def test_the_bench_says_what_it_has_left() -> None:
    """Less what was lost before; a bench that does not know adds nothing."""
    job, event = programme(3), DeviceLost(0.0, Device.KEYBOARD, "its input has ended")
    announcer = SilentAnnouncer(lambda tone: None)
    ways = {Device.KEYBOARD, Device.PAGE, Device.DISPLAY, Device.PEDAL}
    bench = Bench(announcer, Screen(), (), ways=ways)  # type: ignore[arg-type]
    assert bench.timed(event) == replace(event, left="display+page+pedal")
    state, _ = advance(job, State(), gone(Device.PEDAL, Device.KEYBOARD))
    bench.stand(job, state, NOTHING_HEARD)
    assert bench.timed(event) == replace(event, left="display+page")
    state, _ = advance(job, state, DeviceReturned(0.0, Device.PEDAL))
    bench.stand(job, state, NOTHING_HEARD)
    assert bench.timed(event) == replace(event, left="display+page+pedal")
    unknown = Bench(announcer, Screen(), ())  # type: ignore[arg-type]
    assert unknown.timed(event) == event
