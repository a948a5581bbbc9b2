"""The voice of the set-up itself: speaks its questions with the settings as they are by now."""

from __future__ import annotations

import queue
import time
from typing import TYPE_CHECKING

from assistant.devices.sound.streams import NoSoundError, Sound
from assistant.devices.speech.synth import choose_synth
from assistant.engine.events import DeviceLost, Event, SpeechFailed
from assistant.files.settings import Settings, SoundSettings, SpeechSettings

if TYPE_CHECKING:
    from assistant.devices.speech.announcer import VoiceAnnouncer

SENTENCE_S = 20.0


class Voice:
    """Speech that may be missing: `why` says the reason, with the cure, and nothing raises.

    `sound` is None where the machine has no sound at all.
    """

    def __init__(self, settings: Settings, *, silent: bool) -> None:
        self.why = ""
        self.sound: Sound | None = None
        self._silent = silent
        self._told: queue.SimpleQueue[Event] = queue.SimpleQueue()
        self._announcer: VoiceAnnouncer | None = None
        self._now: tuple[SpeechSettings, SoundSettings] | None = None
        if silent:
            self.why = "speech was switched off for this set-up"
            return
        try:
            self.sound = Sound()
        except NoSoundError as error:
            self.why = str(error)
            return
        self.renew(settings)

    def renew(self, settings: Settings) -> None:
        """Speak with these settings from now on."""
        wanted = (settings.speech, settings.sound)
        if wanted == self._now:
            return
        self.wait()
        self._now = wanted
        self._close_announcer()
        self._told = queue.SimpleQueue()
        if self.sound is None:
            return
        if settings.speech.engine == "none":
            self.why = "speech is off in the settings; set [speech] engine to auto"
            return
        synth = choose_synth(settings.speech)
        if synth is None:
            self.why = "no speech engine; install espeak-ng (Debian: apt install espeak-ng)"
            return
        from assistant.devices.speech.announcer import VoiceAnnouncer

        self.why = ""
        self._announcer = VoiceAnnouncer(
            self.sound, synth, settings, self._told.put, lambda tone: None
        )

    def say(self, text: str) -> None:
        """Says it, where there is a voice; it does not wait."""
        if self._announcer is not None and not self._announcer.away():
            self._announcer.say(text)

    def hush(self) -> None:
        """Silence at once."""
        if self._announcer is not None:
            self._announcer.hush()

    def wait(self) -> str:
        """Until it is silent; why the last sentence was not heard, or nothing."""
        if self._announcer is None:
            return self.why
        end = time.monotonic() + SENTENCE_S
        while self._announcer.busy() and self._told.empty() and time.monotonic() < end:
            time.sleep(0.02)
        while not self._told.empty():
            match self._told.get():
                case DeviceLost(why=why) | SpeechFailed(why=why):
                    return why
        return ""

    def busy(self) -> bool:
        """Something is being said, or waits to be."""
        return self._announcer is not None and self._announcer.busy()

    def close(self) -> None:
        """Lets voice and sound go."""
        self._close_announcer()
        if self.sound is not None:
            self.sound.close()

    def _close_announcer(self) -> None:
        if self._announcer is not None:
            self._announcer.close()
            self._announcer = None
