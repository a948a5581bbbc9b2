"""Everything that a session says, by playing jobs with every event at every kind of place.

Whole texts, as they go to the voice; `in_sentences` takes them apart.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from assistant.engine.engine import Effect, Say, advance
from assistant.engine.events import (
    Device,
    DeviceLost,
    DeviceReturned,
    DeviceTroubled,
    Event,
    Gesture,
    PedalUsed,
    SessionResumed,
    SessionStarted,
    SizeGiven,
    SpeechFailed,
    Trouble,
)
from assistant.engine.phases import Step
from assistant.engine.state import State, trial_offered
from assistant.job.compiler import head_of, programme_of, setups_of
from assistant.job.job_file import Job, job_from_text, read_job
from assistant.job.programme import Programme
from assistant.words.language import in_force, number, speaking
from solver import Head
from tests.engine.walk import EVENTS, bare

JOBS = sorted((Path(__file__).parents[2] / "config" / "jobs").glob("*.toml"))
PRESS = PedalUsed(0.0, Gesture.PRESS)
EARS = ("head", "vosk+head", "grammar", "none")
FEET = ("hold", "second")
DEEP = 3  # so many events away from the straight way through a job

_EVENTS: tuple[Event, ...] = (
    *EVENTS,
    PedalUsed(0.0, Gesture.PRESS, waited=0.0),
    *(SizeGiven(0.0, size) for size in ("18.3", "20", "2.5", "0.6")),
    *(DeviceLost(0.0, device, "unplugged") for device in Device),
    *(DeviceReturned(0.0, device) for device in Device),
    *(DeviceTroubled(0.0, device, trouble) for device in Device for trouble in Trouble),
    *(SessionResumed(0.0, ears) for ears in EARS),
    SpeechFailed(0.0, "Lock the spindle.", "no sound server"),
)
# Heads and ways of indexing that no example job uses: what is worked out is checked elsewhere.
_MORE = {
    "compound": ("two-sided-40", 77),
    "differential": ("three-plate-40-geared", 127),
    "direct": ("three-plate-40", 6),
    "handwheel": ("rotary-60-handwheel", 7),
    "handwheel, odd minutes": ("rotary-60-handwheel", 48),
    "nearest": ("three-plate-40", 127),
    "another ratio": ("rotary-90", 23),
}


@dataclass(frozen=True)
class Said:
    """A text, and what it was said for: a phase or a question."""

    text: str
    purpose: str


def programmes(language: str = "en") -> Iterator[Programme]:
    """Every example job by each way that its head has, and some on other heads."""
    with speaking(language):
        for file in JOBS:
            job = read_job(file)
            head = head_of(job)
            yield from _each_way(job, head)
        for title, (name, count) in _MORE.items():
            text = f'title = "{title}"\nhead = "{name}"\n[work]\nkind = "divisions"\n'
            job = job_from_text(f"{text}count = {count}\n", "more.toml")
            yield from _each_way(job, head_of(job))


def _each_way(job: Job, head: Head) -> Iterator[Programme]:
    """The best set-up of each method: plain, direct, compound, differential, nearest."""
    best = {setup.method: setup for setup in reversed(setups_of(job, head))}
    for setup in best.values():
        yield replace(programme_of(job, head, setup), language=in_force().code)


def said(programme: Programme, deep: int = DEEP) -> set[Said]:
    """All that is said on the straight way through, and up to `deep` events beside it."""
    found: set[Said] = set()
    beside: set[State] = set()
    for ears in EARS:
        _, effects = advance(programme, State(), SessionStarted(0.0, ears))
        _keep(found, effects)
    state, _ = advance(programme, State(), SessionStarted(0.0))
    seconds = 0.0
    while state.step is not Step.FINISHED:
        if trial_offered(programme.stage(state.stage), state):
            for foot in FEET:
                again = SessionResumed(0.0, "head", foot=foot)
                _keep(found, advance(programme, state, again)[1])
        if _worth_a_look(programme, state):
            _look_beside(programme, state, deep, beside, found)
        seconds += 40.0
        state, effects = advance(programme, state, replace(PRESS, at=seconds))
        _keep(found, effects)
    _look_beside(programme, state, 1, beside, found)
    return found


def _worth_a_look(programme: Programme, state: State) -> bool:
    """The first cuts of a pass and its last: those between differ in their numbers alone."""
    cuts = programme.stage(state.stage).cuts
    return state.done < 2 or state.done >= cuts - 1


def _look_beside(
    programme: Programme, state: State, deep: int, seen: set[State], found: set[Said]
) -> None:
    following = [state]
    for _ in range(deep):
        now, following = following, []
        for each in now:
            for event in _EVENTS:
                new, effects = advance(programme, each, event)
                _keep(found, effects)
                if bare(new) not in seen:
                    seen.add(bare(new))
                    following.append(new)


def _keep(found: set[Said], effects: Sequence[Effect]) -> None:
    for effect in effects:
        if isinstance(effect, Say):
            found.add(Said(effect.text, effect.purpose))


def in_sentences(text: str) -> list[str]:
    """Apart at full stops and questions; a decimal figure is in words and has none."""
    return [part for part in re.split(r"(?<=[.?!]) ", text) if part]


def unlike(sentences: Iterable[str], language: str) -> list[str]:
    """One of each kind: of sentences that differ in their numbers alone, the longest."""
    kinds: dict[str, str] = {}
    numbers = _numbers(language)
    for sentence in sentences:
        kind = numbers.sub("#", sentence.lower())
        kind = re.sub(r"#(?: #)*", "#", kind)
        kinds[kind] = max(kinds.get(kind, ""), sentence, key=lambda text: (len(text), text))
    return sorted(kinds.values())


def _numbers(language: str) -> re.Pattern[str]:
    with speaking(language):
        words = sorted({number(value) for value in range(1001)}, key=len, reverse=True)
    return re.compile(rf"(?<![\w-])(?:{'|'.join(map(re.escape, words))})(?![\w-])")
