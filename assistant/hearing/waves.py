"""Sound as floating point numbers: conversion, rate, band limits, convolution.

One channel; full scale is -1 to 1.
"""

from __future__ import annotations

import wave
from pathlib import Path

import numpy as np
import numpy.typing as npt

from assistant.devices.sound.loudness import rms
from assistant.devices.sound.samples import Resampler
from assistant.devices.sound.wavefile import read_wave

RATE = 16_000
"""Samples a second everywhere in this package."""

Wave = npt.NDArray[np.float32]


def from_pcm(pcm: bytes) -> Wave:
    """Little-endian 16 bit PCM as -1 to 1; a last odd byte is dropped."""
    whole = pcm[: len(pcm) & ~1]
    return np.frombuffer(whole, dtype="<i2").astype(np.float32) / np.float32(32768)


def to_pcm(sound: Wave) -> bytes:
    """-1 to 1 as little-endian 16 bit PCM; what lies beyond is clipped."""
    scaled = np.clip(np.asarray(sound, np.float32) * 32768, -32768, 32767)
    return scaled.astype("<i2").tobytes()


def read_sound(source: Path | bytes, rate: int = RATE) -> Wave:
    """A WAV file, its channels averaged, at `rate`.

    Raises OSError for a file that can't be read, WaveError for what is no WAV file.
    """
    raw = source if isinstance(source, bytes) else source.read_bytes()
    found = read_wave(raw)
    return resample_sound(from_pcm(found.mono16()), found.rate, rate)


def write_sound(path: Path, sound: Wave, rate: int = RATE) -> None:
    """Write a 16 bit WAV file of one channel."""
    with wave.open(str(path), "wb") as file:
        file.setnchannels(1)
        file.setsampwidth(2)
        file.setframerate(rate)
        file.writeframes(to_pcm(sound))


def resample_sound(sound: Wave, from_rate: float, to_rate: float) -> Wave:
    """The whole sound at another rate; rates to the next whole number of samples a second."""
    count = round(len(sound) * to_rate / from_rate)
    resampler = Resampler(round(from_rate), round(to_rate))
    made = np.concatenate([resampler.take(sound), resampler.rest()])
    return made[:count].astype(np.float32)


def band(sound: Wave, low: float, high: float) -> Wave:
    """What lies between two frequencies (Hz), with gentle edges of 12 dB an octave."""
    spectrum = np.fft.rfft(sound)
    f = np.fft.rfftfreq(len(sound), 1 / RATE) + 1e-9
    gain = 1 / (1 + (low / f) ** 4) ** 0.5 / (1 + (f / high) ** 4) ** 0.5
    return np.fft.irfft(spectrum * gain, len(sound)).astype(np.float32)


def convolve(sound: Wave, response: Wave) -> Wave:
    """The sound through a response, cut to the sound's own length."""
    size = len(sound) + len(response)
    size += -size % 1024
    product = np.fft.rfft(sound, size) * np.fft.rfft(response, size)
    return np.fft.irfft(product, size)[: len(sound)].astype(np.float32)


def speech_level(sound: Wave) -> float:
    """RMS of the part that sounds: the 20 ms frames within 30 dB of the loudest."""
    frames = len(sound) // 320
    if not frames:
        return rms(sound)
    power = np.mean(np.square(sound[: frames * 320].reshape(frames, 320)), axis=1)
    return float(np.sqrt(power[power >= power.max() / 1000].mean()))


def mix(speech: Wave, noise: Wave, snr: float) -> Wave:
    """Speech with noise `snr` dB below it, over the full band; noise as long as the speech."""
    level = speech_level(speech)
    scale = level / max(rms(noise), 1e-9) / 10 ** (snr / 20)
    return (speech + noise[: len(speech)] * scale).astype(np.float32)
