"""Recordings of people that say who speaks: words of a set of single words, or figures.

Of folders as open sets of single words have them, WORD/SPEAKER_nohash_TAKE.wav, or of files
FIGURE_SPEAKER_TAKE.wav. Nothing is kept of anybody: the folder is named at the call.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from assistant.hearing.classifier.embedding import Networks, embed
from assistant.hearing.classifier.features import Features, features
from assistant.hearing.endpointing import Detector, Ending, silero
from assistant.hearing.phones.network import PhoneNetwork, Rows
from assistant.hearing.training.noises import Maker
from assistant.hearing.waves import RATE, Wave, from_pcm, mix, read_sound, to_pcm

ENROLLED = 3
LEAST = ENROLLED + 1
FIGURES = ("zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine")
LEAD_S, TAIL_S = 0.75, 0.65
STILL_DB, LOUD = 40.0, 0.5
_GAP_S = 0.06

Said = tuple[str, str]
"""Who, and which phrase."""


@dataclass(frozen=True)
class HeardPart:
    """What the detector cut out of a recording: rows of the phone network, and of the embedding."""

    inner: Rows
    row: Features | None


def recordings(place: Path) -> dict[Said, list[Wave]]:
    """The recordings of who said the same often enough, in the order of their names."""
    found: dict[Said, list[Wave]] = {}
    for file in sorted(place.rglob("*.wav")):
        first, *rest = file.stem.split("_")
        word, who = (FIGURES[int(first)], rest[0]) if len(first) == 1 else (file.parent.name, first)
        found.setdefault((who, word), []).append(read_sound(file))
    return {said: sounds for said, sounds in found.items() if len(sounds) >= LEAST}


def together(spoken: Mapping[Said, Sequence[Wave]], words: int) -> dict[Said, list[Wave]]:
    """Phrases of so many words, put together from the words of the same person, take by take."""
    gap = np.zeros(int(_GAP_S * RATE), np.float32)
    found: dict[Said, list[Wave]] = {}
    for who in sorted({who for who, _ in spoken}):
        own = sorted(word for person, word in spoken if person == who)
        for at in range(len(own) if len(own) >= words + 1 else 0):
            chosen = [own[(at + n) % len(own)] for n in range(words)]
            takes = zip(*(map(_sounding, spoken[who, word]) for word in chosen), strict=False)
            joined = [np.concatenate([x for each in take for x in (each, gap)]) for take in takes]
            found[who, " ".join(chosen)] = joined
    return {said: sounds for said, sounds in found.items() if len(sounds) >= LEAST}


def _sounding(sound: Wave) -> Wave:
    """Between the first and the last moment within 30 dB of the loudest, and 40 ms round it."""
    frames = sound[: len(sound) // 160 * 160].reshape(-1, 160)
    power = np.mean(np.square(frames), axis=1)
    loud = np.flatnonzero(power >= power.max() / 1000)
    part = sound[max(0, loud[0] - 4) * 160 : (loud[-1] + 5) * 160]
    return np.asarray(part * np.float32(LOUD / max(float(np.abs(part).max()), 1e-6)), np.float32)


class Listening:
    """The ear's own detector and networks over whole recordings, one look at each utterance."""

    def __init__(self, network: PhoneNetwork) -> None:
        self.network, self._embedding = network, Networks()

    def to(
        self, sound: Wave, rng: np.random.Generator, noise: Maker, ratio: float
    ) -> HeardPart | None:
        """The longest utterance that is found in a recording over noise; None where none is."""
        loud = sound * np.float32(LOUD / max(float(np.abs(sound).max()), 1e-6))
        padded = np.pad(loud, (int(LEAD_S * RATE), int(TAIL_S * RATE)))
        found = list(self.utterances(to_pcm(mix(padded, noise(rng, len(padded)), ratio))))
        return self.heard(max(found, key=len)) if found else None

    def utterances(self, pcm: bytes) -> Iterator[bytes]:
        """What a detector that was just switched on cuts out whole."""
        for each in Detector(silero()).feed(pcm):
            if each.kind is Ending.WHOLE:
                yield each.pcm

    def heard(self, pcm: bytes) -> HeardPart:
        """What the networks make of an utterance."""
        vectors = embed(self._embedding, pcm)
        row = features(vectors, len(pcm) / 2 / RATE) if len(vectors) else None
        return HeardPart(self.network.inner(from_pcm(pcm)), row)


def talk(place: Path) -> tuple[list[bytes], float]:
    """The utterances of a folder that `hearing_hours listen talk` made, and how many hours."""
    found: list[bytes] = []
    hours = 0.0
    for file in sorted(place.rglob("[0-9]*[0-9].npz")):
        with np.load(file) as kept:
            told, pcm = iter(kept["voice"].tolist()), kept["pcm"].tobytes()
        detector = Detector(lambda _, told=told: next(told))  # type: ignore[misc]
        found += [each.pcm for each in detector.feed(pcm) if each.kind is Ending.WHOLE]
        hours += len(pcm) / 2 / RATE / 3600
    return found, hours
