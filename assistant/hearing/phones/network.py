"""The phone network: sound in, how likely each phone is every 30 ms out. NumPy alone, one thread.

64 mel bands, two convolutions, six blocks of the conformer kind (half a feed-forward layer,
attention, a convolution, the other half), and a layer of phones with a blank for connectionist
temporal classification (CTC). How it was trained is told in docs/model-card.md.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache, lru_cache
from pathlib import Path
from zipfile import BadZipFile
from zlib import crc32

import numpy as np
import numpy.typing as npt

from assistant.errors import Refusal
from assistant.hearing.waves import RATE, Wave

FILE = Path(__file__).parent.parent / "data" / "phones.npz"

PHONES = tuple("əɪæOIAWYɜɑɒɔɛʌʊui") + tuple("pbtdkɡfvθðszʃʒʧʤhmnŋlɹwj")
"""In the order of the outputs, after the blank."""

BLANK = 0
FRAME_S = 0.03
"""Seconds from one row of the output to the next."""

MOST_S = 6.0
"""Nothing longer is a phrase or a size; attention grows with the square of the length."""

WIDTH = 192
"""Numbers that each row has between the blocks."""

_BANDS, _HEADS, _KERNEL, _BLOCKS, _STRIDE = 64, 4, 15, 6, 3
_WINDOW, _STEP, _FFT = 400, 160, 512
_FLOOR = 1e-6  # 60 dB under the loudest band: what lies lower is the silence of a recording

Rows = npt.NDArray[np.float32]


def _mel(hertz: float) -> float:
    return float(2595 * np.log10(1 + hertz / 700))


@lru_cache(maxsize=2)
def _bank(stretch: float) -> Rows:
    return mel_bank(stretch)


def mel_bank(stretch: float = 1.0) -> Rows:
    """Triangles from 60 to 7,800 Hz, (257, 64), `stretch` times as high: as heard from a smaller
    or larger throat."""
    edges = 700 * (10 ** (np.linspace(_mel(60), _mel(7800), _BANDS + 2) / 2595) - 1) * stretch
    bins = np.arange(_FFT // 2 + 1)[:, None] * RATE / _FFT
    rise = (bins - edges[:-2]) / (edges[1:-1] - edges[:-2])
    fall = (edges[2:] - bins) / (edges[2:] - edges[1:-1])
    bank = np.maximum(0, np.minimum(rise, fall))
    for band in np.flatnonzero(bank.sum(axis=0) < 1e-3):  # narrower than a bin
        bank[min(round(edges[band + 1] * _FFT / RATE), _FFT // 2), band] = 1.0
    return np.asarray(bank, np.float32)


def bands(sound: Wave, stretch: float = 1.0) -> Rows:
    """Logarithms of the mel bands every 10 ms, less each band's mean: (n, 64)."""
    count = (len(sound) - _WINDOW) // _STEP + 1
    if count < _STRIDE + 1:
        return np.zeros((0, _BANDS), np.float32)
    window = (0.5 - 0.5 * np.cos(2 * np.pi * np.arange(_WINDOW) / (_WINDOW - 1))).astype(np.float32)
    views = np.lib.stride_tricks.sliding_window_view(np.asarray(sound, np.float32), _WINDOW)
    spectrum = np.fft.rfft(views[::_STEP][:count] * window, _FFT)
    power = (spectrum.real**2 + spectrum.imag**2).astype(np.float32) @ _bank(stretch)
    logs = np.log(np.maximum(power, max(float(power.max()) * _FLOOR, 1e-12)))
    return np.asarray((logs - logs.mean(axis=0)) / 2.0, np.float32)


def _soft(x: Rows) -> Rows:
    return np.asarray(x / (1 + np.exp(-np.clip(x, -60, 60))), np.float32)


def _spread(x: Rows) -> Rows:
    raised = np.exp(x - x.max(axis=-1, keepdims=True))
    return np.asarray(raised / raised.sum(axis=-1, keepdims=True), np.float32)


def in_logarithms(said: Rows) -> Rows:
    """Outputs of the layer of phones as logarithms of chances; each row's chances sum to 1."""
    said = said - said.max(axis=-1, keepdims=True)
    return np.asarray(said - np.log(np.exp(said).sum(axis=-1, keepdims=True)), np.float32)


@dataclass(frozen=True)
class Layer:
    """Weights (inputs, outputs) and biases (outputs)."""

    weight: Rows
    bias: Rows


@dataclass(frozen=True)
class PhoneNetwork:
    """Weights by name, matrices as (inputs, outputs); `stretch` as `mel_bank` has it."""

    weights: dict[str, Rows]
    stretch: float = 1.0

    def hear(self, sound: Wave) -> Rows:
        """Logarithms of the chances of the blank and each phone, (n, 42), a row each 30 ms; no row
        of what is shorter than 60 ms or longer than `MOST_S`. 16 kHz, any level."""
        return self.said(self.inner(sound))

    @property
    def layer(self) -> Layer:
        """The layer of phones, the last of all."""
        return Layer(self.weights["ctc.weight"], self.weights["ctc.bias"])

    def for_person(self, stretch: float, layer: Layer) -> PhoneNetwork:
        """The same network with a person's own stretch (1: none) and layer of phones."""
        last = {"ctc.weight": layer.weight, "ctc.bias": layer.bias}
        return PhoneNetwork(self.weights | last, stretch)

    @property
    def checksum(self) -> int:
        """Of all weights but the layer of phones: what is learned of a person belongs to it."""
        found = 0
        for name in sorted(set(self.weights) - {"ctc.weight", "ctc.bias"}):
            found = crc32(np.ascontiguousarray(self.weights[name]).tobytes(), found)
        return found

    def inner(self, sound: Wave) -> Rows:
        """What the last block makes of a sound, (n, 192), before the phones are told."""
        if len(sound) > MOST_S * RATE:
            return np.zeros((0, WIDTH), np.float32)
        frames = bands(sound, self.stretch)
        if not len(frames):
            return np.zeros((0, WIDTH), np.float32)
        x = _soft(self._convolved(frames, "f1", 1))
        x = self._normed(_soft(self._convolved(x, "f2", _STRIDE)), "n0")
        for number in range(_BLOCKS):
            x = self._block(x, f"blocks.{number}.")
        return x

    def said(self, inner: Rows) -> Rows:
        """Logarithms of the chances, of rows that `inner` gave."""
        return in_logarithms(self._layer(inner, "ctc"))

    def _block(self, x: Rows, at: str) -> Rows:
        x = x + self._fed(x, at, "n1", "a1", "b1")
        x = x + self._attended(x, at)
        x = x + self._mixed(x, at)
        x = x + self._fed(x, at, "n4", "a2", "b2")
        return self._normed(x, at + "n5")

    def _fed(self, x: Rows, at: str, norm: str, first: str, second: str) -> Rows:
        inner = _soft(self._layer(self._normed(x, at + norm), at + first))
        return np.float32(0.5) * self._layer(inner, at + second)

    def _attended(self, x: Rows, at: str) -> Rows:
        size = WIDTH // _HEADS
        made = self._layer(self._normed(x, at + "n2"), at + "qkv")
        asked, key, value = made.reshape(len(x), 3, _HEADS, size).transpose(1, 2, 0, 3)
        shares = _spread(asked @ key.transpose(0, 2, 1) / np.float32(size**0.5))
        joined = (shares @ value).transpose(1, 0, 2).reshape(len(x), WIDTH)
        return self._layer(joined, at + "o")

    def _mixed(self, x: Rows, at: str) -> Rows:
        made = self._layer(self._normed(x, at + "n3"), at + "c1")
        gated = made[:, :WIDTH] / (1 + np.exp(-np.clip(made[:, WIDTH:], -60, 60)))
        padded = np.pad(gated, ((_KERNEL // 2, _KERNEL // 2), (0, 0)))
        kernel = self.weights[at + "dw.weight"]
        total = self.weights[at + "dw.bias"] + np.zeros_like(gated)
        for n in range(_KERNEL):
            total += padded[n : n + len(x)] * kernel[n]
        return self._layer(_soft(self._normed(total, at + "nc")), at + "c2")

    def _layer(self, x: Rows, name: str) -> Rows:
        return np.asarray(x @ self.weights[name + ".weight"] + self.weights[name + ".bias"])

    def _normed(self, x: Rows, name: str) -> Rows:
        mean = x.mean(axis=-1, keepdims=True)
        spread = ((x - mean) ** 2).mean(axis=-1, keepdims=True)
        scaled = (x - mean) / np.sqrt(spread + np.float32(1e-5))
        return np.asarray(scaled * self.weights[name + ".weight"] + self.weights[name + ".bias"])

    def _convolved(self, x: Rows, name: str, stride: int) -> Rows:
        padded = np.pad(x, ((2, 2), (0, 0)))
        seen = np.lib.stride_tricks.sliding_window_view(padded, 5, axis=0)[::stride]
        flat = np.ascontiguousarray(seen.transpose(0, 2, 1)).reshape(len(seen), -1)
        return self._layer(flat, name)


def load_phones(file: Path = FILE) -> PhoneNetwork:
    """The network in a file of plain numbers. Raises Refusal with the cure for one that is none."""
    try:
        with np.load(file, allow_pickle=False) as data:
            raw = {name: np.asarray(data[name], np.float32) for name in data.files}
        found = {name: _turned(name, values) for name, values in raw.items()}
        _check(found)
    except (OSError, ValueError, KeyError, EOFError, BadZipFile) as error:
        why = getattr(error, "strerror", None) or error
        raise Refusal(f"{file}: no phone network ({why})", "install the program anew") from error
    return PhoneNetwork(found)


@cache
def shipped() -> PhoneNetwork:
    """The network that comes with the program, read once for phrases and sizes. Raises Refusal."""
    return load_phones()


def _turned(name: str, values: Rows) -> Rows:
    """Training leaves a layer as (outputs, inputs), a convolution as (outputs, inputs, width)."""
    if name.endswith("dw.weight"):
        return np.ascontiguousarray(values[:, 0].T)
    if values.ndim == 3:
        return np.ascontiguousarray(values.transpose(2, 1, 0).reshape(-1, values.shape[0]))
    return np.ascontiguousarray(values.T) if values.ndim == 2 else values


def _check(weights: dict[str, Rows]) -> None:
    wanted = {"f1.weight": (5 * _BANDS, WIDTH), "f2.weight": (5 * WIDTH, WIDTH),
              "ctc.weight": (WIDTH, len(PHONES) + 1)}  # fmt: skip
    wanted |= {f"blocks.{n}.qkv.weight": (WIDTH, 3 * WIDTH) for n in range(_BLOCKS)}
    wanted |= {f"blocks.{n}.dw.weight": (_KERNEL, WIDTH) for n in range(_BLOCKS)}
    for name, shape in wanted.items():
        if weights[name].shape != shape:
            raise ValueError(f"{name} is {weights[name].shape}, not {shape}")
    if not all(np.isfinite(values).all() for values in weights.values()):
        raise ValueError("some of its numbers are none")
