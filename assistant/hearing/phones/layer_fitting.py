"""Fits the layer of phones to recordings whose words are known. NumPy alone, some seconds.

The gradient of connectionist temporal classification (Graves et al., 2006), down the hill by Adam
(Kingma and Ba, 2015), drawn back to where the layer stood, so that a few recordings move what they
speak of and leave the rest.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from assistant.hearing.phones.network import Layer, Rows, in_logarithms
from assistant.hearing.phones.scoring import NEVER, PathStates, Sounds, labels_of

STEPS, PACE, DRAWN_BACK = 60, 0.02, 0.002
"""Chosen on a reckoned child that was heard badly: with a fifth of the drawing back and half the
steps fewer phrases were heard in noise."""

Doubles = npt.NDArray[np.float64]


@dataclass(frozen=True)
class Known:
    """What the last block made of a recording, and the phones that were said in it."""

    inner: Rows
    said: Sounds


def fitted(layer: Layer, several: Sequence[Known]) -> Layer:
    """The layer fitted on; as it was where there is nothing to learn from."""
    if not several:
        return layer
    lengths = np.array([len(each.inner) for each in several])
    inputs = np.zeros((len(several), lengths.max(), layer.weight.shape[0] + 1), np.float32)
    for row, each in enumerate(several):
        inputs[row, : len(each.inner), :-1] = each.inner
        inputs[row, : len(each.inner), -1] = 1
    labels = labels_of([each.said for each in several])
    began = np.concatenate([layer.weight, layer.bias[None]]).astype(np.float64)
    values, slope, spread = began.copy(), np.zeros_like(began), np.zeros_like(began)
    for step in range(1, STEPS + 1):
        gradient = _gradient(values, inputs, lengths, labels) + DRAWN_BACK * (values - began)
        slope = 0.9 * slope + 0.1 * gradient
        spread = 0.99 * spread + 0.01 * gradient**2
        size = np.sqrt(spread / (1 - 0.99**step)) + 1e-6
        values -= PACE * slope / (1 - 0.9**step) / size
    return Layer(values[:-1].astype(np.float32), values[-1].astype(np.float32))


def _gradient(
    values: Doubles, inputs: Rows, lengths: npt.NDArray[np.int64], labels: PathStates
) -> Doubles:
    """By each row of sound, of minus the logarithm of the chance of what was said."""
    flat = inputs.reshape(-1, inputs.shape[-1])
    heard = in_logarithms(flat @ values.astype(np.float32)).reshape(*inputs.shape[:2], -1)
    wrong = np.exp(heard) - shares(heard, lengths, labels)
    wrong[np.arange(inputs.shape[1]) >= lengths[:, None]] = 0
    made = flat.T @ wrong.reshape(len(flat), -1).astype(np.float32)
    return np.asarray(made / lengths.sum(), np.float64)


def shares(heard: Rows, lengths: npt.NDArray[np.int64], labels: PathStates) -> Doubles:
    """How much of each row of sound each phone has, over all paths of what was said:
    (recordings, rows, phones), each row's sum 1."""
    wide = (len(heard), heard.shape[1], labels.numbers.shape[1])
    chosen = np.broadcast_to(labels.numbers[:, None], wide)
    told: Doubles = np.asarray(np.take_along_axis(heard, chosen, 2), np.float64)
    before, after = _forward(told, labels), _backward(told, lengths, labels)
    rows = np.arange(len(heard))
    last = before[rows, lengths - 1]
    whole = np.logaddexp(last[rows, labels.ends], last[rows, labels.ends - 1])
    parts = np.exp(np.minimum(before + after - whole[:, None, None], 0))
    made = np.zeros(heard.shape)
    moments = np.arange(heard.shape[1])[None]
    for state in range(wide[2]):
        phone = labels.numbers[:, state][:, None]
        made[rows[:, None], moments, phone] += parts[:, :, state]
    return made


def _forward(told: Doubles, labels: PathStates) -> Doubles:
    paths = np.full(told.shape, NEVER)
    paths[:, 0, :2] = told[:, 0, :2]
    for n in range(1, told.shape[1]):
        at = paths[:, n - 1]
        at = np.logaddexp(np.logaddexp(at, _moved(at, 1)), _moved(at, 2) + labels.still)
        paths[:, n] = at + told[:, n] + labels.barred
    return paths


def _backward(told: Doubles, lengths: npt.NDArray[np.int64], labels: PathStates) -> Doubles:
    rows = np.arange(len(told))
    end = np.full(told.shape[::2], NEVER)
    end[rows, labels.ends] = end[rows, labels.ends - 1] = 0
    skips = _moved(labels.still, -2)
    paths = np.full(told.shape, NEVER)
    paths[:, -1] = end
    for n in range(told.shape[1] - 2, -1, -1):
        at = paths[:, n + 1] + told[:, n + 1]
        at = np.logaddexp(np.logaddexp(at, _moved(at, -1)), _moved(at, -2) + skips)
        paths[:, n] = np.where((n >= lengths - 1)[:, None], end, at + labels.barred)
    return paths


def _moved(paths: Doubles, by: int) -> Doubles:
    made = np.full_like(paths, NEVER)
    if by > 0:
        made[:, by:] = paths[:, :-by]
    else:
        made[:, :by] = paths[:, -by:]
    return made
