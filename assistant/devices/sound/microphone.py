"""The microphone: blocks of 16 kHz mono samples, whatever the device gives."""

from __future__ import annotations

import queue
import time
from collections.abc import Callable
from typing import Any

from assistant.devices.availability import Availability
from assistant.devices.sound.samples import Resampler, loudest, mono
from assistant.devices.sound.streams import Format, KeptStream, Sound, StreamUse

RATE = 16000
QUEUED = 250
"""Blocks of 20 ms: five seconds, far more than an ear may fall behind."""
TAIL_S = 0.3
"""How long after our own voice the room and the buffers still hold it."""
ZEROS_S = 5.0
"""A live microphone is never quite silent: only zeros for this long, and it is muted."""


class Microphone:
    """Blocks for one reader, who calls `read` again and again. With `over_own` also those that
    have our own voice in them; `own` says that the last one may, `at` when it was captured."""

    def __init__(
        self, sound: Sound, name: str, availability: Availability, own_voice: Callable[[], bool],
        *, over_own: bool = False,
    ) -> None:  # fmt: skip
        self._blocks: queue.Queue[tuple[bytes, bool, float]] = queue.Queue(QUEUED)
        self._over_own = over_own
        self.own, self.at = False, 0.0
        self._availability = availability
        self._own_voice = own_voice
        self._deaf_until = 0.0
        self._open = False
        self._format = Format(RATE, 1)
        self._resampler = Resampler(RATE, RATE)
        self._last_sound: float | None = None
        self._mute = False
        self._sound = sound
        use = StreamUse(self._take, self._opened, self._lost, availability.back, lambda: True)
        self._line = KeptStream(False, name, RATE, use)
        sound.keep_open(self._line)

    def read(self, seconds: float) -> bytes | None:
        """The next block, empty when it must not be listened to; None when none came within so
        many seconds."""
        try:
            data, self.own, self.at = self._blocks.get(timeout=seconds)
        except queue.Empty:
            return None
        self._notice_zeros(data)
        deaf = self.own and not self._over_own
        return b"" if deaf else self._resampler.feed(mono(data, self._format.channels))

    def close(self) -> None:
        """Lets the line go; no block comes after it."""
        self._sound.let_go(self._line)

    def _take(self, buffer: Any) -> None:
        # Asked now, not when the block is read: by then the voice may be over.
        now = time.monotonic()
        if self._own_voice():
            self._deaf_until = now + TAIL_S
        block = (bytes(buffer), now < self._deaf_until, now)
        try:
            self._blocks.put_nowait(block)
        except queue.Full:
            return  # the reader is stuck: the newest is lost, the session is not

    def _opened(self, format_: Format) -> None:
        self._format = format_
        self._resampler = Resampler(format_.rate, RATE)
        self._last_sound = None

    def _lost(self, why: str) -> None:
        self._last_sound = None
        self._mute = False
        self._availability.lost(why)

    def _notice_zeros(self, data: bytes) -> None:
        now = time.monotonic()
        if loudest(data) or self._last_sound is None:
            self._last_sound = now
            # Only what was lost for its silence returns with a sound.
            if self._mute and loudest(data):
                self._mute = False
                self._availability.back()
        elif now - self._last_sound > ZEROS_S and not self._mute:
            self._mute = True
            self._availability.lost("it gives only silence: is it muted, or switched off?")
