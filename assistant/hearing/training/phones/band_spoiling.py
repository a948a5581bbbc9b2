"""A batch for the phone network: takes cut, sped, put into rooms and noise, before microphones,
and made mel bands; all of it on the device that fits, drawn anew each time.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
import torch

from assistant.hearing.phones.network import mel_bank
from assistant.hearing.training.noises import Random
from assistant.hearing.training.phones.store import Store
from assistant.hearing.training.phones.texts import KINDS
from assistant.hearing.training.phones.torch_network import BANDS, Tensor
from assistant.hearing.waves import RATE

_WINDOW, _STEP, _FFT, _FLOOR = 400, 160, 512, 1e-6
_WARPS = (*[1.0] * 6, 0.8, 0.85, 0.88, 0.91, 0.94, 0.97, 1.03, 1.06, 1.09, 1.12, 1.15, 1.2, 1.26)
_LEAST_SIZE, _MOST_SIZE = 0.78, 1.5  # of a throat and its tone: a large man to a small child
_PHRASE, _TALK = KINDS.index("phrase"), KINDS.index("talk")
_CLASS_WEIGHTS = np.array([1.0, 0.6, 0.9, 0.5, 0.5, 0.6])  # in the order of KINDS
_TAIL_S = 0.9  # of a room's answer
_MOST_S = 5.5

Floats = npt.NDArray[np.float64]


@dataclass(frozen=True)
class Cuts:
    """Where each example of a batch begins in the store and how long it is, in samples, and what it
    is worth to either loss."""

    start: Floats
    length: Floats
    sounds: npt.NDArray[np.int64]  # how many; 0 where nothing is said
    phrase: npt.NDArray[np.int64]  # -1 for none
    phrase_weight: Floats
    sound_weight: Floats
    silent: npt.NDArray[np.bool_]


@dataclass(frozen=True)
class BandBatch:
    """Bands (n, frames, 64) with how many frames of each are sound; phones and how many; phrases.
    A weight for each in either loss."""

    bands: Tensor
    frames: Tensor
    sounds: Tensor
    count: Tensor
    sound_weight: Tensor
    phrase: Tensor
    phrase_weight: Tensor


def cuts(store: Store, chosen: npt.NDArray[np.int64], rng: Random) -> Cuts:
    """Sixteen in a hundred phrases are a part of one, which is none; talk comes in pieces, as does
    what is too long; three in a hundred are no speech at all. Parts and pieces have no phones that
    are known."""
    count, kind = len(chosen), store.kind[chosen]
    length, start = store.length[chosen].astype(float), store.start[chosen].astype(float)
    phrase, sounds = store.phrase[chosen].copy(), store.count[chosen].copy()
    chance = rng.random(count)
    part = (kind == _PHRASE) & (chance < 0.16)
    shorter = np.where(part, length * rng.uniform(0.3, 0.72, count), length)
    start = np.where(part & (rng.random(count) < 0.45), start + length - shorter, start)
    weight = np.where(part, 0.6, _CLASS_WEIGHTS[kind])
    piece = ((kind == _TALK) & ((chance < 0.4) | (shorter > 5 * RATE))) | (shorter > _MOST_S * RATE)
    kept = np.minimum(shorter, rng.uniform(0.4, 2.6, count) * RATE)
    start = np.where(piece, start + rng.uniform(0, 1, count) * (shorter - kept), start)
    silent = rng.random(count) < 0.03
    phrase[part | piece | silent] = -1
    sounds[silent] = 0
    return Cuts(start, np.where(piece, kept, shorter), sounds, phrase, weight,
                np.where(part | piece, 0.0, 1.0), silent)  # fmt: skip


class Spoiler:
    """Makes batches of what is in the store, over `noise` (kinds, samples)."""

    def __init__(self, store: Store, noise: npt.NDArray[np.int16], device: str, seed: int) -> None:
        self._store, self._device = store, device
        self._noise = torch.from_numpy(noise).to(device)
        self._sound = torch.from_numpy(store.sound).to(device)
        self._chance = torch.Generator(device).manual_seed(seed)
        self._window = torch.hann_window(_WINDOW, periodic=False, device=device)
        self._breath = torch.hann_window(_FFT, device=device)
        self._banks = self._numbers(np.stack([mel_bank(warp) for warp in _WARPS]))

    def batch(self, chosen: npt.NDArray[np.int64], labels: int, rng: Random) -> BandBatch:
        """Of these takes; `labels` of the phrase classifier, the last of which is "none"."""
        cut = cuts(self._store, chosen, rng)
        sound, samples = self._placed(cut, rng)
        sound = self._in_noise(self._in_rooms(self._breathed(self._sized(sound)), cut))
        frames = torch.as_tensor((samples - _WINDOW) // _STEP + 1, device=self._device)
        bands = self._left_out(self._bands(self._heard(sound), frames), frames)
        phrase = np.where(cut.phrase < 0, labels - 1, cut.phrase)
        return BandBatch(
            bands, frames, self._whole(self._store.sounds[chosen]), self._whole(cut.sounds),
            self._numbers(cut.sound_weight), self._whole(phrase), self._numbers(cut.phrase_weight),
        )  # fmt: skip

    def _numbers(self, values: Floats) -> Tensor:
        return torch.as_tensor(values, dtype=torch.float32, device=self._device)

    def _whole(self, values: npt.NDArray[np.int64]) -> Tensor:
        return torch.as_tensor(values, dtype=torch.long, device=self._device)

    def _rand(self, *shape: int) -> Tensor:
        return torch.rand(*shape, device=self._device, generator=self._chance)

    def _randint(self, top: int, *shape: int) -> Tensor:
        return torch.randint(top, shape, device=self._device, generator=self._chance)

    def _randn(self, *shape: int) -> Tensor:
        return torch.randn(*shape, device=self._device, generator=self._chance)

    def _placed(self, cut: Cuts, rng: Random) -> tuple[Tensor, npt.NDArray[np.int64]]:
        """At 0.85 to 1.2 of its speed, with some silence before and after; how long each is."""
        count = len(cut.start)
        speed = rng.uniform(0.85, 1.2, count)
        lead, tail = rng.uniform(0.2, 0.75, count) * RATE, rng.uniform(0.06, 0.6, count) * RATE
        samples = (lead + cut.length / speed + tail).astype(np.int64)
        longest = int(samples.max()) + 1
        longest += -longest % (RATE // 2)
        steps = torch.arange(longest, device=self._device)[None]
        at = (steps - self._numbers(lead)[:, None]) * self._numbers(speed)[:, None]
        last = self._numbers(cut.length)[:, None]
        inside = (at >= 0) & (at < last - 1)
        at = torch.minimum(at.clamp(min=0), last - 2)
        part = at - at.floor()
        place = at.floor().long() + self._whole(np.floor(cut.start).astype(np.int64))[:, None]
        before, after = self._sound[place].float(), self._sound[place + 1].float()
        return (before * (1 - part) + after * part) * inside / 32768, samples

    def _sized(self, sound: Tensor) -> Tensor:
        """In an eighth tone and throat are higher or lower, at the same pace: each band of the
        spectrum is taken from further down or up, and turns as much faster (a phase vocoder)."""
        rows = torch.nonzero(self._rand(len(sound)) < 0.125)[:, 0]
        if not len(rows):
            return sound
        size = _LEAST_SIZE + (_MOST_SIZE - _LEAST_SIZE) * self._rand(len(rows), 1)
        seen = self._spectrum(sound[rows])
        bins, hop = seen.shape[1], _FFT // 4
        band = torch.arange(bins, device=self._device)[None]
        source = band / size
        inside = (source < bins - 1)[..., None]
        low = source.floor().long().clamp(max=bins - 2)[..., None].expand(-1, -1, seen.shape[2])
        part = (source - source.floor())[..., None]
        loud = seen.abs()
        made = (loud.gather(1, low) * (1 - part) + loud.gather(1, low + 1) * part) * inside
        angle, nearest = seen.angle(), (low + (part > 0.5)).long()
        usual = (2 * math.pi * hop / _FFT) * band[..., None]
        turned = angle[..., 1:] - angle[..., :-1] - usual
        turned = turned - 2 * math.pi * torch.round(turned / (2 * math.pi)) + usual
        turned = torch.cat((angle[..., :1], turned), -1)
        phase = (turned.gather(1, nearest) * size[..., None]).cumsum(-1)
        heard = torch.istft(
            torch.polar(made, phase), _FFT, hop, window=self._breath, length=sound.shape[1]
        )
        return sound.index_copy(0, rows, heard)

    def _breathed(self, sound: Tensor) -> Tensor:
        """In three of twenty the voice is half or wholly breath: the throat's shape, and no tone
        in it; in four of ten of those it is a whisper."""
        rows = torch.nonzero(self._rand(len(sound)) < 0.15)[:, 0]
        if not len(rows):
            return sound
        said = sound[rows]
        shape = torch.nn.functional.avg_pool1d(
            self._spectrum(said).abs().pow(2).transpose(1, 2), 13, 1, 6
        ).transpose(1, 2)
        pitch = torch.linspace(0, RATE / 2, shape.shape[1], device=self._device)[None, :, None]
        breath = self._spectrum(self._randn(*said.shape)) * shape.sqrt() * pitch / (pitch + 300)
        made = torch.istft(breath, _FFT, _FFT // 4, window=self._breath, length=said.shape[1])
        share = (0.3 + 1.2 * self._rand(len(rows), 1)).clamp(max=1.0)
        mixed = said / _level(said)[:, None] * (1 - share) + made / _level(made)[:, None] * share
        return sound.index_copy(0, rows, mixed)

    def _spectrum(self, sound: Tensor) -> Tensor:
        return torch.stft(sound, _FFT, _FFT // 4, window=self._breath, return_complex=True)

    def _in_rooms(self, sound: Tensor, cut: Cuts) -> Tensor:
        """45 in a hundred in a room of 0.15 to 0.9 s; all of them at the level 1, or no speech."""
        count, longest, tail = sound.shape[0], sound.shape[1], round(_TAIL_S * RATE)
        fall = 0.15 + 0.75 * self._rand(count, 1)
        time = torch.arange(tail, device=self._device)[None] / RATE
        answer = self._randn(count, tail) * 10 ** (-3 * time / fall) * (time < fall)
        answer = answer * (0.005 + 0.055 * self._rand(count, 1))
        answer[:, :64] = 0
        answer[:, 0] = 1
        early = (30 + self._rand(count, 5) * 670).long()
        answer.scatter_add_(1, early, self._rand(count, 5) * 0.8 - 0.4)
        size = quick_size(longest + tail)
        spectrum = torch.fft.rfft(sound, size) * torch.fft.rfft(answer, size)
        wet = torch.fft.irfft(spectrum, size)[:, :longest]
        made = torch.where((self._rand(count) < 0.45)[:, None], wet, sound)
        level = _level(made)[:, None].clamp(min=1e-4)
        return made / level * torch.as_tensor(~cut.silent, device=self._device)[:, None]

    def _in_noise(self, sound: Tensor) -> Tensor:
        """One noise, in a fifth two, in a tenth a crowd that talks; 18 in a hundred at 25 to 55 dB,
        the others at -5 to 21, over a crowd at 4 and more."""
        count = sound.shape[0]
        noise = self._some_noise(*sound.shape)
        two = noise + self._some_noise(*sound.shape) * self._rand(count, 1)
        noise = torch.where((self._rand(count) < 0.2)[:, None], two, noise)
        noise = noise / noise.pow(2).mean(1, keepdim=True).sqrt().clamp(min=1e-3)
        quiet, loud = 25 + 30 * self._rand(count), -5 + 26 * self._rand(count)
        ratio = torch.where(self._rand(count) < 0.18, quiet, loud)
        crowd = torch.nonzero(self._rand(count) < 0.1)[:, 0]
        noise = noise.index_copy(0, crowd, self._talking(len(crowd), sound.shape[1]))
        ratio = ratio.index_copy(0, crowd, ratio[crowd].clamp(min=4))
        return sound + noise * 10 ** (-ratio / 20)[:, None]

    def _talking(self, count: int, samples: int) -> Tensor:
        """Five to nine who talk at once, of those who are trained on."""
        steps = torch.arange(samples, device=self._device)[None]
        made = torch.zeros(count, samples, device=self._device)
        for talker in range(9):
            here = (self._rand(count, 1) < (1.0 if talker < 5 else 0.5)) * (
                0.3 + self._rand(count, 1)
            )
            begin = self._randint(len(self._sound), count)[:, None]
            made = made + self._sound[(begin + steps) % len(self._sound)].float() * here
        return made / made.pow(2).mean(1, keepdim=True).sqrt().clamp(min=1)

    def _some_noise(self, count: int, samples: int) -> Tensor:
        row = self._randint(self._noise.shape[0], count)[:, None]
        room = max(self._noise.shape[1] - samples - 1, 1)
        begin = (self._rand(count) * room).long()[:, None]
        steps = torch.arange(samples, device=self._device)[None]
        noise = self._noise[row, (begin + steps) % self._noise.shape[1]].float()
        return noise / noise.pow(2).mean(1, keepdim=True).sqrt().clamp(min=1)

    def _heard(self, sound: Tensor) -> Tensor:
        """Before a microphone: band limits, in six of ten an uneven one, in a tenth clipped."""
        count, samples = sound.shape
        spectrum = torch.fft.rfft(sound, samples)
        pitch = torch.linspace(0, RATE / 2, spectrum.shape[1], device=self._device)[None] + 1e-3
        low = 30 + 270 * self._rand(count, 1)
        tops = torch.tensor([3400.0, 5500.0, 7500.0, 7900.0, 7900.0], device=self._device)
        high = tops[self._randint(len(tops), count, 1)]
        gain = (1 + (low / pitch) ** 4) ** -0.5 * (1 + (pitch / high) ** 4) ** -0.5
        knots = (self._rand(count, 9) * 12 - 6) * (self._rand(count, 1) < 0.6)
        octave = torch.log2(pitch.clamp(min=60) / 60).clamp(max=6.99) * 8 / 7
        at = octave.floor().long().clamp(max=7)
        part, at = octave - at, at.expand(count, -1)
        decibels = knots.gather(1, at) * (1 - part) + knots.gather(1, at + 1) * part
        made = torch.fft.irfft(spectrum * gain * 10 ** (decibels / 20), samples)
        top = made.abs().amax(1, keepdim=True) * (0.15 + 0.45 * self._rand(count, 1))
        clipped = torch.maximum(torch.minimum(made, top), -top)
        made = torch.where((self._rand(count) < 0.1)[:, None], clipped, made)
        return made + 1e-4 * self._randn(count, samples)

    def _bands(self, sound: Tensor, frames: Tensor) -> Tensor:
        """As `phones.network.bands`, with the bands stretched in two of three (0.8 to 1.26)."""
        views = sound.unfold(1, _WINDOW, _STEP) * self._window
        bank = self._banks[self._randint(len(self._banks), len(sound))]
        power = torch.bmm(torch.fft.rfft(views, _FFT).abs().pow(2), bank)
        there = _there(power, frames)
        power = power * there
        logs = torch.maximum(power, power.amax((1, 2), keepdim=True) * _FLOOR).log()
        means = (logs * there).sum(1, keepdim=True) / frames[:, None, None]
        return (logs - means) / 2.0 * there

    def _left_out(self, bands: Tensor, frames: Tensor) -> Tensor:
        """Twice up to nine bands, and up to 0.11 s (Park et al., 2019)."""
        count, columns = len(bands), torch.arange(BANDS, device=self._device)[None]
        rows = torch.arange(bands.shape[1], device=self._device)[None]
        for _ in range(2):
            wide, first = (self._rand(count, 1) * 10).floor(), (self._rand(count, 1) * 54).floor()
            bands = bands * ~((columns >= first) & (columns < first + wide))[:, None]
            long = (self._rand(count, 1) * 12).floor()
            first = (self._rand(count, 1) * frames[:, None]).floor()
            bands = bands * ~((rows >= first) & (rows < first + long))[..., None]
        return bands


def _there(bands: Tensor, frames: Tensor) -> Tensor:
    rows = torch.arange(bands.shape[1], device=bands.device)[None]
    return (rows < frames[:, None])[..., None]


def _level(sound: Tensor) -> Tensor:
    """Of the speech: hundredths of a second within 30 dB of the loudest."""
    whole = sound[:, : sound.shape[1] // 320 * 320]
    power = whole.reshape(len(sound), -1, 320).pow(2).mean(-1)
    loud = power >= power.amax(1, keepdim=True) / 1000
    return ((power * loud).sum(1) / loud.sum(1).clamp(min=1)).clamp(min=1e-10).sqrt()


def quick_size(least: int) -> int:
    """The least 1, 3 or 5 times a power of two from 256 on that is no less."""
    return min(m << k for m in (1, 3, 5) for k in range(8, 20) if m << k >= least)
