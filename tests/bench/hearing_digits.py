"""Real people saying digits: the open recordings of the Free Spoken Digit Dataset.

The folder is named by TALLYHAND_DIGITS; files are DIGIT_SPEAKER_TAKE.wav (CC BY-SA 4.0). They
are 8 kHz, already cut, and never trained on.
"""

from __future__ import annotations

import os
from collections.abc import Iterator
from pathlib import Path

import numpy as np

from assistant.hearing.recognisers.numbers import NumberEar
from assistant.hearing.training.noises import Maker, mill, shop
from assistant.hearing.waves import RATE, Wave, mix, read_sound, to_pcm

RUN_UP, TRAIL = 0.576, 0.32
RATIOS = (20.0, 10.0, 5.0)
CONDITIONS: tuple[tuple[str, float, Maker], ...] = (
    ("clean", 60.0, mill),
    *(("mill", ratio, mill) for ratio in RATIOS),
    *(("shop", ratio, shop) for ratio in RATIOS),
)


def folder() -> Path | None:
    """The folder of the recordings, or None when none is named."""
    named = os.environ.get("TALLYHAND_DIGITS")
    return Path(named) if named else None


EVERY, FIRST = 4, 3
"""One recording in so many; others were used for choosing."""


def recordings(place: Path) -> Iterator[tuple[int, Wave]]:
    for file in sorted(place.glob("[0-9]_*.wav"))[FIRST::EVERY]:
        yield int(file.name[0]), read_sound(file)


def shares(place: Path, ratio: float, kind: Maker) -> tuple[float, float]:
    """Of all digits the share that comes out right by the ear for sizes, and the share that comes
    out as another; what is left is asked for again."""
    ear = NumberEar()
    right = wrong = total = 0
    for number, (digit, sound) in enumerate(recordings(place)):
        rng = np.random.default_rng([5, number])
        said = np.pad(sound, (int(RUN_UP * RATE), int(TRAIL * RATE)))
        noisy = mix(said, kind(rng, len(said)), ratio)
        noisy *= np.float32(0.1 / max(np.abs(noisy).max(), 1e-6))
        guess = ear.recognise(to_pcm(noisy))
        value = guess.number.value if guess.number and guess.sure else None
        right += value == digit
        wrong += value not in (digit, None)
        total += 1
    return right / total, wrong / total
