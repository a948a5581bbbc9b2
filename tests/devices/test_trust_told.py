"""What the listener tells of how well it hears: once when it changes, in words when it moves."""

from __future__ import annotations

import numpy as np

from assistant.engine.events import Command, Device, DeviceTroubled, Event, Trouble, TrustChanged
from assistant.files.settings import EarSettings
from assistant.hearing.endpointing import Detector
from assistant.hearing.judging import Hearer
from assistant.hearing.listener import _TrustTold
from assistant.hearing.recognisers.recogniser import Guess
from assistant.hearing.waves import to_pcm


class Sure:
    """An ear that is sure of one harmless phrase."""

    name, quick = "sure", True
    notes: tuple[str, ...] = ()

    def recognise(self, pcm: bytes) -> Guess:
        return Guess("say again", Command.SAY_AGAIN, 0.97)


def told(voice_db: float, noise_db: float, times: int = 4) -> tuple[list[Event], list[str]]:
    """Events and meter lines of so many utterances, fed as a microphone gives them."""
    voice = iter(([0.0] * 40 + [0.9] * 20 + [0.0] * 30) * times)
    hearer = Hearer(Sure(), Detector(lambda _: next(voice)), EarSettings())
    events: list[Event] = []
    lines: list[str] = []
    trust = _TrustTold(hearer, events.append, lines.append)
    rng = np.random.default_rng(9)
    one = np.repeat([noise_db] * 40 + [voice_db] * 20 + [noise_db] * 30, 512)
    for _ in range(times):
        pcm = to_pcm((rng.standard_normal(len(one)) * 10 ** (one / 20)).astype(np.float32))
        for at in range(0, len(pcm), 640):
            hearer.feed(pcm[at : at + 640])
            trust.tell()
    return events, lines


def test_a_clear_voice_is_shown_and_nothing_is_said() -> None:
    """Noise, how far the voice stands over it, and that it is trusted."""
    events, lines = told(-30, -55)
    assert events == []
    assert "noise -55 dB" in lines[-1] and "trusted" in lines[-1] and "25 dB over" in lines[-1]


def test_a_drowned_voice_is_told_once() -> None:
    """With the levels, for the journal."""
    events, lines = told(-33, -34)
    assert [type(event) for event in events] == [TrustChanged]
    assert isinstance(events[0], TrustChanged) and not events[0].trusted
    assert events[0].snr < 3 and "not trusted" in lines[-1]


def test_a_microphone_that_clips_is_told_once() -> None:
    """Three of the last commands at full scale."""
    events, _ = told(-3, -60, times=5)
    found = [event for event in events if isinstance(event, DeviceTroubled)]
    assert [(e.device, e.trouble) for e in found] == [(Device.MICROPHONE, Trouble.CLIPPING)]
