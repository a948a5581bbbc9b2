"""Samples: 16 bit PCM in bytes, made mono and brought to another rate."""

from __future__ import annotations

import array
import math
import sys
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    import numpy as np
    import numpy.typing as npt

BLOCK = 4096  # outputs at a time: a long sound would need a window for each at once

TAPS_EACH_SIDE = 10
"""Zero crossings of the filter on either side; the stop band lies below -50 dB."""


def as_array(pcm: bytes) -> array.array[int]:
    """Little-endian 16 bit PCM as numbers."""
    numbers = array.array("h", pcm[: len(pcm) & ~1])
    if sys.byteorder == "big":
        numbers.byteswap()
    return numbers


def as_bytes(numbers: array.array[int]) -> bytes:
    """Numbers as little-endian 16 bit PCM."""
    if sys.byteorder == "big":
        numbers = array.array("h", numbers)
        numbers.byteswap()
    return numbers.tobytes()


def mono(pcm: bytes, channels: int) -> bytes:
    """The mean of all channels."""
    if channels == 1:
        return pcm
    numbers = as_array(pcm)
    parts = [numbers[c::channels] for c in range(channels)]
    return as_bytes(array.array("h", (sum(p) // channels for p in zip(*parts, strict=False))))


def spread_channels(pcm: bytes, channels: int) -> bytes:
    """The same sound on every channel."""
    if channels == 1:
        return pcm
    wide = array.array("h", bytes(len(pcm) * channels))
    for c in range(channels):
        wide[c::channels] = as_array(pcm)
    return as_bytes(wide)


def loudest(pcm: bytes) -> int:
    """The largest sample without its sign, 0 to 32768."""
    numbers = as_array(pcm)
    return max(abs(max(numbers)), abs(min(numbers))) if numbers else 0


class Resampler:
    """Brings a stream of one channel from one rate to another, piece by piece.

    A windowed-sinc filter with one set of weights for each phase (Oppenheim and Schafer,
    Discrete-Time Signal Processing, changing the sampling rate by a non-integer factor).
    Rates are samples a second, above 0. The output lags by some tens of samples. It alone needs
    NumPy: without it the rest of a session goes on, in silence.
    """

    def __init__(self, from_rate: int, to_rate: int) -> None:
        import numpy as np

        shared = math.gcd(from_rate, to_rate)
        self._step, self._phases = from_rate // shared, to_rate // shared
        self._same = self._step == self._phases
        cutoff = min(1.0, to_rate / from_rate)
        self._half = math.ceil(TAPS_EACH_SIDE / cutoff)
        self._cutoff = cutoff
        self._weights = None if self._same else self._all_phases()
        self._held: npt.NDArray[Any] = np.zeros(self._half, np.int16)
        self._at = 0  # the next output's place in the held samples, in parts of a sample

    def feed(self, pcm: bytes) -> bytes:
        """16 bit PCM in; as much of it at the other rate as the samples so far allow."""
        if self._weights is None:
            return pcm
        import numpy as np

        made = self.take(np.frombuffer(pcm[: len(pcm) & ~1], "<i2"))
        return bytes(np.clip(np.rint(made), -32768, 32767).astype("<i2"))

    def take(self, samples: npt.NDArray[Any]) -> npt.NDArray[Any]:
        """The same with numbers of any kind and scale; they are neither rounded nor clipped."""
        if self._weights is None:
            return samples
        import numpy as np

        self._held = np.concatenate([self._held, samples])
        # The window of an output has to lie within what is held.
        room = (len(self._held) - 2 * self._half + 1) * self._phases - self._at
        count = max(0, -(-room // self._step))
        out = [self._some(n, min(n + BLOCK, count)) for n in range(0, count, BLOCK)]
        place = self._at + count * self._step
        used = min(place // self._phases, len(self._held))
        self._held, self._at = self._held[used:], place - used * self._phases
        return np.concatenate(out) if out else np.zeros(0)

    def end(self) -> bytes:
        """What is still held back."""
        return b"" if self._same else self.feed(bytes(2 * self._half))

    def rest(self) -> npt.NDArray[Any]:
        """The same as numbers."""
        import numpy as np

        return self.take(np.zeros(0 if self._same else self._half))

    def _some(self, first: int, after: int) -> npt.NDArray[Any]:
        """The outputs from `first` on, counted from the first that is due."""
        import numpy as np

        assert self._weights is not None
        places = self._at + self._step * np.arange(first, after)
        windows = (places // self._phases)[:, None] + np.arange(2 * self._half)
        weights = self._weights[places % self._phases]
        return np.asarray(np.einsum("ij,ij->i", self._held[windows].astype(np.float64), weights))

    def _all_phases(self) -> npt.NDArray[np.float64]:
        """The weights of each phase, a row each, their sum 1."""
        import numpy as np

        middles = self._half - 1 + np.arange(self._phases) / self._phases
        x = np.arange(2 * self._half) - middles[:, None]
        window = np.where(np.abs(x) < self._half, 0.5 + 0.5 * np.cos(np.pi * x / self._half), 0.0)
        weights = window * np.sinc(x * self._cutoff)
        return np.asarray(weights / weights.sum(axis=1, keepdims=True))


def resample(pcm: bytes, from_rate: int, to_rate: int) -> bytes:
    """A whole piece of mono PCM at another rate."""
    resampler = Resampler(from_rate, to_rate)
    return resampler.feed(pcm) + resampler.end()
