"""What the network on the sound is trained on: mel frames of the takes, and of noise.

A take is put before a microphone nearly without noise, once for good; which noise lies over it,
and how loud, is drawn anew each time it is used. Powers add up, so that is a sum of two rows of
numbers, and no utterance is ever heard twice in the same noise.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import numpy.typing as npt

from assistant.devices.sound.loudness import rms
from assistant.hearing.classifier.classifier import NONE
from assistant.hearing.classifier.embedding import Networks
from assistant.hearing.classifier.sound_network import (
    BANDS,
    MOST_FRAMES,
    Frames,
    normalised,
    placed,
)
from assistant.hearing.training.corpus import (
    PIECE_FROM_S,
    Plan,
    SpokenSentence,
    in_processes,
    narrowed,
    piece,
    snr_of,
    spoken_take,
)
from assistant.hearing.training.noises import TRAINED_ON, Random
from assistant.hearing.training.sound_fitting import WindowBatch
from assistant.hearing.training.spoiling import LEAD, microphone, spoil_speech
from assistant.hearing.waves import RATE, Wave, to_pcm

Short = npt.NDArray[np.float16]

FRAME = RATE // 100
"""Samples from one mel frame to the next."""

CLEAN_DB = 60.0
RUN_UP_S = 0.55
"""Of the noise before the speech so much is kept: what the detector gives at most."""

NOISE_S = 6
NOISES = 1500
"""Stretches of noise to draw from, and how long each is."""

IN_PARTS = 0.18
"""The share of examples that are parts of phrases: what a single word of a phrase is, and half
of what talk is taken for."""

LEAST_NOISE = 70  # frames
LEAST_PIECE, MOST_PIECE = 30, 200
NOTHING_S = 0.1  # shorter sounds are none


@dataclass(frozen=True)
class Framed:
    """A take's mel frames, nearly without noise; `first` and `last` frame of the speech."""

    mels: Short
    first: float
    last: float
    label: str
    text: str
    talk: bool = False
    """Any piece of it is none of the phrases; each time another is drawn."""

    @property
    def power(self) -> float:
        """The mean power of the speech, as the mel frames count it."""
        begin = int(self.first)
        return power(self.mels[begin : max(int(self.last), begin + 5)])


def power(mels: Short) -> float:
    """The mean power of mel frames, which are logarithms to the base of ten."""
    return float((10.0 ** mels.astype(np.float64)).sum(axis=1).mean())


def framed(
    plan: Plan,
    said: list[SpokenSentence],
    cache: Path,
    tell: Callable[[str], None],
    processes: int | None = None,
) -> list[Framed]:
    """All takes as mel frames, `plan.framed` versions of each, in their order."""
    made = in_processes(_work, (_begin_work, (plan, cache)), said, tell, processes)
    return [each for every in made for each in every]


def noise_frames(count: int, seed: int) -> list[Short]:
    """Mel frames of machine sound of every kind that is trained on."""
    networks = Networks()
    return [_noise(networks, np.random.default_rng([seed, 9, n])) for n in range(count)]


def _noise(networks: Networks, rng: Random) -> Short:
    kind = TRAINED_ON[rng.integers(len(TRAINED_ON))]
    sound = microphone(rng, kind(rng, NOISE_S * RATE))
    return _mels(networks, sound * np.float32(0.1 / max(rms(sound), 1e-9)))


def _mels(networks: Networks, sound: Wave) -> Short:
    pcm = to_pcm(np.clip(sound, -1, 1))
    made = networks.mels(np.frombuffer(pcm, "<i2").astype(np.float32))
    return made.astype(np.float16)  # precise enough, and there are thousands


_networks: Networks
_given: tuple[Plan, Path]


def _begin_work(plan: Plan, cache: Path) -> None:
    global _networks, _given
    _networks, _given = Networks(), (plan, cache)


def _work(take: SpokenSentence) -> list[Framed]:
    plan, cache = _given
    made = (_framed(plan, cache, take, version) for version in range(plan.framed))
    return [each for each in made if each is not None]


def _framed(plan: Plan, cache: Path, take: SpokenSentence, version: int) -> Framed | None:
    rng = np.random.default_rng([plan.seed, int(take.key[:12], 16), version, 5])
    sound = spoken_take(take, cache)
    talk = take.talk and version > 0
    if take.talk and not talk and len(sound) > PIECE_FROM_S * RATE:
        sound = piece(rng, sound)
    if len(sound) < NOTHING_S * RATE:
        return None
    spoilt = spoil_speech(rng, narrowed(plan, rng, sound), CLEAN_DB)
    before = int((LEAD - RUN_UP_S) * RATE)
    first, last = (spoilt.first - before) / FRAME, (spoilt.last - before) / FRAME
    made = _mels(_networks, spoilt.sound[before:])
    return Framed(made, first, last, take.label, take.text, talk)


class BatchMaker:
    """Batches of utterances in noise, as the detector would cut them; of parts of phrases, which
    are none; and of noise alone."""

    def __init__(
        self,
        made: list[Framed],
        weights: list[float],
        labels: tuple[str, ...],
        noise: list[Short],
        alone: tuple[int, float],
        parts: float = IN_PARTS,
    ) -> None:
        """`weights` for each of `made`; `alone`: as how many utterances, and with which weight,
        noise counts in which nobody speaks; `parts` is the share of examples that are parts of
        phrases, of the same weight."""
        self._made, self._noise, self._parts = made, noise, parts
        self._speech_power = [each.power for each in made]
        self._noise_power = [power(each) for each in noise]
        self._phrases = [n for n, each in enumerate(made) if each.label != NONE]
        self.count_of_labels = len(labels)
        count, self._other = alone
        self._none = labels.index(NONE)
        self._labels = np.array(
            [labels.index(e.label) for e in made] + [self._none] * count, np.int64
        )
        self._weights = np.array([*weights, *[self._other] * count], np.float32)

    def __len__(self) -> int:
        return len(self._labels)

    def draw(self, rng: Random, count: int) -> WindowBatch:
        """So many examples, each recording as likely as any other."""
        drawn = [self._example(rng) for _ in range(count)]
        pairs = [placed(frames) for frames, _, _ in drawn]
        return WindowBatch(
            np.stack([frames for frames, _ in pairs]),
            np.stack([there for _, there in pairs]),
            np.array([label for _, label, _ in drawn], np.int64),
            np.array([weight for _, _, weight in drawn], np.float32),
        )

    def _example(self, rng: Random) -> tuple[Frames, int, float]:
        if rng.random() < self._parts and self._phrases:
            one, other = (int(n) for n in rng.choice(self._phrases, 2))
            part = in_parts(rng, self._made[one], self._made[other])
            return self._in_noise(rng, part, one), self._none, self._other
        number = int(rng.integers(len(self)))
        told = (int(self._labels[number]), float(self._weights[number]))
        if number >= len(self._made):
            return normalised(self._noise_alone(rng)), *told
        return self._in_noise(rng, as_cut(rng, self._made[number]), number), *told

    def _in_noise(self, rng: Random, cut: Frames, number: int) -> Frames:
        cut = another_voice(rng, cut)
        which = int(rng.integers(len(self._noise)))
        louder = math.log10(self._speech_power[number] / self._noise_power[which])
        over = stretch(rng, self._noise[which], len(cut)) + np.float32(louder - snr_of(rng) / 10)
        return hidden(rng, normalised(sounds_together(cut, over)))

    def _noise_alone(self, rng: Random) -> Frames:
        noise = self._noise[rng.integers(len(self._noise))]
        return stretch(rng, noise, int(rng.integers(LEAST_NOISE, MOST_FRAMES)))


def as_cut(rng: Random, made: Framed) -> Frames:
    """The frames from where the detector would begin to where a decision may fall: now and then
    less of a run-up, as after our own voice."""
    late = rng.random() < 0.15
    begin = int(rng.integers(10, 45) if late else rng.integers(0, 13))
    end = int(made.last + rng.uniform(5, 54))
    if made.talk and made.last - made.first > LEAST_PIECE:
        first, last = _piece(rng, made)
        return _joined(made, (begin, int(made.first)), (first, last), (int(made.last), end))
    return made.mels[begin:end].astype(np.float32)


def _piece(rng: Random, made: Framed) -> tuple[int, int]:
    """A piece of talk, from a soft moment to another."""
    length = int(rng.integers(LEAST_PIECE, min(MOST_PIECE, int(made.last - made.first) + 1)))
    first = int(rng.integers(int(made.first), int(made.last) - length + 1))
    return softest(made, first), softest(made, first + length)


def in_parts(rng: Random, one: Framed, other: Framed) -> Frames:
    """What sounds like phrases and is none: the beginning of one, or its end, alone; or the
    beginning of one and the end of another."""
    begin, end = int(rng.integers(0, 13)), rng.uniform(5, 54)
    kind = rng.random()
    if one.label != other.label and kind < 0.34:
        classifier, tail = _split(rng, one, 0.3, 0.7), _split(rng, other, 0.3, 0.7)
        before = _joined(one, (begin, classifier))
        return np.concatenate([before, _joined(other, (tail, int(other.last + end)))])
    if kind < 0.67:
        return _joined(
            one, (begin, _split(rng, one, 0.2, 0.55)), (int(one.last) + 2, int(one.last + end) + 4)
        )
    return _joined(
        one,
        (begin, max(begin + 1, int(one.first) - 2)),
        (_split(rng, one, 0.45, 0.8), int(one.last + end)),
    )


def _split(rng: Random, made: Framed, least: float, most: float) -> int:
    """A soft moment between these shares of the speech."""
    length = made.last - made.first
    return softest(made, int(made.first + rng.uniform(least, most) * length))


def softest(made: Framed, frame: int) -> int:
    """The frame with the least power, at most 60 ms from this one."""
    begin = max(0, frame - 6)
    return begin + int(np.argmin(made.mels[begin : frame + 7].astype(np.float32).sum(axis=1)))


def _joined(made: Framed, *spans: tuple[int, int]) -> Frames:
    return np.concatenate([made.mels[first:last] for first, last in spans]).astype(np.float32)


def another_voice(rng: Random, cut: Frames) -> Frames:
    """The same words slower or quicker, by a larger or smaller speaker: a few dozen synthetic
    voices are too few to learn what all voices have in common."""
    pace, size = rng.uniform(0.85, 1.18), rng.uniform(0.92, 1.09)
    return _between(_between(cut, np.arange(0, len(cut) - 1, pace), 0), _bands(rng, size), 1)


def _bands(rng: Random, size: float) -> npt.NDArray[np.float64]:
    return np.clip(np.arange(BANDS) * size + rng.uniform(-1, 1), 0, BANDS - 1.001)


def _between(values: Frames, at: npt.NDArray[np.float64], axis: int) -> Frames:
    """Values at fractional places along an axis."""
    below = at.astype(np.int64)
    share = (at - below).astype(np.float32)
    share = share[:, None] if axis == 0 else share[None, :]
    one, other = np.take(values, below, axis), np.take(values, below + 1, axis)
    return one * (1 - share) + other * share


def stretch(rng: Random, noise: Short, length: int) -> Frames:
    """So many frames of a noise, from anywhere in it."""
    begin = int(rng.integers(0, max(1, len(noise) - length)))
    part = noise[begin : begin + length].astype(np.float32)
    return part if len(part) == length else np.resize(part, (length, BANDS))


def sounds_together(one: Frames, other: Frames) -> Frames:
    """The mel frames of two sounds at once: their powers add up."""
    return np.asarray(np.log10(10.0**one + 10.0**other), np.float32)


def hidden(rng: Random, frames: Frames) -> Frames:
    """Half of the time some bands and some moments are covered, so that no single one is
    relied on."""
    if rng.random() < 0.5:
        return frames
    covered = frames.copy()
    for _ in range(int(rng.integers(1, 3))):
        width = int(rng.integers(1, 6))
        begin = int(rng.integers(0, BANDS - width))
        covered[:, begin : begin + width] = 0
    for _ in range(int(rng.integers(0, 3))):
        width = int(rng.integers(1, 12))
        begin = int(rng.integers(0, max(1, len(frames) - width)))
        covered[begin : begin + width] = 0
    return covered
