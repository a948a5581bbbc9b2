"""From examples to a classifier."""

from __future__ import annotations

import multiprocessing
import os
from collections.abc import Callable, Collection
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, replace

import numpy as np

from assistant.engine.phrases import normalise
from assistant.hearing.classifier.classifier import NONE, Classifier, Layers, remember
from assistant.hearing.classifier.fitting import Course, fit_layers, fresh_layers
from assistant.hearing.classifier.sound_network import SoundNetwork
from assistant.hearing.training import sound_fitting
from assistant.hearing.training.corpus import CutUtterance, Example, rows_of
from assistant.hearing.training.frames import BatchMaker, Framed, Short
from assistant.hearing.training.sound_fitting import SoundCourse

REMEMBERED = 14
"""Rows of each phrase that travel in the classifier, and this many times ten of none."""

MEMBERS = 3
"""Classifiers fitted from different seeds, whose outputs are averaged: fewer wrong accepts."""

NETWORKS = 2
"""Networks on the sound, fitted from different seeds; the mean of what they say counts."""


@dataclass(frozen=True)
class LossWeights:
    """How much a near miss counts, a phrase with one word changed, a single word, and every other
    negative, against a phrase."""

    near: float
    word: float
    other: float

    def of(self, label: str, text: str, phrases: Collection[str]) -> float:
        """What an utterance of this text counts."""
        if label != NONE:
            return 1.0
        said = normalise(text).split()
        if len(said) == 1:
            return self.word
        near = any(_one_word_apart(said, phrase.split()) for phrase in phrases)
        return self.near if near else self.other


OF_THE_HEAD = LossWeights(near=0.15, word=0.25, other=0.5)
"""If negatives counted as much as phrases, the phrases themselves would be doubted in noise."""

OF_THE_NETWORKS = LossWeights(near=0.3, word=0.7, other=0.5)
"""The networks were made for noise, and can be stricter."""

NOISE_ALONE = 600
"""As many utterances as noise counts for in which nobody speaks."""

NONE_LESS = 1.0
"""How much less likely "none" is beside the machine than in the training, as a logarithm: there
most utterances are none of the phrases, here most are."""


def learn_classifier(
    examples: list[Example], noise: list[CutUtterance], course: Course
) -> Classifier:
    """A classifier for the phrases in the examples; `noise` are more cuts with none of them."""
    phrases = sorted({example.label for example in examples} - {NONE})
    labels = (*phrases, NONE)
    rng = np.random.default_rng(course.seed)
    told = [
        (rows_of(e.cut, rng), labels.index(e.label), OF_THE_HEAD.of(e.label, e.text, phrases))
        for e in examples
    ]
    told += [(rows_of(cut), len(phrases), OF_THE_HEAD.other) for cut in noise]
    rows = np.stack([row for made, _, _ in told for row in made])
    wanted = np.array([label for made, label, _ in told for _ in made], np.int64)
    weights = np.array([weight for made, _, weight in told for _ in made], np.float32)
    mean = rows.mean(axis=0)
    deviation = rows.std(axis=0) + np.float32(1e-3)
    standardised = ((rows - mean) / deviation).astype(np.float32)
    layers = side_by_side(
        [
            fit_layers(
                fresh_layers(rows.shape[1], len(labels), each), standardised, wanted, weights, each
            )
            for each in (replace(course, seed=course.seed + n) for n in range(MEMBERS))
        ]
    )
    kept = _kept(wanted, len(phrases), course.seed)
    return Classifier(
        labels,
        mean,
        deviation,
        layers,
        remember(standardised[kept]),
        wanted[kept].astype(np.int16),
    )


def networks(
    made: list[Framed],
    noise: list[Short],
    labels: tuple[str, ...],
    course: SoundCourse,
    tell: Callable[[str], None],
) -> tuple[SoundNetwork, ...]:
    """Networks on the sound for these labels, each fitted in a process of its own."""
    drawn = BatchMaker(
        made,
        [OF_THE_NETWORKS.of(each.label, each.text, labels[:-1]) for each in made],
        labels,
        noise,
        (NOISE_ALONE, OF_THE_NETWORKS.other),
    )
    seeds = range(course.seed, course.seed + NETWORKS)
    context = multiprocessing.get_context("spawn")
    with ProcessPoolExecutor(min(NETWORKS, len(os.sched_getaffinity(0))), context) as pool:
        fitted = [pool.submit(_network, drawn, replace(course, seed=seed)) for seed in seeds]
        found = [each.result() for each in fitted]
    for seed, (_, lines) in zip(seeds, found, strict=True):
        tell(f"network {seed}: {lines[-1]}" if lines else f"network {seed}")
    return tuple(network for network, _ in found)


def _network(drawn: BatchMaker, course: SoundCourse) -> tuple[SoundNetwork, list[str]]:
    lines: list[str] = []
    begun = sound_fitting.fresh_network(drawn.count_of_labels, course)
    return sound_fitting.fit_network(begun, drawn.draw, course, lines.append), lines


def side_by_side(members: list[Layers], shares: list[float] | None = None) -> Layers:
    """One classifier whose output is the mean of its members' outputs, or so much of each: their
    hidden units stand side by side."""
    each = shares or [1 / len(members)] * len(members)
    pairs = list(zip(members, each, strict=True))
    return Layers(
        np.concatenate([m.hidden for m in members], axis=1),
        np.concatenate([m.hidden_bias for m in members]),
        np.concatenate([m.out * np.float32(share) for m, share in pairs]),
        np.asarray(sum(m.out_bias * np.float32(share) for m, share in pairs), np.float32),
    )


def expecting_phrases(classifier: Classifier) -> Classifier:
    """The classifier with "none" as likely as at the bench: Bayes' rule for another prior."""
    bias = classifier.layers.out_bias.copy()
    bias[classifier.labels.index(NONE)] -= np.float32(NONE_LESS)
    return replace(classifier, layers=replace(classifier.layers, out_bias=bias))


FOR_OTHER_PHRASES = "the earlier classifier was trained for other phrases"


def beside(classifier: Classifier, earlier: Classifier) -> Classifier:
    """A classifier whose outputs are the mean of both, each member of them counting the same: what
    was trained on other recordings doubts other things. Raises ValueError for other phrases."""
    if classifier.labels != earlier.labels:
        raise ValueError(FOR_OTHER_PHRASES)
    old = earlier.layers
    scaled = old.hidden / earlier.deviation[:, None]
    moved = replace(
        old,
        hidden=scaled * classifier.deviation[:, None],
        hidden_bias=old.hidden_bias + (classifier.mean - earlier.mean) @ scaled,
    )
    mine, its = classifier.layers.hidden.shape[1], old.hidden.shape[1]
    return replace(
        classifier,
        layers=side_by_side([classifier.layers, moved], [mine / (mine + its), its / (mine + its)]),
        networks=classifier.networks + earlier.networks,
    )


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
