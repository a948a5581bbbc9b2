"""How well the person stands out from the shop, and when it is too loud to trust the ear.

Pure: levels in, verdicts out. Levels are RMS in decibels below full scale.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from statistics import median

TOO_LOUD = 3.0
WELL_AGAIN = 7.0
"""Decibels of voice over noise. Between the two nothing changes, so that the ear does not
flutter on and off with each cut."""

CLIPPED = -0.5
"""A peak over this is at the converter's limit: the microphone is too near or set too high."""

_KEPT = 5
_LEAST = 2


def signal_to_noise(both: float, noise: float) -> float:
    """Decibels of the voice alone over the noise, from the level of both together while the
    person speaks and the level of the noise just before. -20 at least: there is no voice to see."""
    power = 10 ** (both / 10) - 10 ** (noise / 10)
    least = 10 ** (noise / 10) / 100
    return 10 * math.log10(max(power, least)) - noise


@dataclass(frozen=True, slots=True)
class Trust:
    """What is known of the person's voice: levels of the last accepted commands, without noise."""

    voices: tuple[float, ...] = ()
    snrs: tuple[float, ...] = ()
    too_loud: bool = False

    @property
    def snr(self) -> float | None:
        """The usual signal to noise ratio of the last commands; None before there are any."""
        return median(self.snrs) if self.snrs else None


def spoke(trust: Trust, both: float, noise: float, accepted: bool) -> Trust:
    """After an utterance: `accepted` when it was taken for a phrase. What was refused may be
    anybody's, and says nothing of the person's voice."""
    snr = signal_to_noise(both, noise)
    if not accepted:
        return trust
    voices = _last((*trust.voices, noise + snr))
    snrs = _last((*trust.snrs, snr))
    return _judged(replace(trust, voices=voices, snrs=snrs), median(snrs))


def noise_now(trust: Trust, noise: float) -> Trust:
    """After a stretch of noise: would the person's usual voice still stand out?"""
    if len(trust.voices) < _LEAST:
        return trust
    return _judged(trust, median(trust.voices) - noise)


def _judged(trust: Trust, snr: float) -> Trust:
    if trust.too_loud:
        return replace(trust, too_loud=snr < WELL_AGAIN)
    return replace(trust, too_loud=len(trust.snrs) >= _LEAST and snr < TOO_LOUD)


def _last(values: Sequence[float]) -> tuple[float, ...]:
    return tuple(values[-_KEPT:])


def clips(peak: float) -> bool:
    """True for a peak level (dB below full scale) at the converter's limit."""
    return peak > CLIPPED


def meter(noise: float, snr: float | None) -> str:
    """One line for the person: "noise -42 dB, your voice 17 dB over it: heard well"."""
    if snr is None:
        return f"noise {noise:.0f} dB, no command heard yet"
    return f"noise {noise:.0f} dB, your voice {snr:.0f} dB over it: {_in_words(snr)}"


def _in_words(snr: float) -> str:
    if snr < TOO_LOUD:
        return "too loud, use the pedal"
    return "heard well" if snr >= WELL_AGAIN else "heard, with some misses"
