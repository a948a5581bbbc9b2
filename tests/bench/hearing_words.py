"""Single words by voices never trained on: none of them must do anything.

Words of the phrases and words that people say alone, in the clear and beside a mill, through the
chain of the bench: with every phrase possible, and at every step of a cut.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass, field
from typing import cast

import numpy as np

from assistant.engine.engine import expected_commands
from assistant.engine.events import Command
from assistant.engine.phases import Step
from assistant.engine.phrases import LOCK_AND_GUARD
from assistant.engine.state import State
from assistant.files.settings import EarSettings
from assistant.hearing.endpointing import Detector, silero
from assistant.hearing.judging import Hearer
from assistant.hearing.recognisers.recogniser import Guess, Recogniser
from assistant.hearing.training.noises import mill
from assistant.hearing.training.spoiling import spoil_speech
from assistant.hearing.training.voices import SpeakingManner
from assistant.hearing.vocabulary import built_in
from assistant.hearing.waves import RATE, to_pcm
from tests.bench.hearing_clips import CLEAN, Replay
from tests.bench.hearing_voices import test_voices

COMMON = {
    "okay",
    "yes",
    "no",
    "right",
    "stop",
    "go",
    "ready",
    "good",
    "fine",
    "now",
    "wait",
    "start",
    "hold",
    "thanks",
    "hello",
    "what",
    "clear",
    "closed",
    "check",
    "again",
    "careful",
    "perfect",
    "super",
    "finally",
    "anyway",
    "one",
    "seven",
}
RATIOS = (CLEAN, 10.0)


@dataclass
class Taken:
    """How many clips, and which words were taken for what."""

    clips: int = 0
    at_once: Counter[tuple[str, str]] = field(default_factory=Counter)
    at_a_step: set[tuple[int, str, str]] = field(default_factory=set)

    def lock_and_guard(self) -> int:
        locks = {phrase for phrase, command in built_in().items() if command in LOCK_AND_GUARD}
        taken = [*self.at_once, *((word, text) for _, word, text in self.at_a_step)]
        return sum(text in locks for _, text in taken)


class Kept:
    """An ear that many chains ask for the same: it thinks once."""

    def __init__(self, ear: Recogniser) -> None:
        self._ear = ear
        self.name, self.notes, self.quick = ear.name, ear.notes, ear.quick
        self._known: dict[bytes, Guess] = {}

    def recognise(self, pcm: bytes) -> Guess:
        if pcm not in self._known:
            self._known[pcm] = self._ear.recognise(pcm)
        return self._known[pcm]


def words() -> list[str]:
    """Those of the phrases, and common ones."""
    return sorted({word for phrase in built_in() for word in phrase.split()} | COMMON)


def count(ear: Recogniser, manners: int) -> Taken:
    """Every word by every unseen voice, so many times, in the clear and in noise."""
    found = Taken()
    rng = np.random.default_rng(5)
    for voice in test_voices():
        for word in words():
            for number in range(manners):
                manner = SpeakingManner(
                    float(rng.uniform(0.8, 1.2)), float(rng.uniform(0, 1)), number
                )
                sound = voice.say(word, manner)
                for ratio in RATIOS:
                    seed = np.random.default_rng([55, found.clips])
                    made = spoil_speech(seed, sound, ratio, (mill,), near=True)
                    _count(found, Kept(ear), word, to_pcm(made.sound) + bytes(RATE))
    return found


def _count(found: Taken, ear: Recogniser, word: str, pcm: bytes) -> None:
    found.clips += 1
    cut = Detector(silero()).feed(pcm)
    steps: list[frozenset[Command] | None] = [None]
    steps += {expected_commands(State(step=step)) for step in Step}
    for wanted in steps:
        hearer = Hearer(ear, cast(Detector, Replay(list(cut))), EarSettings())
        hearer.expected = wanted
        for heard in hearer.feed(b""):
            if heard.accepted and wanted is None:
                found.at_once[word, heard.text] += 1
            elif heard.accepted:
                found.at_a_step.add((found.clips, word, heard.text))


def told(found: Taken) -> str:
    """A paragraph for the page of figures."""
    pairs = Counter((word, text) for _, word, text in found.at_a_step) | found.at_once
    which = ", ".join(f'"{word}" for "{text}"' for (word, text), _ in pairs.most_common(12))
    clips = len({number for number, _, _ in found.at_a_step})
    return (
        f"Single words, {len(words())} of them by unseen voices, half the clips in the clear and "
        f"half beside a mill at 10 dB, {found.clips} clips: taken for a phrase, with everything "
        f"possible, {sum(found.at_once.values())} "
        f"({100 * sum(found.at_once.values()) / found.clips:.1f} %); at some step of a cut {clips} "
        f"({100 * clips / found.clips:.1f} %); for lock or guard {found.lock_and_guard()}."
        + (f" Most often: {which}." if which else "")
    )
