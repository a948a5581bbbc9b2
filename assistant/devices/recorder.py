"""Records one utterance from the microphone: the next thing that is said."""

from __future__ import annotations

import time

from assistant.devices.detector import Detector, Kind, silero
from assistant.devices.microphone import Microphone
from assistant.devices.presence import Presence
from assistant.devices.sound import Sound
from assistant.events import Device, DeviceLost, Event
from assistant.settings import Settings


class NoMicrophoneError(Exception):
    """There is nothing to record from; one line with the cure."""


class Recorder:
    """Holds the microphone open. Raises NoSoundError where there is no sound at all."""

    def __init__(self, settings: Settings) -> None:
        self._lost: list[str] = []
        self._sound = Sound()
        presence = Presence(Device.MICROPHONE, self._note)
        name = settings.sound.microphone
        self._microphone = Microphone(self._sound, name, presence, lambda: False)

    def _note(self, event: Event) -> None:
        if isinstance(event, DeviceLost):
            self._lost.append(event.why)

    def utterance(self, wait_s: float) -> bytes | None:
        """16 kHz PCM of the next utterance, with its run-up and trail; None when nothing was
        said in time. Raises NoMicrophoneError when the microphone is away."""
        detector = Detector(silero())
        end = time.monotonic() + wait_s
        while time.monotonic() < end or detector.speaking():
            if self._lost:
                raise NoMicrophoneError(f"{self._lost[-1]}; see tallyhand doctor")
            for segment in detector.feed(self._microphone.read(0.2) or b""):
                if segment.kind is Kind.WHOLE:
                    return segment.pcm
        return None

    def close(self) -> None:
        """Free the microphone."""
        self._microphone.close()
        self._sound.close()
