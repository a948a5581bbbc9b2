"""Microphone, detector and the built-in ear, on a real sound server with natural voices.

The voices are synthetic (flite's and festival's, both from recorded speech): not people.
"""

from __future__ import annotations

import subprocess
import time
from collections.abc import Callable
from pathlib import Path

import pytest

from assistant.devices.sound.samples import resample
from assistant.devices.sound.streams import Sound
from assistant.devices.sound.wavefile import read_wave
from assistant.devices.speech.announcer import VoiceAnnouncer
from assistant.devices.speech.synth import Spoken
from assistant.engine.events import (
    Command,
    Device,
    DeviceLost,
    DeviceReturned,
    PhraseHeard,
    SpeechFailed,
)
from assistant.engine.hears import Hears
from assistant.engine.phrases import PHRASES
from assistant.files.settings import EarSettings, Settings
from assistant.hearing.listener import Hearing
from assistant.hearing.over_own_voice import FarEnd, OverOwnVoice
from tests.devices.told import Told
from tests.whole.sound import SoundServer, speech, wait_for

pytestmark = pytest.mark.sound


def answers(told: Told, wanted: Callable[[PhraseHeard], bool], seconds: float) -> bool:
    """What was asked for comes within so many seconds, whatever else is told before it: on a busy
    machine verdicts on earlier phrases may still be on their way."""
    end = time.monotonic() + seconds
    while (left := end - time.monotonic()) > 0:
        try:
            if wanted(told.wait(PhraseHeard, left)):
                return True
        except AssertionError:
            return False
    return False


@pytest.fixture
def ready(hearing: Hearing, server: SoundServer, told: Told) -> Told:
    """The ear takes a moment to load: what is said before that is lost, so it is said again."""
    for _ in range(30):
        server.say("how many left")
        if answers(told, lambda heard: heard.command is Command.HOW_MANY_LEFT, 4):
            return told
    raise AssertionError("the ear never came up")


def test_phrases_are_heard_and_others_refused(ready: Told, server: SoundServer) -> None:
    """Lock and guard from three voices, said again when not taken, as a person would; a near miss
    and a sentence are refused, with a reason."""
    for voice in ("flite:slt", "flite:awb", "festival"):
        for command in (Command.LOCKED, Command.GUARDED):
            assert any(taken(server, ready, command, voice) for _ in range(5)), (voice, command)
    for text in ("the guard is open", "turn the radio down please"):
        assert any(refused(server, ready, text) for _ in range(5)), text


def refused(server: SoundServer, told: Told, text: str) -> bool:
    """Said once, and refused with a reason; never taken for lock or guard, said whole or in
    pieces."""
    before = len(told.so_far())
    server.say(text)
    found = answers(told, lambda heard: not heard.accepted and bool(heard.why), 20)
    since = [event for event in told.so_far()[before:] if isinstance(event, PhraseHeard)]
    strict = (Command.LOCKED, Command.GUARDED)
    assert not any(heard.accepted and heard.command in strict for heard in since), since
    return found


def taken(server: SoundServer, told: Told, command: Command, voice: str) -> bool:
    """Said once, and its own verdict is to take it, surely enough for lock and guard."""
    server.say(PHRASES[command][0], voice)
    return answers(
        told,
        lambda heard: heard.command is command and heard.accepted and heard.confidence >= 0.9,
        20,
    )


def test_the_microphone_is_unplugged_and_comes_back(
    ready: Told, server: SoundServer, announcer: VoiceAnnouncer
) -> None:
    """The server hands us our own loudspeaker instead: that is no microphone, so it stays lost
    until the plug is back."""
    announcer.say("One.")
    wait_for(lambda: announcer.began() is not None, "speech")
    server.unplug("mic_feed")
    try:
        assert ready.wait(DeviceLost).device is Device.MICROPHONE
        time.sleep(3)
        assert not any(isinstance(event, DeviceReturned) for event in ready.so_far())
    finally:
        server.plug_microphone()
    assert ready.wait(DeviceReturned).device is Device.MICROPHONE
    wait_for(lambda: _takes(server, ready), "hearing after the return", 30)


def _takes(server: SoundServer, told: Told) -> bool:
    before = len(told.so_far())
    server.say("spindle locked")
    time.sleep(1)
    news = told.so_far()[before:]
    return any(isinstance(e, PhraseHeard) and e.command is Command.LOCKED for e in news)


def test_a_muted_microphone_is_noticed(ready: Told, server: SoundServer) -> None:
    """It gives nothing but zeros, and says nothing else."""
    server.mute_microphone(True)
    try:
        assert "muted" in ready.wait(DeviceLost).why
    finally:
        server.mute_microphone(False)
    assert ready.wait(DeviceReturned).device is Device.MICROPHONE


def test_a_stereo_headset_at_another_rate_is_heard(
    sound: Sound, settings: Settings, server: SoundServer, told: Told
) -> None:
    """Two channels, 44100 a second, the voice on one of them only: the phrase is taken."""
    server.unplug("mic_feed")
    server.plug_headset()
    hearing = Hearing(sound, settings, lambda: False)
    hearing.start(told)
    try:
        wait_for(lambda: _takes(server, told), "the ear, through a stereo headset", 40)
    finally:
        hearing.close()
        server.unplug("mic_feed")
        server.plug_microphone()


def test_one_dead_server_takes_both_and_both_come_back(
    ready: Told, server: SoundServer, announcer: VoiceAnnouncer
) -> None:
    """Microphone and speaker share one owner: its restart brings both back."""
    announcer.say("One.")
    wait_for(lambda: announcer.began() is not None, "speech")
    server.stop()
    try:
        lost = {ready.wait(DeviceLost).device, ready.wait(DeviceLost).device}
        assert lost == {Device.MICROPHONE, Device.SPEAKER}
    finally:
        server.start()
    back = {ready.wait(DeviceReturned).device, ready.wait(DeviceReturned).device}
    assert back == lost
    announcer.say("Two.")
    wait_for(lambda: announcer.began() is not None, "speech after the return")


def test_an_ear_that_cannot_be_opened_is_told_with_the_cure(
    sound: Sound, settings: Settings, told: Told
) -> None:
    """The session goes on without it."""
    settings = Settings(settings.file, ear=EarSettings(kind="vosk", vosk_model="/nowhere/model"))
    hearing = Hearing(sound, settings, lambda: False)
    hearing.start(told)
    lost = told.wait(DeviceLost)
    assert lost.device is Device.EAR
    assert "/nowhere/model" in lost.why and "unpack" in lost.why
    hearing.close()


class NaturalVoice:
    """Speaks with a voice that our own ear understands: the hardest case for half-duplex."""

    name = "flite"

    def __init__(self, folder: Path) -> None:
        self._folder = folder

    def speak(self, text: str, brief: bool = False) -> Spoken:
        wave = read_wave(speech(text, "flite:slt", self._folder).read_bytes())
        return Spoken(resample(wave.mono16(), wave.rate, 22050), 22050)

    def cancel(self) -> None:
        pass


def _says(announcer: VoiceAnnouncer, told: Told, text: str) -> bool:
    """Whether it came out of the loudspeaker; a loudspeaker that is away is waited for."""
    before = len(told.so_far())
    wait_for(lambda: not announcer.away(), "the loudspeaker", 60)
    announcer.say(text)
    wait_for(lambda: not announcer.busy(), "silence", 60)
    time.sleep(1.2)
    return not any(isinstance(event, SpeechFailed) for event in told.so_far()[before:])


@pytest.mark.parametrize("deaf", [False, True], ids=["without", "with"])
def test_our_own_voice_is_no_command(
    deaf: bool, sound: Sound, server: SoundServer, settings: Settings, told: Told, tmp_path: Path
) -> None:
    """The loudspeaker is played straight into the microphone and says "spindle locked".
    Without half-duplex it is heard as a command; with it, nothing is heard at all."""
    loop = subprocess.check_output(
        ["pactl", "load-module", "module-loopback", "source=speaker.monitor", "sink=mic_feed",
         "latency_msec=40"], env=server.env, text=True,
    ).strip()  # fmt: skip
    synth = NaturalVoice(tmp_path)
    announcer = VoiceAnnouncer(sound, synth, settings, told, lambda tone: None)
    hearing = Hearing(sound, settings, announcer.busy if deaf else lambda: False)
    shown: list[Hears] = []
    hearing.on_hears.append(shown.append)
    hearing.start(told)
    try:
        wait_for(lambda: _takes(server, told), "hearing", 30)
        before = len(told.so_far())
        spoken = 0
        while spoken < 4:  # a machine too busy for its loudspeaker has said nothing
            spoken += _says(announcer, told, "spindle locked")
        heard = [e for e in told.so_far()[before:] if isinstance(e, PhraseHeard)]
        assert bool([e for e in heard if e.accepted]) is not deaf
        assert not (deaf and heard)
        assert (Hears.SPEAKING in shown) is deaf and shown[-1] is Hears.LISTENING
        # A person who speaks after it is heard as always.
        wait_for(lambda: _takes(server, told), "hearing after our own voice", 30)
    finally:
        hearing.close()
        announcer.close()
        subprocess.run(["pactl", "unload-module", loop], env=server.env, check=True)


def test_a_headset_hears_over_our_own_voice(
    sound: Sound, server: SoundServer, told: Told, tmp_path: Path
) -> None:
    """The loudspeaker comes faintly into the microphone, 30 dB lower. Once both voices are known a
    phrase over a sentence is taken, and of our own voice, saying the same, nothing is."""
    loop = subprocess.check_output(
        ["pactl", "load-module", "module-loopback", "source=speaker.monitor", "sink=mic_feed",
         "latency_msec=40"], env=server.env, text=True,
    ).strip()  # fmt: skip
    faintly(server, loop)
    settings = Settings(tmp_path / "tallyhand.toml", ear=EarSettings(kind="grammar", headset=True))
    announcer = VoiceAnnouncer(sound, NaturalVoice(tmp_path), settings, told, lambda tone: None)
    far = FarEnd()
    announcer.listen_in(far.take)
    over = OverOwnVoice(far, announcer.saying)
    hearing = Hearing(sound, settings, announcer.busy, over=over)
    hearing.start(told)
    try:
        for _ in range(4):
            wait_for(lambda: _takes(server, told), "hearing", 60)
        for _ in range(4):
            wait_for(lambda: _says(announcer, told, "This is only said to be known."), "speech", 60)

        def over_it() -> bool:
            announcer.say(
                "I count all of the lines on the collar, and then I count all of them again."
            )
            wait_for(lambda: announcer.began() is not None, "speech", 60)
            server.say("how many left")
            spoke_over = announcer.busy()
            taken = answers(told, lambda heard: heard.command is Command.HOW_MANY_LEFT, 4)
            wait_for(lambda: not announcer.busy(), "silence", 60)
            return taken and spoke_over

        wait_for(over_it, "a phrase over our own voice", 240)
        before = len(told.so_far())
        for phrase in ("spindle locked", "how many left", "spindle locked"):
            _says(announcer, told, phrase)
        heard = [e for e in told.so_far()[before:] if isinstance(e, PhraseHeard)]
        assert not [e for e in heard if e.command], heard
    finally:
        hearing.close()
        announcer.close()
        subprocess.run(["pactl", "unload-module", loop], env=server.env, check=True)


def faintly(server: SoundServer, loop: str) -> None:
    """The loop's own stream into the microphone, 30 dB down."""
    listed = subprocess.check_output(["pactl", "list", "sink-inputs"], env=server.env, text=True)
    stream = next(
        part for part in listed.split("Sink Input #") if f"Owner Module: {loop}\n" in part
    )
    number = stream.split()[0]
    subprocess.run(["pactl", "set-sink-input-volume", number, "-30dB"], env=server.env, check=True)
