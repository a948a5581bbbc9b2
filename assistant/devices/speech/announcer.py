"""The announcer: sentences to samples to the loudspeaker, and the tones.

A sentence that can't be spoken is told as `SpeechFailed`, so that its words reach the person
another way; a tone is always shown on the screen as well.
"""

from __future__ import annotations

import contextlib
import queue
import threading
import time
from collections.abc import Callable

from assistant.devices.availability import words_of
from assistant.devices.sound.player import End, Player, Utterance
from assistant.devices.sound.streams import LATENCY_S, Format, Sound
from assistant.devices.speech.clear_numbers import clearly
from assistant.devices.speech.synth import Spoken, Synth, SynthError
from assistant.engine.events import Device, DeviceLost, DeviceReturned, SpeechFailed, Tone
from assistant.engine.ports import Post
from assistant.files.settings import Settings

PREPARED = -1  # in the place of a generation: made ready, and not spoken
FELT_S = 2.0
"""What a press meant is told within so many seconds; no tone later than that is the pedal's."""
BOUNCES_S = 0.1
"""Contacts this close together are one foot."""


class _Sentence:
    """What was given to `say`, and when it began to sound (time.time())."""

    def __init__(self, text: str, brief: bool = False) -> None:
        self.text = text
        self.brief = brief
        self.began: float | None = None

    def begin(self) -> None:
        # The samples go out now; the device plays them when those before are through.
        self.began = time.time() + LATENCY_S


class VoiceAnnouncer:
    """Speaks through a synth and a player."""

    def __init__(
        self,
        sound: Sound,
        synth: Synth,
        settings: Settings,
        post: Post,
        show_tone: Callable[[Tone], None],
    ) -> None:
        self._post = post
        self._show_tone = show_tone
        self._synth = synth
        self._speech = settings.speech
        self._texts: queue.SimpleQueue[tuple[int, _Sentence] | None] = queue.SimpleQueue()
        self._last = _Sentence("")
        self._saying: list[str] = []
        self._lock = threading.Lock()
        self._generation = 0
        self._felt_at = float("-inf")
        self._unspoken = 0  # sentences of this generation that the player does not have yet
        self.opens: Callable[[], bool] = lambda: False  # the ear does, once nothing more is said
        speaker, loudness = settings.sound.speaker, settings.speech.loudness
        self._player = Player(sound, speaker, loudness, self._lost, self._returned, self._ear_opens)
        self._thread = threading.Thread(target=self._work, name="announcer", daemon=True)
        self._thread.start()

    def say(self, text: str, brief: bool = False) -> None:
        # Asked before our lock is taken: the player holds its own while it asks for ours.
        before = self._saying if self.busy() else self._saying[-1:]
        self._saying = [*before, text]  # the one before may still be in the room
        with self._lock:
            self._unspoken += 1
            self._last = _Sentence(text, brief)
            self._texts.put((self._generation, self._last))

    def signal(self, tone: Tone) -> None:
        felt, self._felt_at = time.monotonic() - self._felt_at < FELT_S, float("-inf")
        if not felt or tone is not Tone.ACCEPTED:
            self._player.signal(tone)
        self._show_tone(tone)

    def felt(self) -> None:
        now = time.monotonic()
        bounce, self._felt_at = now - self._felt_at < BOUNCES_S, now
        if not bounce:  # or the tick would be silenced, too
            self._fall_silent(self._player.tick)

    def hush(self) -> None:
        self._fall_silent(self._player.hush)

    def _fall_silent(self, how: Callable[[], None]) -> None:
        with self._lock:
            self._generation += 1
            pending, self._unspoken = self._unspoken, 0
        how()
        if pending:
            self._synth.cancel()

    def prepare(self, text: str, brief: bool = False) -> None:
        self._texts.put((PREPARED, _Sentence(text, brief)))

    def busy(self) -> bool:
        return self._unspoken > 0 or self._player.busy()

    def began(self) -> float | None:
        return self._last.began

    def saying(self) -> list[str]:
        """What is being said, and the sentence before it."""
        return list(self._saying)

    def listen_in(self, tap: Callable[[bytes, Format, float], None]) -> None:
        """Have the samples told as they go to the loudspeaker, in its own thread."""
        self._player.tap = tap

    def not_heard(self) -> None:
        """The soft tone of the ear, now: what was said did not count."""
        self._player.signal(None)

    def away(self) -> str:
        """Why there is no loudspeaker, or nothing."""
        return self._player.away()

    def close(self) -> None:
        self.hush()
        self._texts.put(None)
        self._thread.join(2)
        self._player.close()

    def _ear_opens(self) -> bool:
        return not self._unspoken and self.opens()

    def _work(self) -> None:
        while (item := self._texts.get()) is not None:
            generation, sentence = item
            if generation == PREPARED:
                if not self._unspoken:  # what is to be said now comes first
                    with contextlib.suppress(SynthError):
                        self._synthesise(sentence.text, sentence.brief)
            elif generation == self._generation:
                self._speak(generation, sentence)

    def _speak(self, generation: int, sentence: _Sentence) -> None:
        text = sentence.text
        try:
            spoken = self._synthesise(text, sentence.brief)
        except Exception as error:  # whatever it is: the next sentence must still be spoken
            if self._taken(generation):
                self._failed(text, words_of(error))
            return

        def ended(end: End) -> None:
            if end is End.FAILED:
                self._failed(text, self._player.away() or "the loudspeaker failed")

        utterance = Utterance(spoken.pcm, spoken.rate, ended, sentence.begin)
        self._player.play(utterance, lambda: self._taken(generation))

    def _synthesise(self, text: str, brief: bool) -> Spoken:
        words = clearly(text, self._speech.numbers, self._speech.language)
        try:
            return self._synth.speak(words, brief)
        except SynthError:
            # A hush meant for the sentence before may have hit this one.
            return self._synth.speak(words, brief)

    def _taken(self, generation: int) -> bool:
        """One sentence less is waiting; False when it was hushed meanwhile."""
        with self._lock:
            if generation != self._generation:
                return False
            self._unspoken -= 1
            return True

    def _failed(self, text: str, why: str) -> None:
        self._post(SpeechFailed(time.time(), text, why))

    def _lost(self, why: str) -> None:
        self._post(DeviceLost(time.time(), Device.SPEAKER, why))

    def _returned(self) -> None:
        self._post(DeviceReturned(time.time(), Device.SPEAKER))
