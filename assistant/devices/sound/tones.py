"""The three short tones, unlike each other in pitch, in direction and in rhythm.

Accepted: two notes, rising. Refused: one low note, harsh. Attention: three high pips.
Told apart also by an ear that hears no high notes, and through a mono loudspeaker.
"""

from __future__ import annotations

import array
import math
from dataclasses import dataclass
from functools import lru_cache

from assistant.devices.sound.samples import as_bytes
from assistant.engine.events import Tone

EDGE_S = 0.005
"""Each note swells and fades this long, or the loudspeaker clicks."""


@dataclass(frozen=True, slots=True)
class Note:
    """Frequency in hertz (0 is a pause), seconds, and how much of the third harmonic."""

    hertz: float
    seconds: float
    harsh: float = 0.0


SCORES: dict[Tone, tuple[Note, ...]] = {
    Tone.ACCEPTED: (Note(620, 0.06), Note(0, 0.02), Note(930, 0.08)),
    Tone.REFUSED: (Note(210, 0.32, 0.5),),
    Tone.ATTENTION: (
        Note(1400, 0.07),
        Note(0, 0.07),
        Note(1400, 0.07),
        Note(0, 0.07),
        Note(1400, 0.07),
    ),
}


TICK = Note(1250, 0.03)
"""The foot was felt: what it meant is told by what follows."""


OPENS = (Note(0, 0.05), Note(520, 0.07))
"""The ear opens: a breath after the last word, soft, so that it is no answer to anything."""
SOFTLY = 0.35


@lru_cache(maxsize=4)
def opens_samples(rate: int, loudness: int = 100) -> bytes:
    """What tells that the ear opens, as mono 16 bit PCM; loudness in percent."""
    numbers = array.array("h")
    for note in OPENS:
        numbers.extend(_note(note, rate, SOFTLY * _volume(loudness)))
    return as_bytes(numbers)


@lru_cache(maxsize=4)
def tick_samples(rate: int, loudness: int = 100) -> bytes:
    """The tick as mono 16 bit PCM; loudness in percent."""
    return as_bytes(array.array("h", _note(TICK, rate, _volume(loudness))))


@lru_cache(maxsize=16)
def tone_samples(tone: Tone, rate: int, loudness: int = 100) -> bytes:
    """The tone as mono 16 bit PCM; loudness in percent."""
    numbers = array.array("h")
    for note in SCORES[tone]:
        numbers.extend(_note(note, rate, _volume(loudness)))
    return as_bytes(numbers)


def _volume(loudness: int) -> float:
    return 0.45 * min(loudness, 200) / 100


def _note(note: Note, rate: int, volume: float) -> list[int]:
    count = round(note.seconds * rate)
    if not note.hertz:
        return [0] * count
    turn = 2 * math.pi * note.hertz / rate
    peak = 32767 * volume / (1 + note.harsh)
    edge = EDGE_S * rate
    return [
        round(
            peak
            * min(1.0, i / edge, (count - i) / edge)
            * (math.sin(turn * i) + note.harsh * math.sin(3 * turn * i))
        )
        for i in range(count)
    ]
