"""A headset at a desk: the program's own voice faint at the microphone, a person over it.

Mixed sample by sample and fed to the real ear at its own clock; no real headset was recorded.
"""

from __future__ import annotations

from functools import cache
from pathlib import Path

import numpy as np

from assistant.devices.sound.streams import LATENCY_S, Format
from assistant.devices.speech.synth import EspeakSynth
from assistant.files.settings import EarSettings, SpeechSettings
from assistant.hearing.judging import Heard
from assistant.hearing.opening import open_hearer
from assistant.hearing.over_own_voice import FarEnd, OverOwnVoice
from assistant.hearing.waves import (
    RATE,
    Wave,
    from_pcm,
    read_sound,
    resample_sound,
    speech_level,
    to_pcm,
)
from tests.whole.sound import speech

PERSON = 0.1  # the person's level, of full scale
BLOCK = RATE // 50
TAIL_S = 0.3  # as at the microphone
KNOWN_BY = (
    "Two done, ninety-eight left.",
    "Crank pin set to the twenty circle.",
    "Plate A on the head, its screws tight.",
)
FLOOR = -45.0  # dB over the person: what a quiet shop has


def at_level(sound: Wave, decibels: float) -> Wave:
    """Decibels over the person's level."""
    wanted = PERSON * 10 ** (decibels / 20)
    return (sound * wanted / speech_level(sound)).astype(np.float32)


@cache
def as_it_says(text: str, *, brief: bool = False) -> Wave:
    """As the program says it, at the person's level."""
    made = EspeakSynth(SpeechSettings()).speak(text, brief)
    return at_level(resample_sound(from_pcm(made.pcm), made.rate, RATE), 0.0)


class Desk:
    """One ear, one headset. `leak`: our own voice at the microphone, dB over the person."""

    def __init__(self, folder: Path, leak: float = -30.0, noise: float = FLOOR) -> None:
        self.folder, self.leak, self.noise = folder, leak, noise
        self.far, self.saying = FarEnd(), [""]
        self.over = OverOwnVoice(self.far, lambda: self.saying)
        self.hearer = open_hearer(EarSettings())
        self.chance = np.random.default_rng(7)
        self.blocks = 0
        self.heard: list[Heard] = []

    def known(self) -> Desk:
        """The ear has heard the person in silence, and our own sentences with nobody over them."""
        for phrase in ("how many left", "what is next", "where am I"):
            self.person(phrase)
        for text in KNOWN_BY:
            self.say(text)
        return self

    def person(self, phrase: str, voice: str = "flite:slt") -> list[Heard]:
        """Says it in silence."""
        return self._run(None, self._phrase(phrase, voice), 0.6)

    def say(
        self, text: str, phrase: str = "", after_s: float = 0.5, voice: str = "flite:slt",
        *, brief: bool = False, own: Wave | None = None,
    ) -> list[Heard]:  # fmt: skip
        """The program does, and a person over it, so many seconds behind its beginning."""
        self.saying = [*self.saying[-1:], text]
        said = as_it_says(text, brief=brief) if own is None else own
        return self._run(said, self._phrase(phrase, voice) if phrase else None, after_s)

    def _phrase(self, phrase: str, voice: str) -> Wave:
        return at_level(read_sound(speech(phrase, voice, self.folder)), 0.0)

    def _run(self, said: Wave | None, spoken: Wave | None, after_s: float) -> list[Heard]:
        own = said if said is not None else np.zeros(0, np.float32)
        person = spoken if spoken is not None else np.zeros(0, np.float32)
        begins = int(after_s * RATE)
        long = max(len(own) + RATE // 2, begins + len(person)) + RATE
        played = np.zeros(long, np.float32)
        played[: len(own)] = own
        heard = self._at_the_microphone(played)
        heard[begins : begins + len(person)] += person
        before = len(self.heard)
        for at in range(0, long - BLOCK, BLOCK):
            sounds = bool(len(own)) and at < len(own) + TAIL_S * RATE
            self._block(played[at : at + BLOCK], heard[at : at + BLOCK], own=sounds)
        return self.heard[before:]

    def _at_the_microphone(self, played: Wave) -> Wave:
        """Late by up to 0.2 s, with a short echo, another at each sentence."""
        noise = self.chance.normal(0, PERSON * 10 ** (self.noise / 20), len(played))
        if not played.any():
            return noise.astype(np.float32)
        late = int(self.chance.uniform(0.02, 0.2) * RATE)
        path = self.chance.normal(0, 1, 24) * np.exp(-np.arange(24) / 6)
        path[0] = 1.0
        sound = np.convolve(np.concatenate([np.zeros(late), played]), path)[: len(played)]
        return at_level(sound.astype(np.float32), self.leak) + noise.astype(np.float32)

    def _block(self, played: Wave, heard: Wave, *, own: bool) -> None:
        now = 100.0 + self.blocks * BLOCK / RATE
        self.blocks += 1
        if own:
            self.far.take(to_pcm(played), Format(RATE, 1), now - LATENCY_S)
        block = self.over.through(to_pcm(heard), now, self.hearer, own=own)
        if block is None:
            return
        if not block:
            self.hearer.reset()
            return
        self.heard += [self.over.heard(each, self.hearer) for each in self.hearer.feed(block)]
