"""Each device killed, stopped, moved and brought back, at each phase of a job.

The session goes on with what is left, tells what was lost, and takes no cut as made.
"""

from __future__ import annotations

import shutil
import signal
import time
from collections import defaultdict
from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path

import pytest

from assistant.devices.pedal import x11
from assistant.devices.sound import streams as sound
from assistant.devices.terminal import drawing_thread
from assistant.engine import wording
from assistant.engine.engine import Say, advance
from assistant.engine.events import (
    Device,
    DeviceLost,
    DeviceReturned,
    DeviceTroubled,
    Event,
    SpeechFailed,
    Trouble,
)
from assistant.engine.phases import Step
from assistant.page import followers
from tests.engine.jobs import programme
from tests.engine.shop import reachable
from tests.lanes import length
from tests.trust.bench_under_fire import SETTLED_S, Fire
from tests.whole import screen as screens
from tests.whole import sound as sounds

EVERY = length(0, 1, "TALLYHAND_TEST_EVERY_PHASE")  # 1: each fault at each phase
PHASES = (
    Step.SET_UP, Step.LOCK, Step.GUARD, Step.CUT, Step.RELEASE, Step.INDEX, Step.MEASURE,
    Step.PAUSED, Step.CHECK_POSITION, Step.CLOSING_CHECK,
)  # fmt: skip

needs_devices = [
    pytest.mark.live,
    pytest.mark.apart,
    pytest.mark.longer,
    pytest.mark.slow(150),
    pytest.mark.skipif(bool(sounds.missing()), reason=f"not here: {sounds.missing()}"),
    pytest.mark.skipif(bool(screens.missing()), reason=f"not here: {screens.missing()}"),
    pytest.mark.skipif(not shutil.which("chromium"), reason="not here: chromium"),
]


# --- in every state that can be reached

NEWS: list[Event] = [
    *(DeviceLost(9.0, device, "gone") for device in Device),
    *(DeviceReturned(9.0, device) for device in Device),
    *(DeviceTroubled(9.0, Device.PEDAL, trouble) for trouble in Trouble),
    SpeechFailed(9.0, "Lock the spindle.", "the device is gone"),
]


@pytest.mark.parametrize("news", NEWS, ids=lambda e: f"{type(e).__name__} {e!s:.60}"[:60])
def test_in_no_state_does_news_of_a_device_touch_the_job(news: Event) -> None:
    """Every reachable state of two jobs, every device: only the list of what is away changes;
    no cut is counted, and what is asked stays asked."""
    for job in (programme(3), programme(2, passes=2)):
        for state in reachable(job):
            new, effects = advance(job, state, news)
            assert replace(new, lost=state.lost) == state
            if isinstance(news, DeviceLost):
                assert news.device in new.lost
                assert Say(wording.lost(new, news.device), "device") in effects


def test_a_loss_is_noticed_within_two_seconds() -> None:
    """The program's own bounds, added up: how long each device may be silent, and how often
    that is looked at. What the machine adds is measured, not promised."""
    stopped_sound = sound.STALL_S + sound.TICK_S
    moved_sound = sound.PLACES_S + sound.TICK_S
    stopped_screen = drawing_thread.STOPPED_S + drawing_thread.TICK_S
    silent_page = followers.SILENT_S + followers.TICK_S
    assert max(stopped_sound, moved_sound, stopped_screen, silent_page, x11.ALIVE_S) < 2


# --- the real ones


@dataclass(frozen=True)
class Fault:
    """What is done to which devices, and how it is undone."""

    what: str
    devices: tuple[Device, ...]
    strike: Callable[[Fire], object]
    mend: Callable[[Fire], object] = lambda fire: None
    answer: str = "key"  # what is left to answer with


def _move(fire: Fire, stream: str, place: str) -> None:
    fire.sound._pactl(f"move-{stream}", fire.stream(stream), place)


def _stop_terminal(fire: Fire) -> None:
    """Ctrl-S; noticed when something is to be drawn."""
    fire.terminal.press("\x13")
    fire.terminal.press("l")


_X = Device.PEDAL
_BOTH = (Device.MICROPHONE, Device.SPEAKER)
FAULTS = [
    Fault("microphone unplugged", (Device.MICROPHONE,),
          lambda f: f.sound.unplug("mic_feed"), lambda f: f.sound.plug_microphone()),
    Fault("microphone stopped", (Device.MICROPHONE,),
          lambda f: f.sound.stand_still("mic_feed", True),
          lambda f: f.sound.stand_still("mic_feed", False), "foot"),
    Fault("microphone moved", (Device.MICROPHONE,),
          lambda f: _move(f, "source-output", "spare_mic.monitor")),
    Fault("speaker unplugged", (Device.SPEAKER,),
          lambda f: f.sound.unplug("speaker"), lambda f: f.sound.plug_speaker()),
    Fault("speaker stopped", (Device.SPEAKER,),
          lambda f: f.sound.stand_still("speaker", True),
          lambda f: f.sound.stand_still("speaker", False), "foot"),
    Fault("speaker moved", (Device.SPEAKER,), lambda f: _move(f, "sink-input", "spare_speaker")),
    Fault("sound server killed", _BOTH, lambda f: f.sound.stop(), lambda f: f.sound_up()),
    Fault("sound server stopped", _BOTH,
          lambda f: f.sound.freeze(), lambda f: f.sound.thaw(), "foot"),
    Fault("pedal gone with its screen", (_X,),
          lambda f: f.screen.stop(), lambda f: f.screen.start()),
    Fault("terminal stopped", (Device.DISPLAY,), _stop_terminal,
          lambda f: f.terminal.press("\x11"), "foot"),
    Fault("page stopped", (Device.PAGE,), lambda f: f.browser.send(signal.SIGSTOP),
          lambda f: f.browser.send(signal.SIGCONT)),
    Fault("page killed and opened elsewhere", (Device.PAGE,), lambda f: f.browser.close(),
          lambda f: f.browser.open(), "foot"),
]  # fmt: skip


def strike(fire: Fire, fault: Fault, figures: dict[str, list[float]], *, answer: bool) -> None:
    """One fault at the present question: told, the job untouched; answered; mended and told."""
    # On a busy machine a device is lost by itself now and then: one that is away can't be lost.
    sounds.wait_for(lambda: not fire.state.lost, "every device", 60)
    standing, began = fire.standing, time.time()
    fault.strike(fire)
    for device in fault.devices:
        figures[fault.what].append(fire.lost(device, began))
    assert fire.standing == standing, "a fault has moved the job"
    if fault.devices != (Device.DISPLAY,):
        sounds.wait_for(
            lambda: all(
                wording.lost(fire.state, device).split(".")[0] in fire.terminal.text
                for device in fault.devices
            ),
            f"the words for {fault.devices}",
        )
    if answer:
        fire.answer(fire.by_foot if fault.answer == "foot" else fire.by_key)
    moved, mended = fire.standing, time.time()
    fault.mend(fire)
    for device in fault.devices:
        fire.returned(device, mended if fault.mend is not _NOTHING else began)
    assert fire.standing == moved, "a return has moved the job"


_NOTHING = Fault.__dataclass_fields__["mend"].default


class TestAtTheBench:
    """The program as a process of its own, on a terminal of its own."""

    pytestmark = needs_devices

    def test_each_device_at_each_phase(self, tmp_path: Path) -> None:
        """Told, the job untouched, answered with what is left, mended, told again."""
        figures: dict[str, list[float]] = defaultdict(list)
        with Fire(tmp_path) as fire:
            fire.settle()
            for n, phase in enumerate(PHASES):
                fire.go_to(phase)
                chosen = FAULTS if EVERY else FAULTS[n :: len(PHASES)]
                for fault in chosen:
                    time.sleep(SETTLED_S)  # until it is known where the sound goes
                    last = fault is chosen[-1]
                    try:
                        strike(fire, fault, figures, answer=last)
                    except Exception as error:
                        streams = fire.sound._pactl("list", "short", "sink-inputs", check=False)
                        last_events = [entry.event for entry in fire.entries()[-4:]]
                        error.add_note(f"{fault.what} at {phase}: {last_events} {streams}")
                        raise
            made, standing = fire.state, fire.standing
            began = time.time()
            fire.terminal.close()
            figures["terminal closed"].append(fire.lost(Device.KEYBOARD, began))
            figures["terminal closed"].append(fire.lost(Device.DISPLAY, began))
            assert fire.standing == standing
            fire.answer(fire.by_foot)
        for what, seconds in figures.items():
            print(f"{what}: {len(seconds)} told, at most {max(seconds):.2f} s")
        assert made.lost == ()
        assert set(figures) == {*(fault.what for fault in FAULTS), "terminal closed"}
