"""Samples: 16 bit PCM in bytes, made mono and brought to another rate."""

from __future__ import annotations

import array
import math
import sys
from operator import mul

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


def spread(pcm: bytes, channels: int) -> bytes:
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
    """Brings a stream of mono PCM from one rate to another, piece by piece.

    A windowed-sinc filter with one set of weights for each phase (Oppenheim and Schafer,
    Discrete-Time Signal Processing, changing the sampling rate by a non-integer factor).
    Rates are samples a second, above 0. The output lags by some tens of samples.
    """

    def __init__(self, from_rate: int, to_rate: int) -> None:
        shared = math.gcd(from_rate, to_rate)
        self._step, self._phases = from_rate // shared, to_rate // shared
        self._same = self._step == self._phases
        cutoff = min(1.0, to_rate / from_rate)
        self._half = math.ceil(TAPS_EACH_SIDE / cutoff)
        self._cutoff = cutoff
        self._weights: dict[int, list[float]] = {}
        self._held: list[int] = [0] * self._half
        self._at = 0  # the next output's place in the held samples, in parts of a sample

    def feed(self, pcm: bytes) -> bytes:
        """As much output as the samples so far allow."""
        if self._same:
            return pcm
        self._held.extend(as_array(pcm))
        taps = 2 * self._half
        out = array.array("h")
        place = self._at
        last = len(self._held) - taps
        while (start := place // self._phases) <= last:
            weights = self._phase(place % self._phases)
            total = sum(map(mul, self._held[start : start + taps], weights))
            out.append(max(-32768, min(32767, round(total))))
            place += self._step
        used = min(place // self._phases, len(self._held))
        del self._held[:used]
        self._at = place - used * self._phases
        return as_bytes(out)

    def end(self) -> bytes:
        """What is still held back."""
        return b"" if self._same else self.feed(bytes(2 * self._half))

    def _phase(self, phase: int) -> list[float]:
        if phase not in self._weights:
            middle = self._half - 1 + phase / self._phases
            weights = [self._weight(k - middle) for k in range(2 * self._half)]
            total = sum(weights)
            self._weights[phase] = [w / total for w in weights]
        return self._weights[phase]

    def _weight(self, x: float) -> float:
        angle = math.pi * x * self._cutoff
        window = 0.5 + 0.5 * math.cos(math.pi * x / self._half) if abs(x) < self._half else 0.0
        return window * (math.sin(angle) / angle if angle else 1.0)


def resample(pcm: bytes, from_rate: int, to_rate: int) -> bytes:
    """A whole piece of mono PCM at another rate."""
    resampler = Resampler(from_rate, to_rate)
    return resampler.feed(pcm) + resampler.end()
