"""How well the person stands out from the shop, and when it is too loud to trust the ear.

Pure: levels in, verdicts out. Levels are RMS in decibels below full scale.
"""

from __future__ import annotations

import math
from collections import deque
from collections.abc import Sequence
from dataclasses import dataclass, replace
from statistics import median

import numpy as np

from assistant.devices.sound import loudness
from assistant.hearing.waves import RATE
from assistant.words.language import say

TOO_LOUD = 3.0
WELL_AGAIN = 7.0
"""Decibels of voice over noise. Between the two nothing changes, so that the ear does not
flutter on and off with each cut."""

CLIPPED = -0.5
"""A peak over this is at the converter's limit: the microphone is too near or set too high."""

FAINT = 12.0
"""So many dB under the usual voice is another person, or the radio, far from the microphone."""

_KEPT = 5
_LEAST, _SURE_OF_VOICE = 2, 3


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
    noise: float | None = None  # the noise last judged by

    @property
    def margin(self) -> float | None:
        """How far the usual voice stands over the present noise, dB; None while unknown."""
        if self.noise is None or len(self.voices) < _LEAST:
            return None
        return median(self.voices) - self.noise

    @property
    def snr(self) -> float | None:
        """The usual signal to noise ratio of the last commands; None before there are any."""
        return median(self.snrs) if self.snrs else None


def faint(trust: Trust, both: float, noise: float) -> bool:
    """True for an utterance `FAINT` dB and more under the person's usual voice; False while that is
    unknown. Levels in dB below full scale, as in the next two."""
    if len(trust.voices) < _SURE_OF_VOICE:
        return False
    return _voice_alone(both, noise) < median(trust.voices) - FAINT


def _voice_alone(both: float, noise: float) -> float:
    # A clank just before may be louder than all that came after it: its level says nothing then.
    return min(both, noise + signal_to_noise(both, noise))


def spoke(trust: Trust, both: float, noise: float, accepted: bool) -> Trust:
    """After an utterance: `accepted` when it was taken for a phrase. What was refused may be
    anybody's, and says nothing of the person's voice."""
    snr = signal_to_noise(both, noise)
    if not accepted:
        return trust
    voices = _last((*trust.voices, _voice_alone(both, noise)))
    snrs = _last((*trust.snrs, snr))
    # By the usual voice, which outlasts a change of the noise, as the ratios do not.
    return _judged(replace(trust, voices=voices, snrs=snrs, noise=noise), median(voices) - noise)


def noise_now(trust: Trust, noise: float) -> Trust:
    """After a stretch of noise: would the person's usual voice still stand out?"""
    trust = replace(trust, noise=noise)
    margin = trust.margin
    return trust if margin is None else _judged(trust, margin)


def _judged(trust: Trust, snr: float) -> Trust:
    if trust.too_loud:
        return replace(trust, too_loud=snr < WELL_AGAIN)
    return replace(trust, too_loud=len(trust.snrs) >= _LEAST and snr < TOO_LOUD)


def _last(values: Sequence[float]) -> tuple[float, ...]:
    return tuple(values[-_KEPT:])


def clips(peak: float) -> bool:
    """True for a peak level (dB below full scale) at the converter's limit."""
    return peak > CLIPPED


class NoiseMeter:
    """The level of the noise from blocks in which nobody speaks.

    The level that four in five tenths of a second of the last three seconds stay under: one
    clank does not count, chatter does.
    """

    def __init__(self) -> None:
        self._rest = b""
        self._levels: deque[float] = deque(maxlen=_TENTHS)
        self._since = 0
        self.level: float | None = None  # dB; None before it is known

    def feed(self, pcm: bytes) -> list[float]:
        """16 kHz PCM in; the level, anew for each half second. Digital silence tells nothing."""
        if len(pcm) > _SHORT:
            return []  # a whole recording at once may hold a voice
        found: list[float] = []
        self._rest += pcm
        while len(self._rest) >= _TENTH:
            self._take(loudness.level(self._rest[:_TENTH]))
            self._rest = self._rest[_TENTH:]
            if self._since >= _HALF_SECOND:
                self._since = 0
                self.level = float(np.percentile(list(self._levels), 80))
                found.append(self.level)
        return found

    def _take(self, level: float) -> None:
        if level > loudness.SILENCE:
            self._levels.append(level)
            self._since += len(self._levels) >= _LEAST_TENTHS


_TENTH = 2 * RATE // 10
_SHORT = 2 * _TENTH
_TENTHS, _LEAST_TENTHS, _HALF_SECOND = 30, 10, 5


def meter(noise: float | None, snr: float | None, *, trusted: bool = True) -> str:
    """One line for the person: "noise -42 dB, your voice 17 dB over it: trusted"."""
    if noise is None:
        return say("noise not measured yet")
    level = f"{noise:.0f}"
    if snr is None:
        return say("noise {noise} dB, voice not measured yet", noise=level)
    verdict = say("trusted") if trusted else say("not trusted, use the pedal")
    words = {"noise": level, "voice": f"{abs(snr):.0f}", "verdict": verdict}
    if snr < 0:
        return say("noise {noise} dB, your voice {voice} dB under it: {verdict}", **words)
    return say("noise {noise} dB, your voice {voice} dB over it: {verdict}", **words)
