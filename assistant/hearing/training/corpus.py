"""The recordings a classifier is trained on: planned, spoken, spoilt, cut and embedded.

Everything follows from one seed. What was spoken and embedded is kept in a cache folder, so
that a run that was broken off goes on where it stopped.
"""

from __future__ import annotations

import hashlib
import multiprocessing
import os
import time
from collections.abc import Callable, Collection, Iterable, Iterator
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any, TypeVar
from zlib import crc32

import numpy as np

from assistant.engine.phrases import normalise
from assistant.hearing.classifier.embedding import STEP, Networks, count_after, embed
from assistant.hearing.classifier.features import Features, features
from assistant.hearing.classifier.networks import Vectors
from assistant.hearing.endpointing import (
    CHUNK,
    CHUNK_S,
    RUN_UP_S,
    TRAIL_S,
    Detector,
    Ending,
    Segment,
    silero,
)
from assistant.hearing.training.noises import TRAINED_ON, Random
from assistant.hearing.training.sentences import negatives, single_words
from assistant.hearing.training.spoiling import Spoilt, spoil_speech
from assistant.hearing.training.voices import Speaker, SpeakingManner
from assistant.hearing.waves import RATE, Wave, from_pcm, resample_sound, to_pcm

DECIDED_AT = (2, 4, 6, 8, 10)
"""Chunks of silence after which the features are taken: an early decision sees the first,
the last is the detector's own end of an utterance."""

SHARES = {"espeak-ng": 0.33, "flite": 0.19, "festival": 0.1, "kokoro": 0.24, "hibari": 0.14}
OTHER_SHARES = {"espeak-ng": 0.42, "flite": 0.26, "festival": 0.08, "kokoro": 0.1, "hibari": 0.14}
"""How often each synthesiser speaks phrases, and everything else (the slow ones more seldom);
the shares of those missing fall to the others."""

AGAIN = 10_000
"""A phrase that is said twice in a round is said the second time as in a round so much later."""

Made = TypeVar("Made")

_WAKES = 0.4  # seconds
_RUN_UP = -int(-RUN_UP_S // CHUNK_S)
_TRAIL = -int(-TRAIL_S // CHUNK_S)


@dataclass(frozen=True)
class SpokenSentence:
    """One sentence by one voice; `label` is the phrase, "" for none of them. Any part of `talk`
    is none of the phrases either."""

    label: str
    text: str
    voice: Speaker
    manner: SpeakingManner
    talk: bool = False

    @property
    def key(self) -> str:
        """A name for this very take, the same in every run: voice, text and manner, hashed."""
        told = f"{self.voice.name}|{self.text}|{self.manner}"
        return hashlib.sha256(told.encode()).hexdigest()[:24]


@dataclass(frozen=True)
class Plan:
    """How much is made: takes of a phrase, negatives and single words to each of these rounds,
    spoilt versions of each, and versions without noise for the network on the sound. A larger
    plan begins with the recordings of a smaller one."""

    takes: int = 60
    negatives: int = 26
    words: int = 8
    versions: int = 4
    negative_versions: int = 2
    framed: int = 2
    narrow: float = 0.0
    """Share of the recordings that reach to 4 kHz only, as over a telephone or a cheap headset."""
    seed: int = 20


@dataclass(frozen=True)
class CutUtterance:
    """An utterance as the detector cuts it: all its embeddings, and its length in samples with
    the run-up and the whole trail of silence."""

    vectors: Vectors
    samples: int


@dataclass(frozen=True)
class Example:
    """A cut, the phrase in it ("" for none) and the words that were said."""

    cut: CutUtterance
    label: str
    text: str


def takes(
    plan: Plan, phrases: Iterable[str], voices: list[Speaker], twice: Collection[str] = ()
) -> list[SpokenSentence]:
    """Everything to be said, in a fixed order: round after round of all phrases and some
    negatives; `twice` are phrases that are said once more in each round. Another phrase, or
    more rounds, leave the takes of the others as they are."""
    known = sorted(phrases)
    said: list[SpokenSentence] = []
    for number in range(plan.takes):
        said += [_take(plan, number, phrase, phrase, voices) for phrase in known]
        said += [
            _take(plan, AGAIN + number, phrase, phrase, voices)
            for phrase in known
            if phrase in twice
        ]
        rng = np.random.default_rng([plan.seed, number])
        others = negatives(rng, plan.negatives, known) + single_words(rng, plan.words, known)
        said += [
            replace(_take(plan, number, "", text, voices), talk=_is_talk(text, known))
            for text in others
        ]
    return said


def _is_talk(text: str, phrases: list[str]) -> bool:
    words = f" {normalise(text)} "
    return len(words.split()) > 4 and not any(f" {phrase} " in words for phrase in phrases)


def _take(plan: Plan, number: int, label: str, text: str, voices: list[Speaker]) -> SpokenSentence:
    rng = np.random.default_rng([plan.seed, number, crc32(text.encode())])
    voice = _voice(rng, voices, SHARES if label else OTHER_SHARES)
    manner = SpeakingManner(
        round(rng.uniform(0.75, 1.3), 2), round(rng.uniform(0, 1), 2), int(rng.integers(1000))
    )
    return SpokenSentence(label, text, voice, manner)


def _voice(rng: Random, voices: list[Speaker], shares: dict[str, float]) -> Speaker:
    here = sorted({voice.synthesiser for voice in voices})
    weights = np.array([shares.get(name, 0.1) for name in here])
    chosen = here[rng.choice(len(here), p=weights / weights.sum())]
    own = [voice for voice in voices if voice.synthesiser == chosen]
    return own[rng.integers(len(own))]


def spoken_take(take: SpokenSentence, cache: Path) -> Wave:
    """The take's sound, from the cache where it was said before."""
    file = cache / "spoken" / f"{take.key}.npy"
    if file.exists():
        return from_pcm(np.load(file).tobytes())
    try:
        sound = take.voice.say(take.text, take.manner)
    except Exception:  # a synthesiser may stumble over a word in any way; the take is left out
        sound = np.zeros(0, np.float32)
    file.parent.mkdir(parents=True, exist_ok=True)
    pcm = to_pcm(sound)
    np.save(file, np.frombuffer(pcm, "<i2"))
    return from_pcm(pcm)  # rounded as in the cache


def narrowed(plan: Plan, rng: Random, sound: Wave) -> Wave:
    """The sound, or the plan's share of sounds, up to 4 kHz only."""
    if plan.narrow and rng.random() < plan.narrow:
        return resample_sound(resample_sound(sound, RATE, 8000), 8000, RATE)
    return sound


PIECE_FROM_S = 3.0
"""Talk longer than this is heard in pieces: a pause in it cuts it, and all of it is too long."""


def piece(rng: Random, talk: Wave) -> Wave:
    """A part of ordinary talk, 0.4 to 2.6 s, cut where it is softest nearby."""
    frames = len(talk) // 320
    if frames < 30:
        return talk
    power = np.square(talk[: frames * 320].reshape(frames, 320)).mean(axis=1)
    length = int(rng.integers(20, min(130, frames)))
    first = int(rng.integers(0, frames - length + 1))
    edges = [_softest(power, first), _softest(power, first + length)]
    return talk[edges[0] * 320 : max(edges[1], edges[0] + 15) * 320]


def _softest(power: Wave, frame: int) -> int:
    begin = max(0, frame - 6)
    return begin + int(np.argmin(power[begin : frame + 7]))


def snr_of(rng: Random) -> float:
    """Decibels: one in six nearly clean, the rest from 0 to 25."""
    return float(rng.uniform(30, 50) if rng.random() < 0.17 else rng.uniform(0, 25))


def cut_out(networks: Networks, spoilt: Spoilt) -> CutUtterance | None:
    """The utterance that the detector found over the speech; None where it found none,
    several, or talk too long."""
    segment = _first_over(spoilt)
    if segment is None or segment.kind is not Ending.WHOLE or segment.end_s < _middle(spoilt):
        return None
    return _cut(networks, segment.pcm)


def _cut(networks: Networks, pcm: bytes) -> CutUtterance:
    return CutUtterance(embed(networks, pcm), len(pcm) // 2)


def _middle(spoilt: Spoilt) -> float:
    """An utterance that ends before the middle of the speech is only a part of it."""
    return (spoilt.first + spoilt.last) / 2 / RATE


def _first_over(spoilt: Spoilt) -> Segment | None:
    listen = silero()
    detector = Detector(lambda chunk: listen(chunk) if awake else 0.0)
    pcm = to_pcm(spoilt.sound)
    for at in range(0, len(pcm), 2 * CHUNK):
        # The detector is the slow part: it is asked from just before the speech on.
        awake = at / 2 > spoilt.first - _WAKES * RATE
        for segment in detector.feed(pcm[at : at + 2 * CHUNK]):
            if segment.kind is not Ending.EARLY and segment.end_s * RATE > spoilt.first:
                return segment
    return None


def borrowed(networks: Networks, spoilt: Spoilt) -> CutUtterance:
    """The utterance as the detector would probably cut it, by the true ends of the speech and
    the lags that it has: the detector itself is slow, and is asked for the first version of
    each take only."""
    rng = np.random.default_rng(spoilt.last + int(1000 * abs(spoilt.snr)))
    onset = spoilt.first + rng.uniform(-0.05, 0.13) * RATE
    end = spoilt.last + rng.uniform(0, 0.2) * RATE
    first = max(0, round(onset / CHUNK) - _RUN_UP)
    last = min(len(spoilt.sound) // CHUNK, round(end / CHUNK) + _TRAIL)
    return _cut(networks, to_pcm(spoilt.sound[first * CHUNK : last * CHUNK]))


def rows_of(cut: CutUtterance, rng: Random | None = None) -> list[Features]:
    """A row of features for each moment of decision. With `rng`, some begin late: after our
    own voice the ear has less of a run-up."""
    rows = []
    for quiet in DECIDED_AT:
        samples = cut.samples - (_TRAIL - quiet) * CHUNK
        late = int(rng.integers(1, 6)) if rng is not None and rng.random() < 0.15 else 0
        vectors = cut.vectors[late : count_after(samples)]
        if len(vectors):
            rows.append(features(vectors, samples / RATE - late * STEP / RATE))
    return rows


def examples(
    plan: Plan,
    said: list[SpokenSentence],
    cache: Path,
    tell: Callable[[str], None],
    processes: int | None = None,
) -> list[Example]:
    """All utterances of all takes, in their order, made by so many processes (by default one
    for each core). Slow: minutes; `tell` hears how far it is."""
    made = in_processes(_work, (_begin_work, (plan, cache)), said, tell, processes)
    return [
        Example(cut, take.label, take.text)
        for take, cuts in zip(said, made, strict=True)
        for cut in cuts
    ]


def in_processes(
    work: Callable[[SpokenSentence], Made],
    begin: tuple[Callable[..., None], tuple[Any, ...]],
    said: list[SpokenSentence],
    tell: Callable[[str], None],
    processes: int | None = None,
) -> Iterator[Made]:
    """What `work` makes of each take, in their order; `begin` is called once in each process."""
    count = processes or len(os.sched_getaffinity(0))
    begun = time.monotonic()
    # Started afresh, not forked: the networks' libraries do not survive a fork.
    context = multiprocessing.get_context("spawn")
    with ProcessPoolExecutor(count, context, *begin) as pool:
        for number, made in enumerate(pool.map(work, said, chunksize=8), 1):
            yield made
            if number % 200 == 0:
                tell(f"{number} of {len(said)} takes, {time.monotonic() - begun:.0f} s")


_maker: _Maker


def _begin_work(plan: Plan, cache: Path) -> None:
    global _maker  # noqa: PLW0603 - a worker process has one maker for its whole life
    _maker = _Maker(plan, cache, Networks())


def _work(take: SpokenSentence) -> list[CutUtterance]:
    versions = _maker.plan.versions if take.label else _maker.plan.negative_versions
    made = (_maker.cut(take, version) for version in range(versions))
    return [cut for cut in made if cut is not None]


@dataclass(frozen=True)
class _Maker:
    plan: Plan
    cache: Path
    networks: Networks

    def cut(self, take: SpokenSentence, version: int) -> CutUtterance | None:
        kind = f"{self.plan.seed}" + (f"-{self.plan.narrow:g}" if self.plan.narrow else "")
        folder = self.cache / "cuts" / kind / take.key[:2]
        file = folder / f"{take.key}-{version}.npz"
        if file.exists():
            with np.load(file) as kept:
                made = CutUtterance(np.asarray(kept["vectors"], np.float32), int(kept["samples"]))
            return made if made.samples else None
        made = self._made(take, version) or _cut(self.networks, b"")
        folder.mkdir(parents=True, exist_ok=True)
        part = file.with_suffix(f".{os.getpid()}.npz")  # a run that is broken off leaves no half
        short = made.vectors.astype(np.float16)
        np.savez(part, vectors=short, samples=made.samples)
        part.rename(file)
        # Rounded as in the cache: a run that was broken off makes what an unbroken one makes.
        return replace(made, vectors=short.astype(np.float32)) if made.samples else None

    def _made(self, take: SpokenSentence, version: int) -> CutUtterance | None:
        rng = np.random.default_rng([self.plan.seed, int(take.key[:12], 16), version])
        sound = spoken_take(take, self.cache)
        if take.talk and (version or len(sound) > PIECE_FROM_S * RATE):
            sound = piece(rng, sound)
        if not len(sound):
            return None
        spoilt = spoil_speech(rng, narrowed(self.plan, rng, sound), snr_of(rng))
        return (borrowed if version else cut_out)(self.networks, spoilt)


def noise_cuts(count: int, seed: int) -> list[CutUtterance]:
    """Machine sound taken for an utterance by mistake: none of the phrases."""
    networks, rng = Networks(), np.random.default_rng(seed)
    cuts = []
    for _ in range(count):
        kind = TRAINED_ON[rng.integers(len(TRAINED_ON))]
        chunks = int(rng.integers(_RUN_UP + 8, _RUN_UP + 90)) + _TRAIL
        noise = kind(rng, chunks * CHUNK) * np.float32(10 ** (rng.uniform(-45, -12) / 20))
        cuts.append(_cut(networks, to_pcm(noise)))
    return cuts
