"""Records one utterance from the microphone: the next thing that is said."""

from __future__ import annotations

import time
from collections.abc import Callable

from assistant.devices.availability import Availability
from assistant.devices.sound.microphone import Microphone
from assistant.devices.sound.streams import Sound
from assistant.engine.events import Device, DeviceLost, Event
from assistant.errors import Unusable
from assistant.files.settings import Settings
from assistant.hearing.endpointing import Detector, Ending, silero
from assistant.hearing.person.voice_doors import WIDE


class NoMicrophoneError(Unusable):
    """There is nothing to record from; one line with the cure."""


class Recorder:
    """Holds the microphone open; deaf while `own_voice()` holds."""

    def __init__(self, settings: Settings, sound: Sound, own_voice: Callable[[], bool]) -> None:
        self._lost: list[str] = []
        availability = Availability(Device.MICROPHONE, self._note)
        self._microphone = Microphone(sound, settings.sound.microphone, availability, own_voice)

    def _note(self, event: Event) -> None:
        if isinstance(event, DeviceLost):
            self._lost.append(event.why)

    def utterance(self, wait_s: float) -> bytes | None:
        """16 kHz PCM of the next utterance, with its run-up and trail; None when nothing was
        said in so many seconds. Raises NoMicrophoneError when the microphone is away."""
        detector = Detector(silero(), WIDE)
        end = time.monotonic() + wait_s
        while time.monotonic() < end or detector.speaking():
            if self._lost:
                raise NoMicrophoneError(self._lost[-1], "see tallyhand doctor")
            block = self._microphone.read(0.2)
            if block == b"":
                detector.reset()  # our own voice
            for segment in detector.feed(block or b""):
                if segment.kind is Ending.WHOLE:
                    return segment.pcm
        return None

    def close(self) -> None:
        """Free the microphone."""
        self._microphone.close()
