"""How readily the voice detector must take this person's sounds for voice.

Some voices, whispers most of all, are hardly a voice to the detector: it cuts their phrases in
pieces or finds none. How far its doors must be opened is chosen on the person's own recordings.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from assistant.hearing.endpointing import CHUNK, USUAL, Detector, Doors, Ending, Segment, silero
from assistant.hearing.training.noises import pink
from assistant.hearing.waves import RATE, Wave, mix, to_pcm

WIDER = (USUAL, Doors(0.25, 0.2), Doors(0.15, 0.1), Doors(0.1, 0.06))
"""The strictest first."""

WIDE, WIDEST = WIDER[-2], WIDER[-1]
WORTH = 0.02
"""Wider doors let more of the shop in: they must find so many more of the recordings."""

_QUIET_DB = 50.0  # a still shop: without any noise there is no floor to measure
_LEAD_S, _TAIL_S = 0.75, 0.65
_LATE_S, _OVER_S = 0.35, 0.35


def heard_as(pcm: bytes) -> list[float]:
    """The probability of voice in each chunk."""
    voice = silero()
    whole = len(pcm) // (2 * CHUNK)
    return [voice(pcm[2 * CHUNK * n : 2 * CHUNK * (n + 1)]) for n in range(whole)]


def utterance(voice: Sequence[float], pcm: bytes, doors: Doors) -> Segment | None:
    """The longest whole utterance; `voice`: how sure of one, 0 to 1, it was each chunk."""
    told = iter(voice)
    found = Detector(lambda _: next(told), doors).feed(pcm)
    whole = [each for each in found if each.kind is Ending.WHOLE]
    return max(whole, key=lambda each: each.end_s - each.start_s, default=None)


def doors_for(recordings: Sequence[Wave], seed: int = 5) -> Doors:
    """The strictest doors that find these recordings, spoken parts alone, nearly as often as any;
    the usual ones where there are none."""
    rng = np.random.default_rng(seed)
    tried = [_tried(rng, sound) for sound in recordings]
    shares = [sum(each[n] for each in tried) / max(len(tried), 1) for n in range(len(WIDER))]
    enough = max(shares) - WORTH
    return next(doors for doors, share in zip(WIDER, shares, strict=True) if share >= enough)


def _tried(rng: np.random.Generator, sound: Wave) -> list[bool]:
    """For each of the doors, whether the whole of an utterance comes in."""
    padded = np.pad(sound, (int(_LEAD_S * RATE), int(_TAIL_S * RATE)))
    pcm = to_pcm(mix(padded, pink(rng, len(padded)), _QUIET_DB))
    voice = heard_as(pcm)
    end = _LEAD_S + len(sound) / RATE
    return [_whole(utterance(voice, pcm, doors), _LEAD_S, end) for doors in WIDER]


def _whole(found: Segment | None, first: float, last: float) -> bool:
    return found is not None and found.start_s <= first + _LATE_S and found.end_s >= last - _OVER_S
