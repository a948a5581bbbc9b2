"""One utterance as 865 numbers, whatever its length.

The mean of its embeddings over the whole and over each eighth, so that the order of the
sounds counts, each scaled to length 1, so that loudness counts less; and the logarithm of
its length.
"""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np
import numpy.typing as npt

from assistant.hearing.classifier.embedding import SIZE, STEP
from assistant.hearing.classifier.networks import Vectors
from assistant.hearing.waves import RATE

PARTS = 8
COUNT = SIZE * (PARTS + 1) + 1

Features = npt.NDArray[np.float32]


def features(vectors: Vectors, seconds: float) -> Features:
    """`vectors` (n, 96) of one utterance, n at least 1; `seconds` is its length, with the
    run-up before it and the silence after it. Raises ValueError for none."""
    if not len(vectors):
        raise ValueError("an utterance too short for one embedding has no features")
    edges = np.linspace(0, len(vectors), PARTS + 1)
    means = [vectors.mean(axis=0)]
    for begin, end in pairwise(edges):
        first = min(int(begin), len(vectors) - 1)
        means.append(vectors[first : max(first + 1, math.ceil(end))].mean(axis=0))
    scaled = [mean / (float(np.linalg.norm(mean)) + 1e-9) * SIZE**0.5 for mean in means]
    return np.concatenate([*scaled, [math.log(max(seconds, 0.05))]]).astype(np.float32)


LATER = 4
"""Beginnings of a short utterance, 80 ms apart."""


def begun_later(vectors: Vectors, seconds: float) -> Features:
    """A row for the utterance and one for each later beginning: where its run-up ends is
    never certain, and for a word of a third of a second that matters."""
    begins = range(min(LATER, len(vectors)))
    return np.stack([features(vectors[n:], seconds - n * STEP / RATE) for n in begins])
