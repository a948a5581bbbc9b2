"""What lies between a mouth and the samples: the room, the microphone, the noise, the level."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from assistant.hearing.training.noises import TRAINED_ON, Maker, Random
from assistant.hearing.waves import RATE, Wave, band, convolve, mix, resample_sound, speech_level

LEAD, TAIL = 0.75, 0.65
"""Seconds of noise before and after the speech, so that the detector hears it begin and end."""


def room(rng: Random, sound: Wave) -> Wave:
    """A room of 0.15 to 0.9 s reverberation time, the mouth 0.2 to 3 m away.

    A direct sound, a few early reflections, then noise that decays exponentially: the usual
    statistical model of a late response (Polack).
    """
    fall = rng.uniform(0.15, 0.9)
    t = np.arange(int(fall * RATE)) / RATE
    tail = rng.standard_normal(len(t)) * 10 ** (-3 * t / fall)
    tail[: int(0.004 * RATE)] = 0
    response = tail * rng.uniform(0.005, 0.06)
    response[0] = 1.0
    for at in rng.integers(30, min(700, len(t)), 5):
        response[at] += rng.uniform(-0.4, 0.4)
    wet = convolve(sound, response.astype(np.float32))
    return wet * np.float32(speech_level(sound) / max(speech_level(wet), 1e-9))


def microphone(rng: Random, sound: Wave) -> Wave:
    """Band limits of a headset, a lapel or a table microphone, and now and then clipping."""
    limited = band(sound, rng.uniform(30, 300), rng.choice([3400.0, 5500.0, 7500.0, 7900.0]))
    if rng.random() < 0.12:
        top = np.abs(limited).max() * rng.uniform(0.15, 0.6)
        limited = np.clip(limited, -top, top)
    return limited


def headset(rng: Random, sound: Wave) -> Wave:
    """Band limits of a headset with its microphone before the mouth; it does not clip."""
    return band(sound, rng.uniform(60, 200), rng.choice([5500.0, 7500.0, 7900.0]))


def another_throat(rng: Random, sound: Wave) -> Wave:
    """The same words from a larger or smaller speaker: pitch and formants moved together."""
    return resample_sound(sound, RATE, RATE * rng.uniform(0.88, 1.14))


def trimmed(sound: Wave) -> Wave:
    """Without the silence that a synthesiser puts round a sentence."""
    loud = np.flatnonzero(np.abs(sound) > np.abs(sound).max(initial=0) * 0.02)
    return sound[loud[0] : loud[-1] + 1] if len(loud) else sound[:0]


@dataclass(frozen=True)
class Spoilt:
    """A recording as a microphone would give it: `first` and `last` sample of the speech."""

    sound: Wave
    first: int
    last: int
    snr: float


def spoil_speech(
    rng: Random,
    speech: Wave,
    snr: float,
    kinds: tuple[Maker, ...] = TRAINED_ON,
    *,
    near: bool = False,
) -> Spoilt:
    """Put speech into a room, before a microphone, `snr` dB over noise of one of the kinds;
    with `near` the microphone is a headset's: no room and no clipping."""
    said = another_throat(rng, trimmed(speech)) if rng.random() < 0.6 else trimmed(speech)
    lead = int(LEAD * RATE)
    tail = int(TAIL * RATE)
    whole = np.concatenate([np.zeros(lead, np.float32), said, np.zeros(tail, np.float32)])
    if rng.random() < 0.6 and not near:
        whole = room(rng, whole)
    noise = kinds[rng.integers(len(kinds))](rng, len(whole))
    heard = (headset if near else microphone)(rng, mix(whole, noise, snr))
    level = 10 ** (rng.uniform(-38, -14) / 20) / max(speech_level(heard), 1e-9)
    return Spoilt(np.clip(heard * level, -1, 1).astype(np.float32), lead, lead + len(said), snr)
