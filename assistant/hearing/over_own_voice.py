"""What is said while the program speaks, where a headset keeps the two apart.

Our own voice must confirm nothing, so that a phrase over it counts only where it can't be ours: it
stands well over all that our sentences left at the microphone, it is as loud as this person is,
its sound is not that of the samples we played, and its words are not those that we were saying.
Until the first two are known, and where they do not hold, the ear is shut as it is without a
headset.
"""

from __future__ import annotations

import threading
from collections import deque
from collections.abc import Callable
from dataclasses import replace
from statistics import median

import numpy as np

from assistant.devices.sound.loudness import SILENCE, level
from assistant.devices.sound.samples import mono
from assistant.devices.sound.streams import LATENCY_S, Format
from assistant.engine.phrases import LOCK_AND_GUARD
from assistant.hearing.judging import Heard, Hearer
from assistant.hearing.levels import FAINT, NoiseMeter
from assistant.hearing.waves import RATE, Wave, from_pcm, resample_sound, to_pcm

STANDS_OUT = 12.0
"""Decibels of the person's usual voice over our own at the microphone, or it is no headset."""
OVER_OWN, OVER_OWN_ALL = 6.0, 9.0
"""Decibels over it, for a fiftieth of a second and for a whole utterance: what is less may
be ours."""
VOICES, SENTENCES, KEPT = 3, 3, 5
"""So many phrases were taken in silence, and so many sentences said with nobody over them."""
LEAST_BLOCKS = 100
"""Two seconds: of a shorter sentence the silence behind it is too much."""
LOUD_OVER_USUAL = 9.0
"""From what three in five of its fiftieths of a second stay under to what 95 of 100 do, dB, of our
own voice by itself (measured 9 to 11). By the former a person over a part of it says little."""
ALIKE = 0.37
"""Of 1, the correlation with what we played; other voices had less (docs/pace.md)."""
AHEAD, HOLD = 8, 15
"""Blocks of 20 ms that are passed on before and behind one that stands out."""
GAP_S = 0.1
LATE_S = 0.6
"""Loudspeaker, air and microphone together are not later than this."""
OURS = "it may have been my own voice"


class FarEnd:
    """The samples that went to the loudspeaker in the last seconds. Fed in PortAudio's thread."""

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._pieces: deque[tuple[float, bytes, Format]] = deque(maxlen=1000)

    def take(self, pcm: bytes, played: Format, now: float) -> None:
        """Handed to the device at `now` (time.monotonic())."""
        with self._lock:
            self._pieces.append((now + LATENCY_S, pcm, played))

    def between(self, begins: float, ends: float) -> Wave:
        """What sounded between two times (time.monotonic()), 16 kHz."""
        with self._lock:
            pieces = [each for each in self._pieces if begins - 1 < each[0] < ends]
        if not pieces or ends <= begins:
            return np.zeros(max(0, round((ends - begins) * RATE)), np.float32)
        rate = pieces[-1][2].rate
        found = np.zeros(round((ends - begins) * rate), np.float32)
        after: int | None = None
        for at, pcm, played in pieces:
            sound, begin = from_pcm(mono(pcm, played.channels)), round((at - begins) * rate)
            if after is not None and begin - after < GAP_S * rate:
                begin = after  # the device calls early and late, and plays without a gap
            after = begin + len(sound)
            part = sound[max(0, -begin) : max(0, len(found) - begin)]
            found[max(0, begin) : max(0, begin) + len(part)] = part
        return resample_sound(found, rate, RATE)


class OverOwnVoice:
    """Holds the ear open over our own voice. One thread's; `saying` is what is being said."""

    def __init__(self, far: FarEnd, saying: Callable[[], list[str]]) -> None:
        self._far, self._saying = far, saying
        self._own: deque[float] = deque(maxlen=KEPT)  # our sentences' levels there
        self._levels: list[float] = []  # of the sentence that is being said
        self._waiting: deque[tuple[bytes, bool]] = deque()
        self._since_loud = HOLD
        self._meter = NoiseMeter()  # of the shop alone, not of what we put there
        self._spoken = False  # somebody did, over this sentence
        self._just_over = False  # its level is the last of `_own`
        self._speaks = self._open = False
        self._chance = np.random.default_rng(1)
        self._last_at = 0.0

    @property
    def open(self) -> bool:
        """What is said now would be heard."""
        return self._open or not self._speaks

    @property
    def held_s(self) -> float:
        """Seconds of sound that are held back."""
        return 0.02 * len(self._waiting)

    def through(self, block: bytes, at: float, hearer: Hearer, *, own: bool) -> bytes | None:
        """What the ear gets of a block captured at `at` (time.monotonic()), `own` where our voice
        sounded then: empty where it is shut, None where it has to wait."""
        if own and not self._speaks:
            self._open, self._just_over = self.stands_out(hearer), False
        elif self._speaks and not own:
            self._sentence_over()
        self._speaks, self._last_at = own, at
        if not own:
            if not hearer.speaking:
                self._meter.feed(block)
            held = b"".join(self._next() for _ in range(len(self._waiting)))
            return held + block
        loudness = level(block)
        self._levels.append(loudness)
        if not self._open:
            return b""
        self._waiting.append((block, loudness >= self._least()))
        return self._next() if len(self._waiting) > AHEAD else None

    def too_like(self, hearer: Hearer) -> bool:
        """Both voices are known, and ours, or the shop, is too loud for the ear to stay open."""
        known = len(hearer.trust.voices) >= VOICES and len(self._own) == KEPT
        return known and not self.stands_out(hearer)

    def stands_out(self, hearer: Hearer) -> bool:
        """The person's voice is known, and ours, and they can't be taken for each other."""
        known = len(hearer.trust.voices) >= VOICES and len(self._own) >= SENTENCES
        if not known or self._meter.level is None:
            return False
        return median(hearer.trust.voices) >= self._ours() + STANDS_OUT

    def heard(self, found: Heard, hearer: Hearer) -> Heard:
        """The verdict, taken back where it may have been our own voice."""
        ends = self._last_at - self.held_s - (hearer.now_s - found.end_s)
        begins = ends - (found.end_s - found.start_s)
        over = bool(self._far.between(begins - LATE_S, ends).any())
        if not over or not found.pcm:
            return found
        usual = median(hearer.trust.voices or (SILENCE,))
        faint = found.level < max(self._ours() + OVER_OWN_ALL, usual - FAINT)
        ours = faint or self._sounds_like_ours(found, hearer)
        if not ours:
            self._somebody_spoke()
        if found.command is None or not (ours or self._said(found)):
            return found
        return replace(found, command=None, accepted=False, why=OURS)

    def _somebody_spoke(self) -> None:
        """Over this sentence or the one before: its level says nothing of our own voice."""
        if self._speaks:
            self._spoken = True
        elif self._just_over:
            self._own.pop()
        self._just_over = False

    def _ours(self) -> float:
        """The loudest of the last sentences but one, that somebody may have spoken over."""
        return sorted(self._own)[-2] if len(self._own) >= SENTENCES else 0.0

    def _least(self) -> float:
        return max(self._ours(), self._shop()) + OVER_OWN

    def _shop(self) -> float:
        return SILENCE if self._meter.level is None else self._meter.level

    def _sentence_over(self) -> None:
        self._just_over = len(self._levels) >= LEAST_BLOCKS and not self._spoken
        if self._just_over:
            usual, loud = np.percentile(self._levels, (60, 95))
            self._own.append(min(float(loud), float(usual) + LOUD_OVER_USUAL))
        self._levels, self._spoken = [], False

    def _next(self) -> bytes:
        """The oldest block as it is where somebody speaks, else noise as loud as the shop's: of
        silence the ear would learn that the shop is quiet."""
        block, loud = self._waiting.popleft()
        ahead = loud + sum(each for _, each in self._waiting)
        self._since_loud = 0 if loud and ahead > 1 else self._since_loud + 1
        if ahead > 1 or self._since_loud <= HOLD:
            return block
        loudness = 10 ** (self._shop() / 20)
        return to_pcm(self._chance.normal(0, loudness, len(block) // 2).astype(np.float32))

    def _said(self, found: Heard) -> bool:
        """Its words are among those that we say; for lock and guard one of them is enough."""
        ours = stems(" ".join(self._saying()))
        words = stems(found.text)
        return bool(words & ours) if found.command in LOCK_AND_GUARD else words <= ours

    def _sounds_like_ours(self, found: Heard, hearer: Hearer) -> bool:
        ends = self._last_at - self.held_s - (hearer.now_s - found.end_s) + 0.4
        sound = from_pcm(found.pcm)
        far = self._far.between(ends - len(sound) / RATE - LATE_S, ends)
        return likeness(sound, far) >= ALIKE


def stems(text: str) -> frozenset[str]:
    """The beginnings of its words: "locked" is said where "lock" is."""
    words = "".join(each if each.isalpha() else " " for each in text.lower()).split()
    return frozenset(word[:4] for word in words if len(word) > 2)


def likeness(sound: Wave, played: Wave) -> float:
    """The largest correlation of `sound` with `played`, wherever it begins in it, 0 to 1."""
    one, other = (_white(each) for each in (sound, played))
    size = 1 << int(np.ceil(np.log2(len(one) + len(other))))
    crossed = np.fft.irfft(np.fft.rfft(one, size) * np.conj(np.fft.rfft(other, size)), size)
    scale = float(np.sqrt(np.sum(one**2) * np.sum(other**2)))
    return float(np.max(np.abs(crossed))) / scale if scale else 0.0


def _white(sound: Wave) -> Wave:
    """Without the low tones that all voices share."""
    return np.diff(sound, prepend=np.float32(0)) if len(sound) else np.zeros(1, np.float32)
