"""From examples to a head."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from assistant.hearing.fitting import Course, fit, fresh
from assistant.hearing.head import NONE, Head, Layers, remember
from assistant.hearing.training.corpus import Cut, Example, rows_of
from assistant.phrases import normalise

REMEMBERED = 14
"""Rows of each phrase that travel in the head, and this many times ten of none."""

MEMBERS = 3
"""Heads fitted from different seeds, whose outputs are averaged: fewer wrong accepts."""

NEAR_WEIGHT, WORD_WEIGHT, OTHER_WEIGHT = 0.15, 0.25, 0.5
"""How much a near miss counts, a phrase with one word changed, a single word, and every other
negative, against a phrase: if they counted as much, the phrases themselves would be doubted in
noise."""

NONE_LESS = 1.0
"""How much less likely "none" is beside the machine than in the training, as a logarithm: there
most utterances are none of the phrases, here most are."""


def learn(examples: list[Example], noise: list[Cut], course: Course) -> Head:
    """A head for the phrases in the examples; `noise` are more cuts with none of them."""
    phrases = sorted({example.label for example in examples} - {NONE})
    labels = (*phrases, NONE)
    rng = np.random.default_rng(course.seed)
    told = [(rows_of(e.cut, rng), labels.index(e.label), _weight(e, phrases)) for e in examples]
    told += [(rows_of(cut), len(phrases), OTHER_WEIGHT) for cut in noise]
    rows = np.stack([row for made, _, _ in told for row in made])
    wanted = np.array([label for made, label, _ in told for _ in made], np.int64)
    weights = np.array([weight for made, _, weight in told for _ in made], np.float32)
    mean = rows.mean(axis=0)
    deviation = rows.std(axis=0) + np.float32(1e-3)
    standardised = ((rows - mean) / deviation).astype(np.float32)
    layers = side_by_side(
        [
            fit(fresh(rows.shape[1], len(labels), each), standardised, wanted, weights, each)
            for each in (replace(course, seed=course.seed + n) for n in range(MEMBERS))
        ]
    )
    kept = _kept(wanted, len(phrases), course.seed)
    return Head(
        labels,
        mean,
        deviation,
        layers,
        remember(standardised[kept]),
        wanted[kept].astype(np.int16),
    )


def side_by_side(members: list[Layers], shares: list[float] | None = None) -> Layers:
    """One head whose output is the mean of its members' outputs, or so much of each: their
    hidden units stand side by side."""
    each = shares or [1 / len(members)] * len(members)
    pairs = list(zip(members, each, strict=True))
    return Layers(
        np.concatenate([m.hidden for m in members], axis=1),
        np.concatenate([m.hidden_bias for m in members]),
        np.concatenate([m.out * np.float32(share) for m, share in pairs]),
        np.asarray(sum(m.out_bias * np.float32(share) for m, share in pairs), np.float32),
    )


def expecting_phrases(head: Head) -> Head:
    """The head with "none" as likely as at the bench: Bayes' rule for another prior."""
    bias = head.layers.out_bias.copy()
    bias[head.labels.index(NONE)] -= np.float32(NONE_LESS)
    return replace(head, layers=replace(head.layers, out_bias=bias))


def beside(head: Head, earlier: Head) -> Head:
    """A head whose outputs are the mean of both, each member of them counting the same: what was
    trained on other recordings doubts other things. Raises ValueError for other phrases."""
    if head.labels != earlier.labels:
        raise ValueError("the earlier head was trained for other phrases")
    old = earlier.layers
    scaled = old.hidden / earlier.deviation[:, None]
    moved = replace(
        old,
        hidden=scaled * head.deviation[:, None],
        hidden_bias=old.hidden_bias + (head.mean - earlier.mean) @ scaled,
    )
    mine, its = head.layers.hidden.shape[1], old.hidden.shape[1]
    return replace(
        head, layers=side_by_side([head.layers, moved], [mine / (mine + its), its / (mine + its)])
    )


def _weight(example: Example, phrases: list[str]) -> float:
    if example.label != NONE:
        return 1.0
    said = normalise(example.text).split()
    if len(said) == 1:
        return WORD_WEIGHT
    near = any(_one_word_apart(said, phrase.split()) for phrase in phrases)
    return NEAR_WEIGHT if near else OTHER_WEIGHT


def _one_word_apart(said: list[str], phrase: list[str]) -> bool:
    pairs = zip(said, phrase, strict=False)
    return len(said) == len(phrase) and sum(a != b for a, b in pairs) == 1


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
