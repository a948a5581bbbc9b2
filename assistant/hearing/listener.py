"""The listener for the voice: microphone and ear, each of which may go and come back."""

from __future__ import annotations

import threading
import time
from collections.abc import Callable

from assistant.devices.availability import Availability, words_of
from assistant.devices.sound.microphone import Microphone
from assistant.devices.sound.streams import Sound
from assistant.engine.events import (
    Command,
    Device,
    DeviceTroubled,
    PhraseHeard,
    Trouble,
    TrustChanged,
)
from assistant.engine.hears import Hears
from assistant.engine.ports import Post
from assistant.files.settings import Settings
from assistant.hearing.judging import Heard, Hearer
from assistant.hearing.levels import meter
from assistant.hearing.opening import open_hearer
from assistant.hearing.opening_tone import OpeningTone
from assistant.hearing.over_own_voice import OURS, OverOwnVoice
from assistant.hearing.recognisers.recogniser import EarUnusable
from assistant.hearing.spoken_sizes import ABOUT_FIGURES, SpokenSizes
from assistant.words.language import speaking

RETRY_S = 10.0


class Hearing:
    """Posts every utterance as `PhraseHeard`, those it refuses too, with the reason.

    It is deaf while `own_voice()` holds and a little longer: our own voice is no command. `over`
    holds it open even then, where a headset is.
    """

    def __init__(
        self, sound: Sound, settings: Settings, own_voice: Callable[[], bool],
        sizes: SpokenSizes | None = None, over: OverOwnVoice | None = None,
    ) -> None:  # fmt: skip
        self._sound = sound
        self._settings = settings
        self._own_voice = own_voice
        self.on_block: Callable[[bytes], None] = lambda block: None  # for a display of the level
        self.on_meter: list[Callable[[str], None]] = []  # told the noise and the voice, in words
        self.on_hears: list[Callable[[Hears], None]] = []  # told at each change
        self._present: tuple[Availability, ...] = ()  # microphone and ear, once they are opened
        self._opening_tone = OpeningTone()
        self._hears: Hears | None = None
        self._sizes = sizes or SpokenSizes()
        self._over = over
        self._told_overheard = False
        self.not_heard: Callable[[], None] = lambda: None  # told of what can't count, at once
        self._expected: frozenset[Command] | None = None
        self._closing = threading.Event()
        self._thread: threading.Thread | None = None

    def start(self, post: Post) -> None:
        self._thread = threading.Thread(target=self._work, args=(post,), name="ear", daemon=True)
        self._thread.start()

    def expect(self, commands: frozenset[Command]) -> None:
        """Every phrase is listened for at all times, those that make no sense now must be
        surer; numbers only while a size is wanted."""
        self._expected = commands
        self._sizes.wanted = bool(commands & ABOUT_FIGURES)

    def opens(self) -> bool:
        """Asked when all has been said, in any thread: whether a soft tone tells that the ear
        opens."""
        here = self._hears is not None and not any(each.away for each in self._present)
        was_shut = self._over is None or not self._over.open
        return here and was_shut and self._opening_tone.due()

    def close(self) -> None:
        self._closing.set()
        if self._thread is not None:
            self._thread.join(2)

    def _work(self, post: Post) -> None:
        with speaking(self._settings.speech.language):
            self._hear(post)

    def _hear(self, post: Post) -> None:
        ear, here = Availability(Device.EAR, post), Availability(Device.MICROPHONE, post)
        self._present = (ear, here)
        name = self._settings.sound.microphone
        over = self._over is not None
        microphone = Microphone(self._sound, name, here, self._own_voice, over_own=over)
        while not self._closing.is_set():
            try:
                hearer = open_hearer(self._settings.ear)
                ear.back()
                if hearer.notes:
                    post(DeviceTroubled(time.time(), Device.EAR, Trouble.SHORT_OF_WORDS))
                self._listen(hearer, microphone, post)
            except EarUnusable as error:
                ear.lost(str(error))
                self._wait(microphone)
            except Exception as error:  # a recogniser that breaks is an ear that is away
                ear.lost(f"it has failed ({words_of(error)})")
                self._wait(microphone)
        microphone.close()

    def _listen(self, hearer: Hearer, microphone: Microphone, post: Post) -> None:
        trust = _TrustTold(hearer, post, self._show_meter)
        while not self._closing.is_set():
            block = microphone.read(0.2)
            if block and self._over:
                block = self._over.through(block, microphone.at, hearer, own=microphone.own)
                self._tell_overheard(self._over, hearer, post)
                if block is None:
                    self._show_hears(Hears.LISTENING)
                    continue
            if block is not None:
                self._show_hears(Hears.LISTENING if block else Hears.SPEAKING)
            if not block:
                hearer.reset()
                continue
            self.on_block(block)
            hearer.expected = self._expected
            found = hearer.feed(block)
            trust.tell()  # before what was heard in it
            for heard in found:
                self._tell(heard, hearer, post)
            if (size := self._sizes.over(hearer.now_s, speaking=hearer.speaking)) is not None:
                post(size)

    def _tell_overheard(self, over: OverOwnVoice, hearer: Hearer, post: Post) -> None:
        """Once in a session: the page shows it all the time."""
        if not self._told_overheard and over.too_like(hearer):
            self._told_overheard = True
            post(DeviceTroubled(time.time(), Device.MICROPHONE, Trouble.OVERHEARD))

    def _tell(self, heard: Heard, hearer: Hearer, post: Post) -> None:
        held_s = 0.0
        if self._over:
            heard, held_s = self._over.heard(heard, hearer), self._over.held_s
            if heard.why == OURS:
                self.not_heard()
        if heard.accepted:
            self._opening_tone.heard()
        if not self._sizes.hear(heard):
            post(fact(heard, hearer.now_s - heard.start_s + held_s))

    def _show_hears(self, hears: Hears) -> None:
        if hears is not self._hears:
            self._hears = hears
            for show in self.on_hears:
                show(hears)

    def _show_meter(self, words: str) -> None:
        for show in self.on_meter:
            show(words)

    def _wait(self, microphone: Microphone) -> None:
        """Keep the microphone emptied, so that it is still watched, until the next try."""
        end = time.monotonic() + RETRY_S
        while time.monotonic() < end and not self._closing.is_set():
            microphone.read(0.2)


class _TrustTold:
    """Tells the session when the ear is not to be trusted any more, and when it is again; shows
    the level of noise and voice as it changes."""

    def __init__(self, hearer: Hearer, post: Post, show: Callable[[str], None]) -> None:
        self._hearer, self._post, self._show = hearer, post, show
        self._too_loud = self._clipping = False
        self._shown = ""

    def tell(self) -> None:
        trust, noise = self._hearer.trust, self._hearer.noise
        if trust.too_loud is not self._too_loud:
            self._too_loud = trust.too_loud
            levels = (round(trust.noise or 0.0, 1), round(trust.margin or 0.0, 1))
            self._post(TrustChanged(time.time(), not trust.too_loud, *levels))
        if self._hearer.clipping is not self._clipping:
            self._clipping = self._hearer.clipping
            if self._clipping:
                self._post(DeviceTroubled(time.time(), Device.MICROPHONE, Trouble.CLIPPING))
        words = meter(noise, trust.margin, trusted=not trust.too_loud)
        if words != self._shown:
            self._shown = words
            self._show(words)


def fact(heard: Heard, ago: float) -> PhraseHeard:
    """A verdict as what the session is told; the voice began `ago` seconds before."""
    now = time.time()
    return PhraseHeard(
        now, heard.text, heard.command, heard.confidence, heard.accepted, heard.why,
        began_at=now - ago,
    )  # fmt: skip
