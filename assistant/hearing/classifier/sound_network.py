"""A network of our own on the sound itself, trained in the noise of a shop.

The embedding was made for speech in a quiet place. This network sees the same mel frames, but
learned nothing else than to tell our phrases from each other and from noise. What it says is
added to what the classifier says: each is sure where the other is not.

Layers of convolutions in time, each with a rectifier, then the mean and the largest value of
each channel over the utterance, wherever in it they are; so the length does not matter.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

Frames = npt.NDArray[np.float32]

BANDS = 32
MOST_FRAMES = 256
"""Of a longer utterance the last 2.56 s count: the phrase is at its end."""

LEAST_FRAMES = 8
STRIDES = (2, 2, 1, 2, 1)
"""Frames between two steps of each layer's window."""

SCALE = 1.4
DEEPEST = 5.0
"""Under the loudest moment nothing is softer than this, in powers of ten: 50 dB."""

MEAN_WEIGHT = 2.0
"""The means are small beside the largest values: so much more they count."""


@dataclass(frozen=True)
class Kernel:
    """One layer of convolutions: (width * channels in, channels out), and a bias for each."""

    weights: Frames
    bias: Frames


@dataclass(frozen=True)
class SoundNetwork:
    """The layers, then one linear layer from twice the last channels to the labels."""

    kernels: tuple[Kernel, ...]
    out: Frames
    out_bias: Frames

    def values(self) -> list[Frames]:
        """All weights, in a fixed order."""
        pairs = [value for k in self.kernels for value in (k.weights, k.bias)]
        return [*pairs, self.out, self.out_bias]


def from_values(values: Sequence[Frames]) -> SoundNetwork:
    """The network whose `values` these are. Raises ValueError where they do not fit together."""
    *pairs, out, bias = values
    if len(pairs) != 2 * len(STRIDES):
        raise ValueError(f"a network of {len(pairs) // 2} layers, not {len(STRIDES)}")
    kernels = tuple(Kernel(w, b) for w, b in zip(pairs[::2], pairs[1::2], strict=True))
    channels = BANDS
    for kernel in kernels:
        if kernel.weights.shape[0] % channels or kernel.weights.shape[1:] != kernel.bias.shape:
            raise ValueError("the layers of a network do not fit each other")
        channels = len(kernel.bias)
    if out.shape != (2 * channels, len(bias)):
        raise ValueError("the layers of a network do not fit its phrases")
    return SoundNetwork(kernels, out, bias)


def normalised(mels: Frames) -> Frames:
    """Mel frames (n, 32) without the level of each band over the utterance: microphone and
    loudness are in it, the words are not. Nor is how deep a silence is."""
    mels = np.maximum(mels, mels.max() - np.float32(DEEPEST))
    return np.asarray((mels - mels.mean(axis=0)) * np.float32(SCALE), np.float32)


def placed(frames: Frames) -> tuple[Frames, Frames]:
    """Normalised frames at the end of a window of `MOST_FRAMES`, and 1 where there are any."""
    window = np.zeros((MOST_FRAMES, BANDS), np.float32)
    there = np.zeros(MOST_FRAMES, np.float32)
    last = frames[-MOST_FRAMES:]
    window[MOST_FRAMES - len(last) :] = last
    there[MOST_FRAMES - len(last) :] = 1
    return window, there


def windows(values: Frames, width: int, stride: int) -> Frames:
    """(examples, steps, width * channels): what each step of a layer sees of (examples, frames,
    channels); beyond both ends there is nothing."""
    padded = np.pad(values, ((0, 0), (width // 2, width // 2), (0, 0)))
    seen = np.lib.stride_tricks.sliding_window_view(padded, width, axis=1)[:, ::stride]
    return np.ascontiguousarray(seen.transpose(0, 1, 3, 2)).reshape(*seen.shape[:2], -1)


def pooled(values: Frames, there: Frames) -> Frames:
    """Mean and largest value of each channel: (examples, twice the channels)."""
    count = there.sum(axis=1, keepdims=True) + np.float32(1e-6)
    mean = values.sum(axis=1) / count
    return np.concatenate([mean * np.float32(MEAN_WEIGHT), values.max(axis=1)], axis=1)


def network_outputs(network: SoundNetwork, frames: Frames, there: Frames) -> Frames:
    """(examples, labels) before the softmax, for windows (examples, MOST_FRAMES, 32)."""
    values, mask = frames, there
    for kernel, stride in zip(network.kernels, STRIDES, strict=True):
        width = len(kernel.weights) // values.shape[2]
        values = np.maximum(windows(values, width, stride) @ kernel.weights + kernel.bias, 0)
        mask = mask[:, ::stride]
        values = values * mask[:, :, None]
    return np.asarray(pooled(values, mask) @ network.out + network.out_bias)


def outputs_of(networks: Sequence[SoundNetwork], mels: Frames) -> Frames:
    """The mean of what several networks say of one utterance's mel frames (n, 32): (labels,).
    Nothing at all, 0 for each label, of less than `LEAST_FRAMES`."""
    if len(mels) < LEAST_FRAMES:
        return np.zeros(len(networks[0].out_bias), np.float32)
    window, there = placed(normalised(mels))
    made = [network_outputs(network, window[None], there[None])[0] for network in networks]
    return np.asarray(np.mean(made, axis=0), np.float32)
