"""How surely it is told that somebody spoke while the program did, by the level at a headset.

    python -m tests.bench.over [--far-end] [SENTENCES]     # so many at each line (120)

The program's own sentences by its own voice, faint at the microphone, a phrase of another voice
over every second one, the noise of a mill under both; at every fourth of those with nobody in them
a machine starts in the middle. With --far-end the own voice is taken away by its samples first.
Mixed in NumPy; what comes out of a real headset was not recorded. Prints how many were told, how
many of nothing, and how many of the machines. docs/pace.md shows what came out.
"""

from __future__ import annotations

import sys
import tempfile
from collections import deque
from functools import cache
from pathlib import Path

import numpy as np
import numpy.typing as npt

from assistant.devices.sound.loudness import level
from assistant.devices.speech.synth import EspeakSynth
from assistant.engine.phrases import PHRASES
from assistant.files.settings import SpeechSettings
from assistant.hearing.training.noises import compressor, mill
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

OWN = (
    "Lock off. Eight on twenty. Arms, lock.",
    "Tight and shut: cut.",
    "Lock off. Eight on twenty, middle line. Arms. Pin at the mark. Scale eighteen. Lock.",
    "Pin at the second arm? Swing the arms on to the pin. Lock the spindle.",
)
VOICES = ("flite:slt", "flite:awb", "festival", "espeak:en-us+f3")
LINES = tuple((own, noise) for own in (-40, -30, -20, -10) for noise in (-40, -20, -10))
"""The own voice and the noise at the microphone, dB over the person's voice."""
PERSON = 0.1  # its level, of full scale
TAPS, MOST_LATE = 48, RATE // 5
STARTS = -15.0  # the machine, dB over the person


FRAME = RATE // 50
OVER_OWN = 9.0
"""Decibels over what the last sentences made at the microphone by themselves."""
UNDER_USUAL = 12.0
"""A voice further under the person's usual one is another's, or the room (`levels.FAINT`)."""
LEAST_S = 0.25
"""Shorter than any phrase: a knock, a breath, a switch."""
STEADY_DB = 4.0
"""A voice goes up and down, with gaps; a machine that was switched on does not."""
LEARNED = 4
"""Sentences that the own voice is known by. Before two of them nothing is told."""
_KNOWN = 2


class SpokenOver:
    """By the level alone: fed with what the microphone gives while the program speaks."""

    def __init__(self) -> None:
        self._levels: list[float] = []
        self._own: deque[float] = deque(maxlen=LEARNED)
        self._rest = b""

    def feed(self, pcm: bytes) -> None:
        """16 kHz mono, 16 bit."""
        pcm, size = self._rest + pcm, 2 * FRAME
        whole = len(pcm) // size * size
        self._levels += [level(pcm[at : at + size]) for at in range(0, whole, size)]
        self._rest = pcm[whole:]

    def over(self, usual: float | None) -> bool:
        """The sentence is over: whether somebody spoke in it. `usual` is the level of the
        person's voice in dB, None while it is not known."""
        levels, self._levels, self._rest = np.array(self._levels), [], b""
        if len(levels) < LEAST_S * RATE / FRAME:
            return False
        told = len(self._own) >= _KNOWN and self._stands_out(levels, usual)
        if not told:
            self._own.append(float(np.percentile(levels, 95)))
        return told

    def _stands_out(self, levels: npt.NDArray[np.float64], usual: float | None) -> bool:
        least = float(np.median(self._own)) + OVER_OWN
        if usual is not None:
            least = max(least, usual - UNDER_USUAL)
        loud = np.flatnonzero(levels >= least)
        if len(loud) * FRAME < LEAST_S * RATE:
            return False
        return bool(np.std(levels[loud[0] : loud[-1] + 1]) >= STEADY_DB)


def own_taken_away(heard: Wave, said: Wave) -> Wave:
    """The own voice by its samples: where it begins by their correlation, then the path from
    loudspeaker to microphone that fits the whole sentence best, TAPS samples long."""
    size = 1 << int(np.ceil(np.log2(2 * len(heard))))
    crossed = np.fft.irfft(np.fft.rfft(heard, size) * np.conj(np.fft.rfft(said, size)), size)
    late = max(0, int(np.argmax(np.abs(crossed[:MOST_LATE]))) - TAPS // 4)
    shifted = np.concatenate([np.zeros(late, np.float32), said])[: len(heard)]
    columns = [np.concatenate([np.zeros(k, np.float32), shifted])[: len(heard)]
               for k in range(TAPS)]  # fmt: skip
    block = np.stack(columns, axis=1).astype(np.float64)
    path = np.linalg.solve(block.T @ block + 1e-6 * np.eye(TAPS), block.T @ heard)
    return (heard - block @ path).astype(np.float32)


def through_the_room(said: Wave, chance: np.random.Generator) -> Wave:
    """Late by up to 0.2 s and with a short echo, another at each sentence."""
    late = int(chance.uniform(0, 0.9 * MOST_LATE))
    path = chance.normal(0, 1, TAPS // 2) * np.exp(-np.arange(TAPS // 2) / 6)
    path[0] = 1.0
    sound = np.convolve(said, path)[: len(said)]
    moved = np.concatenate([np.zeros(late), sound])[: len(said)].astype(np.float32)
    return at_level(moved, 20 * np.log10(speech_level(said) / PERSON))


@cache
def own(text: str) -> Wave:
    made = EspeakSynth(SpeechSettings()).speak(text, brief=True)
    return at_level(resample_sound(from_pcm(made.pcm), made.rate, RATE), 0.0)


def at_level(sound: Wave, decibels: float) -> Wave:
    wanted = PERSON * 10 ** (decibels / 20)
    return (sound * wanted / speech_level(sound)).astype(np.float32)


def into(sound: Wave, other: Wave, at: int) -> Wave:
    """With the other one over it from `at` on, as much of it as there is room for."""
    mixed = sound.copy()
    part = other[: max(0, len(sound) - at)]
    mixed[at : at + len(part)] += part
    return mixed


def line(many: int, leak: float, noise: float, folder: Path, *, taken: bool) -> list[str]:
    chance = np.random.default_rng(round(1000 - 10 * leak - noise))
    ear = SpokenOver()
    counts = {"person": [0, 0], "nobody": [0, 0], "machine": [0, 0]}
    phrases = [words for spoken in PHRASES.values() for words in spoken[:1]]
    for n in range(many):
        said = own(OWN[n % len(OWN)]) * np.float32(10 ** (leak / 20))
        at_ear = through_the_room(said, chance)
        heard = at_ear + at_level(mill(chance, len(said)), noise)
        who = "nobody" if n < 4 or n % 2 else "person"
        if who == "person":
            phrase = phrases[int(chance.integers(len(phrases)))]
            wav = speech(phrase, VOICES[n // 2 % len(VOICES)], folder)
            begins = int(chance.uniform(0, 0.5) * len(said))
            heard = into(heard, at_level(read_sound(wav), float(chance.uniform(-6, 3))), begins)
        elif n % 8 == 7:
            who = "machine"
            begins = int(chance.uniform(0.1, 0.6) * len(said))
            heard = into(heard, at_level(compressor(chance, len(said)), STARTS), begins)
        ear.feed(to_pcm(own_taken_away(heard, said) if taken else heard))
        counts[who][0] += ear.over(20 * float(np.log10(PERSON)))
        counts[who][1] += 1
    return [f"{told} of {of}" for told, of in counts.values()]


def main(many: int, *, taken: bool = False) -> None:
    print(
        "| own voice, dB | noise, dB | spoken over, told | nobody, told | a machine starts, told |"
    )
    print("|---:|---:|---:|---:|---:|")
    with tempfile.TemporaryDirectory() as folder:
        for leak, noise in LINES:
            told = " | ".join(line(many, leak, noise, Path(folder), taken=taken))
            print(f"| {leak} | {noise} | {told} |", flush=True)


if __name__ == "__main__":
    words = [word for word in sys.argv[1:] if word != "--far-end"]
    main(int(words[0]) if words else 120, taken=len(words) < len(sys.argv) - 1)
