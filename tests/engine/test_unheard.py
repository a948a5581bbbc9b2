"""Where no ear listens, nobody is told to say anything."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import replace
from functools import cache

import pytest

from assistant.bench.session import view_of
from assistant.devices.terminal.screen import Painter
from assistant.engine import wording
from assistant.engine.engine import Say, advance
from assistant.engine.events import (
    Command,
    CommandGiven,
    Device,
    DeviceLost,
    DeviceReturned,
    DeviceTroubled,
    Event,
    Gesture,
    NoteWritten,
    PedalUsed,
    SessionResumed,
    SessionStarted,
    SizeGiven,
    Source,
    Trouble,
    TrustChanged,
)
from assistant.engine.phases import ANSWERS, Step
from assistant.engine.phrases import LOCK_AND_GUARD
from assistant.engine.state import State
from assistant.job.programme import Programme
from tests.engine.jobs import MEASURED, programme, size
from tests.engine.walk import FEWER, sample, walk
from tests.lanes import in_full, length

JOBS = {
    "plain": programme(2, 2, items=2),
    "measured in two passes": programme(2, 2, **MEASURED),
    "measured after the first cut": programme(2, measurements=(size(1),)),
    "driven in the cut": programme(2, unlocked=True),
    "along a rule": programme(2, 2, closed=False),
    "two rings": programme(2, then=programme(2, name="the holes")),
}
VOICE = re.compile(r"\b(say|said|voice|speak|spoken)\b", re.IGNORECASE)
ALL_WAYS: dict[str, dict[str, object]] = {
    "no ear from the start": {"deaf": True},
    "the ear is lost": {"lost": (Device.EAR,)},
    "the microphone is lost": {"lost": (Device.MICROPHONE,)},
}
UNHEARD: tuple[Event, ...] = (
    *(PedalUsed(0.0, gesture) for gesture in Gesture),
    PedalUsed(0.0, Gesture.PRESS, waited=0.0),
    *(CommandGiven(0.0, command, Source.KEYBOARD) for command in Command),
    NoteWritten(0.0, "burr on tooth two"),
    *(SizeGiven(0.0, given) for given in ("18", "18.3", "19.05", "999", "nineteen")),
    *(DeviceLost(0.0, device, "unplugged") for device in Device),
    *(DeviceReturned(0.0, device) for device in (Device.PEDAL, Device.KEYBOARD, Device.PAGE)),
    *(
        DeviceTroubled(0.0, device, trouble)
        for device in (Device.PEDAL, Device.KEYBOARD)
        for trouble in (Trouble.STUCK, Trouble.CHATTERING, Trouble.LEANED_ON)
    ),
)
THIRDS = length(3, 1)  # 1: every state


@cache
def reached(name: str) -> list[State]:
    """What any order of events leads to in this job: looked at anew for each way to be deaf."""
    walked = walk(JOBS[name]) if in_full() else sample(JOBS[name], 150, FEWER)
    return sorted(walked.states, key=repr)


def answered(job: Programme, state: State) -> Iterator[str]:
    """Everything said in this state to what a person without an ear can do, and what stands on
    the screen after it."""
    events = [*UNHEARD, SessionResumed(0.0, "none")] if state.deaf else UNHEARD
    for event in events:
        new, effects = advance(job, state, event)
        yield from (effect.text for effect in effects if isinstance(effect, Say))
        yield view_of(job, new).answer and f"say {new.step}"


@pytest.mark.longer
@pytest.mark.parametrize("way", ALL_WAYS)
@pytest.mark.parametrize("name", JOBS)
def test_no_sentence_asks_for_a_voice_that_nobody_hears(name: str, way: str) -> None:
    """In every state that any order of events can reach, whatever is pressed or typed there; every
    day in some of each step."""
    job = JOBS[name]
    states = reached(name)
    assert len(states) > (200 if in_full() else 100)
    # Every day each way sees a third of the sample, and together they see all of it.
    first = list(ALL_WAYS).index(way) % THIRDS
    for state in states[first::THIRDS]:
        unheard = replace(state, **ALL_WAYS[way])  # type: ignore[arg-type]
        for text in answered(job, unheard):
            assert not VOICE.search(text), (state.step, text)


@pytest.mark.parametrize("way", ALL_WAYS)
def test_what_was_asked_before_is_asked_anew_without_it(way: str) -> None:
    """ "Say again" and the screen repeat the question as it would be asked now."""
    job = JOBS["plain"]
    state, _ = advance(job, State(), SessionStarted(0.0, "head"))
    assert state.said.endswith("Press, or say set and checked.")
    lost = replace(state, **ALL_WAYS[way])  # type: ignore[arg-type]
    if lost.lost:
        lost, _ = advance(job, state, DeviceLost(0.0, lost.lost[0], "unplugged"))
        assert lost.said.endswith("Press.")
        back, _ = advance(job, lost, DeviceReturned(0.0, lost.lost[0]))
        assert back.said == state.said
    else:
        lost, _ = advance(job, State(), SessionStarted(0.0, "none"))
    _, effects = advance(job, lost, PedalUsed(0.0, Gesture.DOUBLE))
    (again,) = [effect.text for effect in effects if isinstance(effect, Say)]
    assert again.endswith("Press.") and not VOICE.search(again)


def test_no_ear_outlasts_a_stage_and_ends_with_a_restart_that_has_one() -> None:
    """The next ring is set up in the same session; the next session may have an ear."""
    job = JOBS["two rings"]
    state, _ = advance(job, State(), SessionStarted(0.0, "none"))
    while not state.stage:
        state, _ = advance(job, state, PedalUsed(0.0, Gesture.PRESS))
    assert state.deaf
    state, _ = advance(job, state, SessionResumed(0.0, "head"))
    assert not state.deaf


def test_too_loud_names_no_phrase_for_lock_and_guard() -> None:
    """Where the voice would not be taken, and only there."""
    job = JOBS["plain"]
    state, _ = advance(job, State(), SessionStarted(0.0, "head"))
    hints = dict[Step, str]()
    state, _ = advance(job, state, TrustChanged(0.0, trusted=False))
    while state.step is not Step.FINISHED:
        hints.setdefault(state.step, wording.question(job, state))
        shown = view_of(job, state).answer
        careful = ANSWERS[state.step] in LOCK_AND_GUARD
        assert bool(shown) != careful
        state, _ = advance(job, state, PedalUsed(0.0, Gesture.PRESS))
    assert hints[Step.LOCK].endswith("Press.") and hints[Step.GUARD].endswith("Press.")
    assert hints[Step.CUT].endswith("say cut done.")


def test_the_screen_names_no_phrase_either() -> None:
    """The line under the figures tells what is awaited, and the phrase only where it counts."""
    job = JOBS["plain"]
    for ears, wanted in (("head", 1), ("none", 0)):
        state, _ = advance(job, State(), SessionStarted(0.0, ears))
        lines = Painter(colour=False, blocks=False).paint(view_of(job, state), (80, 30))
        asked = [line for line in lines if "> the set-up item" in line]
        assert [line.count("say “set and checked”") for line in asked] == [wanted]
