"""The built-in ear live, on a real sound server: what is not for us makes nothing happen.

Radio, a second person, our own loudspeaker, a phrase of another step. What is heard goes
through the session's engine as at the bench; the voices are synthetic (flite, festival).
"""

from __future__ import annotations

import subprocess
import time
from collections.abc import Iterator
from pathlib import Path

import pytest

from assistant.devices.sound.streams import Sound
from assistant.engine.engine import Effect, Refuse, Say, advance, expected_commands
from assistant.engine.events import Gesture, PedalUsed, PhraseHeard, SessionStarted, TrustChanged
from assistant.engine.phases import Step
from assistant.engine.state import State
from assistant.files.settings import EarSettings, Settings
from assistant.hearing.listener import Hearing
from tests.devices.told import Told
from tests.engine.jobs import programme
from tests.whole.sound import SoundServer, speech, wait_for

pytestmark = pytest.mark.sound
pytest.importorskip("pyopen_wakeword")

NEWS = (
    "good evening, here is the news at nine", "the price of copper fell again on thursday",
    "heavy rain is expected over the hills tonight", "two trains were late this morning",
    "the council will vote on the old bridge", "and now a word about the harvest",
    "her new book comes out in the spring", "traffic is slow on the road to the coast",
)  # fmt: skip


class AtTheLock:
    """A session that asks for the spindle lock, and what became of all that was heard."""

    def __init__(self, hearing: Hearing, told: Told) -> None:
        self.told = told
        self.job = programme(3)
        self.state, _ = advance(self.job, State(), SessionStarted(0.0))
        while self.state.step is not Step.LOCK:
            self.state, _ = advance(self.job, self.state, PedalUsed(0.0, Gesture.PRESS))
        self._seen = 0
        hearing.expect(expected_commands(self.state))

    def effects(self) -> list[Effect]:
        """Of everything heard since the last call; the session stays at the lock."""
        news = self.told.so_far()[self._seen :]
        self._seen += len(news)
        return [effect for event in news for effect in advance(self.job, self.state, event)[1]]

    def heard(self) -> list[PhraseHeard]:
        """Since the last call of `effects`."""
        news = self.told.so_far()[self._seen :]
        return [event for event in news if isinstance(event, PhraseHeard)]


@pytest.fixture
def at_the_lock(
    sound: Sound, settings: Settings, told: Told, server: SoundServer
) -> Iterator[AtTheLock]:
    hearing = Hearing(
        sound, Settings(settings.file, ear=EarSettings(kind="trained")), lambda: False
    )
    hearing.start(told)
    session = AtTheLock(hearing, told)
    wait_for(lambda: _heard(server, session, "how many left"), "the ear", 30)
    session.effects()
    yield session
    hearing.close()


def _heard(server: SoundServer, session: AtTheLock, text: str) -> bool:
    server.say(text)
    time.sleep(1)
    return any(heard.accepted for heard in session.heard())


def filtered(wav: Path, *effects: str) -> Path:
    out = wav.with_name(f"{wav.stem}-{'-'.join(effects)[:40].replace(' ', '_')}.wav")
    words = [word for effect in effects for word in effect.split()]
    subprocess.run(["sox", str(wav), str(out), *words], check=True, stderr=subprocess.DEVNULL)
    return out


def test_a_phrase_of_another_step_is_answered_not_now(
    at_the_lock: AtTheLock, server: SoundServer
) -> None:
    """Heard as what it is, refused in words, and nothing has changed."""
    for _ in range(4):
        server.say("lock is off", "festival")
        server.say("lock is off", "flite:rms")
        time.sleep(1)
        effects = at_the_lock.effects()
        if effects:
            break
    assert Say("Not now. I wait for the spindle lock on.", "refusal") in effects
    assert all(isinstance(e, Refuse) or getattr(e, "purpose", "refusal") == "refusal"
               for e in effects if not hasattr(e, "tone"))  # fmt: skip


def test_a_radio_makes_nothing_happen(at_the_lock: AtTheLock, server: SoundServer) -> None:
    """A newsreader and another, through a small loudspeaker: no tone, no word, no change."""
    for n, text in enumerate(NEWS):
        voice = ("flite:awb", "festival", "flite:rms", "flite:slt")[n % 4]
        clip = filtered(speech(text, voice, server.folder), "highpass 300", "lowpass 4000")
        server.play(clip)
    time.sleep(1)
    assert at_the_lock.heard(), "the microphone heard the radio"
    assert at_the_lock.effects() == []


def test_a_second_person_makes_nothing_happen(at_the_lock: AtTheLock, server: SoundServer) -> None:
    """Talk about the very things, from near; and the phrase itself, from across the shop."""
    for text in (
        "have you got the spindle back yet", "he never keeps his guard up",
        "can you close the window please", "we locked the door last night",
    ):  # fmt: skip
        server.say(text, "flite:rms")
    time.sleep(1)
    assert at_the_lock.effects() == []
    for text in ("how many left", "what is next", "where am I"):  # the person's usual voice
        wait_for(lambda text=text: _heard(server, at_the_lock, text), text, 30)
        at_the_lock.effects()
    far = filtered(speech("spindle locked", "flite:rms", server.folder), "vol 0.1")
    for _ in range(3):
        server.play(far)
        time.sleep(1)
    taken = [heard for heard in at_the_lock.heard() if heard.accepted]
    assert taken == []


def test_a_second_person_talks_over_the_first(at_the_lock: AtTheLock, server: SoundServer) -> None:
    """The phrase under talk as loud: taken as what it is, asked for again, or not heard; never
    taken for another."""
    talk = speech("and then he told me that the whole order was for thursday", "flite:rms",
                  server.folder)  # fmt: skip
    for _ in range(4):
        other = subprocess.Popen(["paplay", "--device=mic_feed", str(talk)], env=server.env)
        time.sleep(0.4)
        server.say("spindle locked")
        other.wait()
        time.sleep(1)
    wrong = [h for h in at_the_lock.heard() if h.accepted and h.heard != "spindle locked"]
    assert wrong == []


def test_a_mill_that_drowns_the_voice_is_told_and_so_is_its_end(
    at_the_lock: AtTheLock, server: SoundServer
) -> None:
    """The usual voice is known; the noise rises to it, then stops: one event each, in words."""
    for text in ("how many left", "what is next", "where am I"):
        wait_for(lambda text=text: _heard(server, at_the_lock, text), text, 30)
    at_the_lock.effects()
    noise = server.folder / "mill.wav"
    subprocess.run(
        ["sox", "-n", "-r", "16000", "-c", "1", str(noise), "synth", "60", "brownnoise",
         "gain", "-n", "-3"], check=True,
    )  # fmt: skip
    mill = subprocess.Popen(["paplay", "--device=mic_feed", str(noise)], env=server.env)
    try:
        change = at_the_lock.told.wait(TrustChanged)
        assert not change.trusted and change.snr < 3
    finally:
        mill.kill()
        mill.wait()
    change = at_the_lock.told.wait(TrustChanged)
    assert change.trusted and change.snr > 7
