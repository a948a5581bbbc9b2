"""The walk of a press on docs/house.md is the way that a press goes through the code."""

from __future__ import annotations

import queue
import re
import sys
import time
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest

from assistant.bench.session import Bench, Session
from assistant.devices.pedal import contact
from assistant.devices.pedal.gestures import Manner
from assistant.devices.speech.silent import SilentAnnouncer
from assistant.engine.events import Event, SessionStarted
from assistant.engine.phases import Step
from assistant.engine.state import State
from assistant.journal.writing import Journal
from tests.docs import house
from tests.engine.jobs import programme

WALK = re.compile(r"^## A press.*?^A kill", re.MULTILINE | re.DOTALL)
DEVICES = {"evdev.py", "at_the_bench.py", "announcer.py", "synth.py", "player.py", "screen.py",
           "display.py"}  # fmt: skip
"""What this press has none of: a key, the opening of devices, a voice, a screen, a page."""
ORDER = ["contact.py", "gestures.py", "session.py", "engine.py", "transitions.py", "wording.py",
         "writing.py", "presenting.py"]  # fmt: skip


class Screen:
    def show(self, view: object) -> None:
        """Nothing is drawn."""


def named() -> list[str]:
    """The files of the walk, in the order in which it names them."""
    walk = WALK.search(house.PAGE.read_text("utf-8"))
    assert walk
    paths = re.findall(r"`(?:[a-z_]+/)*([a-z_]+\.py)`", walk.group())
    return list(dict.fromkeys(paths))


def entered(folder: Path, monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """The files of the program that a press goes through, each when first entered."""
    found: list[str] = []
    events: queue.SimpleQueue[Event] = queue.SimpleQueue()
    bench = Bench(SilentAnnouncer(lambda tone: None), Screen(), ())  # type: ignore[arg-type]
    job = programme(4)
    session = Session(job, State(), Journal.create(folder, job, ""), bench)
    session.handle(SessionStarted(time.time()))
    clock = SimpleNamespace(now=0.0, time=lambda: time.time() + 60)  # the question is heard out
    clock.monotonic = lambda: clock.now
    monkeypatch.setattr(contact, "time", clock)
    foot = contact.Foot(events.put, lambda: None, Manner.HOLD)
    clock.now += 60  # for so long nobody has touched the pedal

    def note(frame: Any, what: str, _: object) -> None:
        file = Path(frame.f_code.co_filename)
        if what == "call" and "assistant" in file.parts and file.name not in found:
            found.append(file.name)

    sys.setprofile(note)
    try:
        for edge in (foot.down, foot.tick, foot.up, foot.tick):
            clock.now += 0.1  # longer than a contact bounces, shorter than a hold
            edge()
        session.handle(bench.timed(events.get(block=False)))
    finally:
        sys.setprofile(None)
    assert session.state.step is not Step.SET_UP or session.state.item
    return found


def test_the_walk_names_the_files_that_a_press_goes_through(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Each of them; those that one comes to before another, in that order."""
    walk, went = named(), entered(tmp_path, monkeypatch)
    assert set(walk) - DEVICES - set(went) == set()
    assert set(walk) >= DEVICES | set(ORDER)
    assert [file for file in walk if file in ORDER] == [file for file in went if file in ORDER]
