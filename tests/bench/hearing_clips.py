"""Phrases of the unseen voices, spoilt by noise, and the chain of the bench heard over them."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, field
from functools import cache

import numpy as np

from assistant.engine.engine import expected_commands
from assistant.engine.events import Command
from assistant.engine.phases import Step
from assistant.engine.state import State
from assistant.hearing.endpointing import Segment
from assistant.hearing.judging import Heard, Hearer
from assistant.hearing.training.noises import TRAINED_ON, Maker, air_line, grinder, mill, shop
from assistant.hearing.training.spoiling import Spoilt, spoil_speech
from assistant.hearing.training.voices import SpeakingManner
from assistant.hearing.vocabulary import built_in
from assistant.hearing.waves import RATE, Wave, to_pcm
from tests.bench.hearing_voices import test_voices

KINDS: dict[str, Maker] = {
    "mill": mill,
    "shop": shop,
    "grinder (untrained)": grinder,
    "air gun (untrained)": air_line,
}
CLEAN = 60.0
RATIOS = (20.0, 10.0, 5.0, 0.0)
PLACES = {"headset": True, "room": False}
"""A headset's microphone before the mouth: no room, no clipping. The room set is hard: six clips
in ten in a room of 0.15 to 0.9 s, one in eight clipped, bands down to 3.4 kHz."""


@dataclass(frozen=True)
class Clip:
    phrase: str
    voice: str
    sound: Wave


@dataclass
class Score:
    """What became of the clips of one condition."""

    clips: int = 0
    hits: int = 0
    wrong: int = 0
    waits: list[float] = field(default_factory=list)
    by_phrase: dict[str, list[int]] = field(default_factory=dict)
    lost: Counter[str] = field(default_factory=Counter)  # what became of the others

    def add(self, other: Score) -> None:
        """The clips of another condition too."""
        self.clips += other.clips
        self.hits += other.hits
        self.wrong += other.wrong
        self.waits += other.waits
        self.lost += other.lost
        for phrase, hits in other.by_phrase.items():
            self.by_phrase.setdefault(phrase, []).extend(hits)

    def row(self) -> str:
        right, wrong = 100 * self.hits / self.clips, 100 * self.wrong / self.clips
        return f"{right:.1f} / {wrong:.1f}"


class Replay:
    """What a detector cut out of a clip, for more than one chain."""

    def __init__(self, segments: list[Segment]) -> None:
        self._segments = segments

    def feed(self, _: bytes) -> list[Segment]:
        told, self._segments = self._segments, []
        return told

    def speaking(self) -> bool:
        return False


def clips(manners: int) -> list[Clip]:
    """Every phrase by every unseen voice, at several paces and pitches."""
    rng = np.random.default_rng(77)
    made = []
    for voice in test_voices():
        for phrase in sorted(built_in()):
            for n in range(manners):
                pace, pitch = rng.uniform(0.8, 1.25), rng.uniform(0, 1)
                sound = voice.say(phrase, SpeakingManner(float(pace), float(pitch), n))
                made.append(Clip(phrase, voice.name, sound))
    return made


def spoilt(clip: Clip, ratio: float, kind: Maker, seed: int, near: bool) -> Spoilt:
    """The clip before a microphone, over noise: seeds that training never uses."""
    return spoil_speech(np.random.default_rng([991, seed]), clip.sound, ratio, (kind,), near=near)


@cache
def expected_with(command: Command) -> frozenset[Command]:
    """What makes sense in the first step in which this does."""
    steps = (expected_commands(State(step=step)) for step in Step)
    return next(wanted for wanted in steps if command in wanted)


def conditions() -> Iterator[tuple[str, float, Maker]]:
    yield "clean", CLEAN, mill
    for name, kind in KINDS.items():
        for ratio in RATIOS if kind in TRAINED_ON else RATIOS[1:3]:
            yield name, ratio, kind


def hear(hearer: Hearer, made: Spoilt) -> list[Heard]:
    """The whole chain over one clip, in blocks as a microphone gives them."""
    pcm = to_pcm(made.sound)
    found: list[Heard] = []
    for at in range(0, len(pcm), 640):
        found += hearer.feed(pcm[at : at + 640])
    found += hearer.finish()
    return found


def judge(score: Score, clip: Clip, made: Spoilt, found: list[Heard]) -> None:
    """A hit when the phrase was taken and no other; wrong when another was."""
    taken = [heard for heard in found if heard.accepted]
    score.clips += 1
    wrong = any(heard.text != clip.phrase for heard in taken)
    hit = bool(taken) and not wrong
    score.wrong += wrong
    score.hits += hit
    score.by_phrase.setdefault(clip.phrase, []).append(hit)
    if hit:
        # From the true end of the speech, not from where the detector believes it ended.
        score.waits.append(taken[0].end_s + taken[0].answered_after_s - made.last / RATE)
    elif not wrong:
        score.lost[_lost(clip, found)] += 1


def _lost(clip: Clip, found: list[Heard]) -> str:
    if not found:
        return "not found by the voice detector"
    if any(heard.why.startswith("too long") for heard in found):
        return "not told from the noise after it"
    if len(found) > 1:
        return "cut in pieces"
    if found[0].text == clip.phrase:
        return "recognised, but not surely enough"
    return "taken for none of the phrases" if not found[0].text else "another phrase, refused"
