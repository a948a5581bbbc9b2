"""Fitting a classifier's layers to examples: cross-entropy, Adam, dropout; NumPy only, one seed.

Adam as in Kingma and Ba, "Adam: A Method for Stochastic Optimization" (2015), with the usual
constants; weight decay apart from the gradient (Loshchilov and Hutter, 2019).
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from assistant.hearing.classifier.classifier import Layers, softmax
from assistant.hearing.classifier.features import Features

Labels = npt.NDArray[np.int64]
_FAST, _SLOW, _TINY = 0.9, 0.999, 1e-8


@dataclass(frozen=True)
class Course:
    """How long and how boldly to fit."""

    epochs: int = 40
    batch: int = 256
    rate: float = 2e-3
    decay: float = 3e-4
    keep: float = 0.6  # of the hidden units in each step
    blur: float = 0.6  # deviations of noise added to each standardised feature
    smoothing: float = 0.02
    hidden: int = 160
    seed: int = 1


def fresh_layers(inputs: int, outputs: int, course: Course) -> Layers:
    """Layers to begin from (He initialisation)."""
    rng = np.random.default_rng(course.seed)

    def weights(rows: int, columns: int) -> Features:
        drawn = rng.standard_normal((rows, columns), np.float32)
        return np.asarray(drawn * np.float32((2 / rows) ** 0.5), np.float32)

    return Layers(
        weights(inputs, course.hidden),
        np.zeros(course.hidden, np.float32),
        weights(course.hidden, outputs),
        np.zeros(outputs, np.float32),
    )


def fit_layers(
    layers: Layers, rows: Features, labels: Labels, weights: Features, course: Course
) -> Layers:
    """New layers, fitted to standardised rows; `weights` says how much each row counts."""
    rng = np.random.default_rng(course.seed)
    values = [v.copy() for v in (layers.hidden, layers.hidden_bias, layers.out, layers.out_bias)]
    descent = Adam(values, course.decay)
    steps = course.epochs * max(1, len(rows) // course.batch)
    for step in range(1, steps + 1):
        picked = rng.integers(0, len(rows), course.batch)
        slopes = _gradients(rng, values, rows[picked], labels[picked], weights[picked], course)
        descent.go(slopes, course.rate * falling(step, steps))
    return Layers(*values)


def falling(step: int, steps: int) -> float:
    """A rate's share after so many of all steps: half a cosine, from 1 to 0."""
    return 0.5 * (1 + math.cos(math.pi * step / (steps + 1)))


class Adam:
    """Moves values down their slopes, each by its own recent mean and spread (Kingma and Ba,
    2015), and a little towards zero."""

    def __init__(self, values: list[Features], decay: float) -> None:
        """The values are changed in place; `decay`, times the rate, is the share that goes."""
        self._values, self._decay = values, decay
        self._fast = [np.zeros_like(v) for v in values]
        self._slow = [np.zeros_like(v) for v in values]
        self._step = 0

    def go(self, slopes: list[Features], rate: float) -> None:
        """One step."""
        self._step += 1
        for k, slope in enumerate(slopes):
            self._fast[k] += (1 - _FAST) * (slope - self._fast[k])
            self._slow[k] += (1 - _SLOW) * (slope**2 - self._slow[k])
            spread = np.sqrt(self._slow[k] / (1 - _SLOW**self._step)) + _TINY
            move = self._fast[k] / (1 - _FAST**self._step) / spread
            self._values[k] -= np.float32(rate) * (move + self._decay * self._values[k])


def _gradients(
    rng: np.random.Generator,
    values: list[Features],
    rows: Features,
    labels: Labels,
    weights: Features,
    course: Course,
) -> list[Features]:
    hidden_w, hidden_b, out_w, out_b = values
    seen = rows + course.blur * rng.standard_normal(rows.shape, np.float32)
    hidden = np.maximum(seen @ hidden_w + hidden_b, 0)
    kept = (rng.random(hidden.shape, np.float32) < course.keep) / np.float32(course.keep)
    hidden = hidden * kept
    wrong, _ = softmax_slope(hidden @ out_w + out_b, labels, weights, course.smoothing)
    back = (wrong @ out_w.T) * kept * (hidden > 0)
    made = [seen.T @ back, back.sum(axis=0), hidden.T @ wrong, wrong.sum(axis=0)]
    return [np.asarray(g, np.float32) for g in made]


def softmax_slope(
    outputs: Features, labels: Labels, weights: Features, smoothing: float
) -> tuple[Features, float]:
    """The slope of the smoothed cross-entropy after a softmax, for each output, and the weighted
    share of the rows that are right."""
    rows = np.arange(len(outputs))
    shares = (weights / weights.sum())[:, None]
    likely = softmax(outputs)
    wanted = np.full(outputs.shape, smoothing / outputs.shape[1], np.float32)
    wanted[rows, labels] += 1 - smoothing
    right = (outputs.argmax(axis=1) == labels)[:, None] * shares
    return ((likely - wanted) * shares).astype(np.float32), float(right.sum())
