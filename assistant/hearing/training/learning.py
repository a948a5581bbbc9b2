"""From examples to a head."""

from __future__ import annotations

import numpy as np

from assistant.hearing.fitting import Course, fit, fresh
from assistant.hearing.head import NONE, Head, remember
from assistant.hearing.training.corpus import Cut, Example, rows_of

REMEMBERED = 24
"""Rows of each phrase that travel in the head, and this many times ten of none."""

NONE_WEIGHT = 1.5
"""A wrong accept is worse than a phrase said twice."""


def learn(examples: list[Example], noise: list[Cut], course: Course) -> Head:
    """A head for the phrases in the examples; `noise` are more cuts with none of them."""
    phrases = sorted({example.label for example in examples} - {NONE})
    labels = (*phrases, NONE)
    told = [(rows_of(e.cut), labels.index(e.label)) for e in examples]
    told += [(rows_of(cut), len(phrases)) for cut in noise]
    rows = np.stack([row for made, _ in told for row in made])
    wanted = np.array([label for made, label in told for _ in made], np.int64)
    mean = rows.mean(axis=0)
    deviation = rows.std(axis=0) + np.float32(1e-3)
    standardised = ((rows - mean) / deviation).astype(np.float32)
    weights = np.where(wanted == len(phrases), NONE_WEIGHT, 1.0).astype(np.float32)
    begun = fresh(rows.shape[1], len(labels), course)
    layers = fit(begun, standardised, wanted, weights, course)
    kept = _kept(wanted, len(phrases), course.seed)
    return Head(
        labels,
        mean,
        deviation,
        layers,
        remember(standardised[kept]),
        wanted[kept].astype(np.int16),
    )


def _kept(
    wanted: np.ndarray[tuple[int], np.dtype[np.int64]], none: int, seed: int
) -> np.ndarray[tuple[int], np.dtype[np.int64]]:
    rng = np.random.default_rng(seed)
    picked = []
    for label in range(none + 1):
        own = np.flatnonzero(wanted == label)
        most = REMEMBERED * (10 if label == none else 1)
        picked.append(rng.permutation(own)[:most])
    return np.concatenate(picked)
