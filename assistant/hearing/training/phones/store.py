"""All takes in one array, and which of them a batch draws."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from assistant.hearing.training.noises import Random
from assistant.hearing.training.phones.takes import Samples, Take
from assistant.hearing.training.phones.texts import KINDS

MOST_SOUNDS = 120
SHARES = {"phrase": 0.25, "near": 0.09, "word": 0.1, "talk": 0.1, "number": 0.25, "human": 0.21}
"""Of a batch."""

_WEIGHTS = {
    "espeak-ng": 0.35,
    "flite": 0.5,
    "figure": 8.0,
    "word": 1.5,
    "words": 0.5,
}  # within its kind; any other source counts 1
_END = 64  # samples after the last take that a cut may look into

WholeNumbers = npt.NDArray[np.int64]


@dataclass(frozen=True)
class Store:
    """Take `n` is `sound[start[n]:][:length[n]]`, says the first `count[n]` of `sounds[n]`."""

    sound: Samples
    start: WholeNumbers
    length: WholeNumbers
    kind: WholeNumbers  # as in KINDS
    phrase: WholeNumbers
    count: WholeNumbers
    sounds: WholeNumbers
    weight: npt.NDArray[np.float64]

    def draw(self, rng: Random, count: int) -> WholeNumbers:
        """So many takes: kinds by their shares, less those that have none, then by weight."""
        shares = np.array([SHARES[kind] * (self.kind == n).any() for n, kind in enumerate(KINDS)])
        kinds = rng.choice(len(KINDS), count, p=shares / shares.sum())
        chosen = np.empty(count, np.int64)
        for kind in np.unique(kinds):
            own, places = np.flatnonzero(self.kind == kind), np.flatnonzero(kinds == kind)
            weights = self.weight[own] / self.weight[own].sum()
            chosen[places] = rng.choice(own, len(places), p=weights)
        return chosen

    def batches(self, rng: Random, size: int) -> list[WholeNumbers]:
        """Six at a time, takes of like length together: less of a batch is silence."""
        pool = self.draw(rng, size * 6)
        blurred = np.minimum(self.length[pool], 88_000) + rng.uniform(0, 20_000, len(pool))
        order = pool[np.argsort(blurred)]
        return [order[n * size : (n + 1) * size] for n in rng.permutation(6)]


def stored(takes: Sequence[Take]) -> Store:
    """Of one take and more."""
    length = np.array([len(take.sound) for take in takes], np.int64)
    sounds = np.zeros((len(takes), MOST_SOUNDS), np.int64)
    for row, take in zip(sounds, takes, strict=True):
        row[: len(take.sounds)] = take.sounds[:MOST_SOUNDS]
    return Store(
        np.concatenate([*(take.sound for take in takes), np.zeros(_END, np.int16)]),
        np.concatenate([[0], np.cumsum(length)[:-1]]).astype(np.int64),
        length,
        np.array([KINDS.index(take.kind) for take in takes], np.int64),
        np.array([take.phrase for take in takes], np.int64),
        np.array([min(len(take.sounds), MOST_SOUNDS) for take in takes], np.int64),
        sounds,
        np.array([_WEIGHTS.get(take.source, 1.0) for take in takes]),
    )
