"""Plays samples through one output stream that stays open.

Every utterance ends spoken, interrupted or failed. `hush` may come from any thread, the
pedal's above all: it only changes what the next callback finds, and asks the owner of the
stream to throw away what was already handed to the device.
"""

from __future__ import annotations

import threading
import time
from collections import deque
from collections.abc import Callable
from dataclasses import dataclass
from enum import StrEnum
from functools import partial
from typing import Any

from assistant.devices.sound.samples import resample, spread_channels
from assistant.devices.sound.streams import LATENCY_S, Format, KeptStream, Sound, StreamUse
from assistant.devices.sound.tones import opens_samples, tick_samples, tone_samples
from assistant.engine.events import Tone

RATE = 22050


class End(StrEnum):
    """How an utterance ended."""

    SPOKEN = "spoken"
    INTERRUPTED = "interrupted"
    FAILED = "failed"


@dataclass(eq=False)
class Utterance:
    """Samples to play: mono 16 bit PCM. `ended` is told once, in any thread, how it ended;
    `began` before that, if ever, when its first samples went out."""

    pcm: bytes
    rate: int
    ended: Callable[[End], None]
    began: Callable[[], None] = lambda: None
    ready: bytes = b""
    at: int = 0


class Player:
    """Utterances one after the other; tones before them, at once.

    `lost` and `returned` are called when the loudspeaker goes and comes. `opens` is asked at the
    end of the last utterance, in any thread: whether the soft tone of the ear follows. `tap` is
    given what goes to the device, and when.
    """

    def __init__(
        self,
        sound: Sound,
        name: str,
        loudness: int,
        lost: Callable[[str], None],
        returned: Callable[[], None],
        opens: Callable[[], bool] = lambda: False,
    ) -> None:
        self._lock = threading.Lock()
        self._loudness = loudness
        self._lost, self._returned = lost, returned
        self._opens = opens
        self.tap: Callable[[bytes, Format, float], None] = lambda pcm, format_, now: None
        self._tones: deque[Tone | None] = deque(maxlen=4)  # None: the soft one of the ear
        self._tone: memoryview = memoryview(b"")
        self._waiting: deque[Utterance] = deque()
        self._format: Format | None = None
        self._away = ""
        self._sounding_until = 0.0
        self._sound = sound
        use = StreamUse(self._fill, self._opened, self._gone, self._back, self._idle)
        self._line = KeptStream(True, name, RATE, use)
        sound.keep_open(self._line)

    def play(self, utterance: Utterance, wanted: Callable[[], bool] = lambda: True) -> None:
        """Queue it, unless it is no longer `wanted`; fails at once without a loudspeaker."""
        self._fit(utterance)
        with self._lock:
            away = self._away
            end = End.FAILED if wanted() else End.INTERRUPTED
            if end is End.FAILED and not away:
                self._soon()
                self._waiting.append(utterance)
                return
        utterance.ended(end)

    def tick(self) -> None:
        """Silence at once but for one tick; everything queued ends as interrupted."""
        with self._lock:
            dropped = self._drop_all()
            if not self._away and self._format:
                samples = tick_samples(self._format.rate, self._loudness)
                self._tone = memoryview(spread_channels(samples, self._format.channels))
            self._sounding_until = 0.0
            self._sound.drop_buffered(self._line)
        for utterance in dropped:
            utterance.ended(End.INTERRUPTED)

    def signal(self, tone: Tone | None) -> None:
        """Play a tone now, None for the soft one of the ear; what is being spoken goes on after
        it."""
        with self._lock:
            if not self._away:
                self._soon()
                self._tones.append(tone)

    def hush(self) -> None:
        """Silence at once; everything queued ends as interrupted."""
        with self._lock:
            dropped = self._drop_all()
            sounding = time.monotonic() < self._sounding_until
            self._sounding_until = 0.0
        if sounding:
            self._sound.drop_buffered(self._line)
        for utterance in dropped:
            utterance.ended(End.INTERRUPTED)

    def busy(self) -> bool:
        """Something is sounding or queued, what the device still holds included."""
        return not self._idle()

    def away(self) -> str:
        """Why there is no loudspeaker, or nothing."""
        return self._away

    def close(self) -> None:
        """Silence at once, and the line is let go."""
        self.hush()
        self._sound.let_go(self._line)

    def _idle(self) -> bool:
        with self._lock:
            queued = self._waiting or self._tones or self._tone
            return not queued and time.monotonic() >= self._sounding_until

    def _soon(self) -> None:
        """What comes now need not wait until the silence is through that the device holds."""
        queued = self._waiting or self._tones or self._tone
        if not queued and time.monotonic() >= self._sounding_until:
            self._sound.drop_buffered(self._line)

    def _drop_all(self) -> list[Utterance]:
        dropped = list(self._waiting)
        self._waiting.clear()
        self._tones.clear()
        self._tone = memoryview(b"")
        return dropped

    def _fit(self, utterance: Utterance) -> None:
        """Bring an utterance to the stream's format; before the stream is open, nothing yet."""
        if self._format is not None and not utterance.ready:
            at_rate = resample(utterance.pcm, utterance.rate, self._format.rate)
            utterance.ready = spread_channels(at_rate, self._format.channels)

    # What follows runs in PortAudio's thread or the owner's.

    def _fill(self, out: Any) -> None:
        buffer = memoryview(out).cast("B")
        finished: list[Utterance] = []
        with self._lock:
            # What is handed over before the buffer is dropped would go with it.
            filled = 0 if self._line.dropping() else self._take(buffer, finished)
            if filled:
                self._sounding_until = time.monotonic() + LATENCY_S + 0.02
            if filled and self._format:
                self.tap(bytes(buffer[:filled]), self._format, time.monotonic())
        buffer[filled:] = bytes(len(buffer) - filled)
        for utterance in finished:
            utterance.ended(End.SPOKEN)

    def _take(self, buffer: memoryview, finished: list[Utterance]) -> int:
        filled = 0
        while filled < len(buffer):
            source = self._next_piece()
            if not source:
                break
            count = min(len(source), len(buffer) - filled)
            buffer[filled : filled + count] = source[:count]
            filled += count
            self._advance(count, finished)
        return filled

    def _next_piece(self) -> memoryview:
        if not self._tone and self._tones and self._format:
            tone, rate = self._tones.popleft(), self._format.rate
            make = partial(tone_samples, tone) if tone else opens_samples
            samples = make(rate, self._loudness)
            self._tone = memoryview(spread_channels(samples, self._format.channels))
        if self._tone:
            return self._tone
        if not self._waiting:
            return memoryview(b"")
        first = self._waiting[0]
        self._fit(first)
        return memoryview(first.ready)[first.at :]

    def _advance(self, count: int, finished: list[Utterance]) -> None:
        if self._tone:
            self._tone = self._tone[count:]
            return
        first = self._waiting[0]
        if first.at == 0:
            first.began()
        first.at += count
        if first.at >= len(first.ready):
            finished.append(self._waiting.popleft())
            if not self._waiting and self._format and self._opens():
                # At once: between the two the ear would open, and hear it.
                samples = opens_samples(self._format.rate, self._loudness)
                self._tone = memoryview(spread_channels(samples, self._format.channels))

    def _opened(self, format_: Format) -> None:
        with self._lock:
            if format_ != self._format:
                for utterance in self._waiting:
                    utterance.ready, utterance.at = b"", 0
            self._format = format_
            for utterance in self._waiting:
                self._fit(utterance)

    def _gone(self, why: str) -> None:
        with self._lock:
            self._away = why
            dropped = self._drop_all()
            self._sounding_until = 0.0
        self._lost(why)
        for utterance in dropped:
            utterance.ended(End.FAILED)

    def _back(self) -> None:
        self._away = ""
        self._returned()
