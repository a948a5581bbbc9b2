"""Fits the network on the sound: gradient descent (Adam) on examples drawn anew for each step.

Written in NumPy, as all fitting here: a large library of networks would weigh a hundred times
what the program does, and everybody can train an ear for words of their own.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from assistant.hearing.classifier.fitting import Adam, Labels, falling, softmax_slope
from assistant.hearing.classifier.sound_network import (
    BANDS,
    MEAN_WEIGHT,
    STRIDES,
    Frames,
    SoundNetwork,
    from_values,
    pooled,
    windows,
)

_WARM = 100  # steps until the full rate


@dataclass(frozen=True)
class WindowBatch:
    """Windows (n, frames, 32), where they hold frames, labels, and how much each counts."""

    frames: Frames
    there: Frames
    labels: Labels
    weights: Frames


@dataclass(frozen=True)
class SoundCourse:
    """How long and how boldly to fit, and how large the network is."""

    steps: int = 3500
    batch: int = 128
    rate: float = 2e-3
    decay: float = 3e-4
    keep: float = 0.7  # of the last layer's values in each step
    smoothing: float = 0.02
    channels: tuple[int, ...] = (48, 80, 96, 112, 128)
    width: int = 5
    seed: int = 1


def fresh_network(labels: int, course: SoundCourse) -> SoundNetwork:
    """A network to begin from (He initialisation)."""
    rng = np.random.default_rng(course.seed)

    def drawn(rows: int, columns: int, power: float) -> Frames:
        made = rng.standard_normal((rows, columns), np.float32)
        return np.asarray(made * np.float32((power / rows) ** 0.5), np.float32)

    values: list[Frames] = []
    channels = BANDS
    for made in course.channels:
        values += [drawn(course.width * channels, made, 2), np.zeros(made, np.float32)]
        channels = made
    values += [drawn(2 * channels, labels, 1), np.zeros(labels, np.float32)]
    return from_values(values)


def fit_network(
    network: SoundNetwork,
    draw: Callable[[np.random.Generator, int], WindowBatch],
    course: SoundCourse,
    tell: Callable[[str], None] = lambda line: None,
) -> SoundNetwork:
    """A new network, fitted to what `draw` gives, a batch of so many for each step."""
    rng = np.random.default_rng(course.seed)
    values = [value.copy() for value in network.values()]
    descent = Adam(values, course.decay)
    right = 0.0
    for step in range(1, course.steps + 1):
        batch = draw(rng, course.batch)
        slopes, share = gradients(from_values(values), batch, course, rng)
        right += share
        descent.go(slopes, course.rate * falling(step, course.steps) * min(1.0, step / _WARM))
        if step % 500 == 0:
            tell(f"step {step} of {course.steps}: {100 * right / 500:.1f} % right")
            right = 0.0
    return from_values(values)


def gradients(
    network: SoundNetwork,
    batch: WindowBatch,
    course: SoundCourse,
    rng: np.random.Generator | None = None,
) -> tuple[list[Frames], float]:
    """The slope of the loss for each of the network's values, and the weighted share of the
    batch that it has right. Without `rng` nothing is dropped."""
    seen, kept, values, mask = _forward(network, batch)
    best = values.argmax(axis=1)[:, None]
    count = mask.sum(axis=1, keepdims=True) + np.float32(1e-6)
    top = pooled(values, mask)
    stays: Frames = np.ones(top.shape, np.float32)
    if rng is not None:
        drawn = rng.random(top.shape, np.float32) < course.keep
        stays = drawn.astype(np.float32) / np.float32(course.keep)
    top = np.asarray(top * stays)
    slope, share = softmax_slope(
        top @ network.out + network.out_bias, batch.labels, batch.weights, course.smoothing
    )
    found = [top.T @ slope, slope.sum(axis=0)]
    back = (slope @ network.out.T) * stays
    channels = values.shape[2]
    falls = np.repeat((MEAN_WEIGHT * back[:, :channels] / count)[:, None], values.shape[1], 1)
    peaks = np.take_along_axis(falls, best, 1) + back[:, None, channels:]
    np.put_along_axis(falls, best, peaks, 1)
    return [*_backward(network, seen, kept, falls), *found], share


def _forward(
    network: SoundNetwork, batch: WindowBatch
) -> tuple[list[Frames], list[npt.NDArray[np.bool_]], Frames, Frames]:
    """What each layer saw, which of its values were above zero, the last layer's values, and
    where there are any."""
    values, mask = batch.frames, batch.there
    seen, kept = [], []
    for kernel, stride in zip(network.kernels, STRIDES, strict=True):
        width = len(kernel.weights) // values.shape[2]
        seen.append(windows(values, width, stride))
        mask = mask[:, ::stride]
        values = seen[-1] @ kernel.weights + kernel.bias
        kept.append((values > 0) & (mask[:, :, None] > 0))
        values = values * kept[-1]
    return seen, kept, values, mask


def _backward(
    network: SoundNetwork,
    seen: list[Frames],
    kept: list[npt.NDArray[np.bool_]],
    falls: Frames,
) -> list[Frames]:
    found: list[Frames] = []
    for n in reversed(range(len(STRIDES))):
        kernel = network.kernels[n]
        slope = (falls * kept[n]).reshape(-1, len(kernel.bias)).astype(np.float32)
        inputs = seen[n].reshape(len(slope), -1)
        found = [inputs.T @ slope, slope.sum(axis=0), *found]
        if n:
            spread = (slope @ kernel.weights.T).reshape(seen[n].shape)
            falls = _gathered(spread, STRIDES[n], kept[n - 1].shape)
    return found


def _gathered(spread: Frames, stride: int, shape: tuple[int, ...]) -> Frames:
    """What the windows of a layer give back, added up where they overlap."""
    count, frames, channels = shape
    width = spread.shape[2] // channels
    parts = spread.reshape(count, spread.shape[1], width, channels)
    whole = np.zeros((count, frames + width - 1, channels), np.float32)
    for at in range(width):
        whole[:, at : at + stride * spread.shape[1] : stride] += parts[:, :, at]
    return whole[:, width // 2 : width // 2 + frames]
