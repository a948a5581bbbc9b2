"""The announcer on a real sound server: what it plays is recorded and written down again."""

from __future__ import annotations

import itertools
import math
import re
import struct
import subprocess
import threading
import time
from collections import Counter
from pathlib import Path

import pytest

from assistant.devices.sound.samples import as_array
from assistant.devices.sound.streams import Sound
from assistant.devices.sound.tones import SCORES
from assistant.devices.sound.wavefile import read_wave
from assistant.devices.speech import synth
from assistant.devices.speech.announcer import VoiceAnnouncer
from assistant.devices.speech.synth import (
    EspeakSynth,
    PlatformSynth,
    Remembering,
    Spoken,
    SynthError,
    checked_samples,
    rote_pace,
    rote_pieces,
)
from assistant.engine.by_rote import by_rote
from assistant.engine.engine import Say, advance
from assistant.engine.events import (
    Device,
    DeviceLost,
    DeviceReturned,
    Gesture,
    PedalUsed,
    SpeechFailed,
    Tone,
)
from assistant.engine.phases import Step
from assistant.engine.state import State
from assistant.files.settings import Settings, SpeechSettings
from assistant.job.programme import heeding
from assistant.words.language import number, speaking
from tests.devices.told import Told
from tests.devices.transcribe import SENTENCES, sentences_in, sentences_of
from tests.engine.jobs import programme
from tests.whole.sound import SoundServer, recorded_on, wait_for
from tests.whole.transcript import stretches

pytestmark = pytest.mark.sound

MOVE, ANOTHER = SENTENCES[:2]
LONG = "This sentence is long enough to be stopped before anybody has heard the end of it."


def loud_parts(pcm: bytes) -> list[tuple[float, float]]:
    """Begin and end, in seconds, of what is not silence."""
    parts: list[list[float]] = []
    samples = as_array(pcm)
    for at in range(0, len(samples), 160):
        if max(map(abs, samples[at : at + 160])) > 300:
            if not parts or at / 16000 - parts[-1][1] > 0.2:
                parts.append([at / 16000, at / 16000])
            parts[-1][1] = at / 16000
    return [(begin, end) for begin, end in parts]


def strength(pcm: bytes, hertz: float) -> float:
    """How much of a frequency is in it (Goertzel's algorithm)."""
    turn = 2 * math.cos(2 * math.pi * hertz / 16000)
    a = b = 0.0
    for x in as_array(pcm):
        a, b = x + turn * a - b, a
    return a * a + b * b - turn * a * b


def quiet(announcer: VoiceAnnouncer) -> None:
    wait_for(lambda: not announcer.busy(), "silence", 30)


def test_what_was_said_can_be_written_down(
    server: SoundServer, announcer: VoiceAnnouncer, tmp_path: Path
) -> None:
    """Two sentences come out whole, one after the other, and `began` is told.

    Said again where a busy machine lost a part of it on the way: twice at the most.
    """
    heard: list[list[str]] = []
    while [MOVE, ANOTHER] not in heard and len(heard) < 3:
        with server.recording(tmp_path / f"said{len(heard)}.wav") as wav:
            announcer.say(MOVE)
            announcer.say(ANOTHER)
            assert heard or announcer.began() is None
            quiet(announcer)
            assert announcer.began() is not None
            recorded_on(wav, 1.0)
        heard.append(sentences_in(wav))
    assert heard[-1] == [MOVE, ANOTHER], heard


def test_each_tone_is_heard_and_before_the_speech(
    server: SoundServer, announcer: VoiceAnnouncer, tmp_path: Path
) -> None:
    """A tone signalled after a sentence was queued sounds first, with its own pitch."""
    for tone in Tone:
        with server.recording(tmp_path / f"{tone}.wav") as wav:
            announcer.say(MOVE)
            announcer.signal(tone)
            quiet(announcer)
        pcm = read_wave(wav.read_bytes()).mono16()
        begin, _ = loud_parts(pcm)[0]
        first = pcm[2 * int(16000 * begin) :][: 2 * 1280]
        pitches = {each: SCORES[each][0].hertz for each in Tone}
        assert max(Tone, key=lambda each: strength(first, pitches[each])) is tone


def test_the_player_is_asked_outside_our_lock(
    announcer: VoiceAnnouncer, monkeypatch: pytest.MonkeyPatch
) -> None:
    """It asks for that while it holds its own: each would wait for the other for ever."""
    held: list[bool] = []
    monkeypatch.setattr(
        announcer._player, "busy", lambda: bool(held.append(announcer._lock.locked()))
    )
    announcer.say(MOVE)
    assert held and not any(held)


def test_a_foot_is_ticked_at_once_and_its_meaning_is_not_toned_as_well(
    server: SoundServer, announcer: VoiceAnnouncer, tmp_path: Path
) -> None:
    """The sentence stops, the tick comes, and then what the press led to; a refusal still sounds.
    The next accepted answer, which no foot gave, has its tone again."""
    shown: list[Tone] = []
    announcer._show_tone = shown.append
    with server.recording(tmp_path / "felt.wav") as wav:
        announcer.say(LONG)
        wait_for(lambda: announcer.began() is not None, "speech")
        time.sleep(1)
        announcer.felt()
        time.sleep(0.5)
        announcer.felt()
        announcer.felt()  # its contact bounced: one foot, one tick
        time.sleep(0.5)
        announcer.signal(Tone.ACCEPTED)
        time.sleep(0.5)
        announcer.felt()
        time.sleep(0.5)
        announcer.signal(Tone.REFUSED)
        time.sleep(0.7)
        announcer.signal(Tone.ACCEPTED)
        quiet(announcer)
        recorded_on(wav, 1.0)
    parts = loud_parts(read_wave(wav.read_bytes()).mono16())
    spoken, *lengths = (round(end - begin, 2) for begin, end in parts)
    assert spoken < 0.8 * len(EspeakSynth(SpeechSettings()).speak(LONG).pcm) / 44100
    assert len(lengths) == 4 and max(lengths[:2]) < 0.08 < min(lengths[2:]), lengths
    assert shown == [Tone.ACCEPTED, Tone.REFUSED, Tone.ACCEPTED]


def test_a_sentence_made_ready_is_not_made_again(
    sound: Sound, settings: Settings, told: Told
) -> None:
    """It is not spoken, and kept until it is; one that can't be made is no loss."""
    made: list[tuple[str, bool]] = []
    espeak = EspeakSynth(settings.speech)

    class Counting:
        name = "counting"

        def speak(self, text: str, brief: bool = False) -> Spoken:
            made.append((text, brief))
            if "never" in text:
                raise SynthError("not this one")
            return espeak.speak(text, brief)

        def cancel(self) -> None:
            pass

    announcer = VoiceAnnouncer(sound, Remembering(Counting()), settings, told, lambda tone: None)
    announcer.prepare("This never comes.")
    announcer.prepare("Guard?", brief=True)
    wait_for(lambda: ("Guard?", True) in made, "the sentence")
    assert announcer.began() is None and not announcer.busy() and told.so_far() == []
    before = len(made)
    announcer.say("Guard?", brief=True)
    wait_for(lambda: announcer.began() is not None, "the sentence")
    assert len(made) == before and told.so_far() == []
    announcer.close()


def test_hush_from_any_thread_ends_the_sound_and_drops_the_queue(
    server: SoundServer, announcer: VoiceAnnouncer, told: Told, tmp_path: Path
) -> None:
    """Nothing of the two sentences is left, nothing failed, and the next one is whole."""
    with server.recording(tmp_path / "hushed.wav") as wav:
        announcer.say(LONG)
        announcer.say(LONG)
        wait_for(announcer.busy, "speech")
        time.sleep(1)
        thread = threading.Thread(target=announcer.hush)
        thread.start()
        thread.join()
        assert not announcer.busy()
        time.sleep(0.5)
        announcer.say(MOVE)
        quiet(announcer)
        recorded_on(wav, 1.0)
    begun, after = stretches(read_wave(wav.read_bytes()).mono16(), least=0.3)
    whole = EspeakSynth(SpeechSettings()).speak(LONG)
    assert len(begun) / 32000 < 0.8 * len(whole.pcm) / 2 / whole.rate
    assert sentences_of(after) == [MOVE]
    assert told.so_far() == []


def test_hush_at_any_moment_never_silences_what_is_said_after_it(
    announcer: VoiceAnnouncer, told: Told
) -> None:
    """A hundred hushes in the middle of synthesis, start and play: the last words still come."""
    for n in range(100):
        announcer.say(f"Sentence {n}.")
        time.sleep(n % 10 / 200)
        announcer.hush()
    announcer.say("The last one.")
    wait_for(lambda: announcer.began() is not None, "the last sentence")
    quiet(announcer)
    assert told.so_far() == []


def test_the_server_dies_and_comes_back(
    server: SoundServer, announcer: VoiceAnnouncer, told: Told
) -> None:
    """Loss is told, words that can't be spoken are told, and speech returns by itself."""
    announcer.say(MOVE)
    wait_for(lambda: announcer.began() is not None, "speech")
    server.stop()
    try:
        assert told.wait(DeviceLost).device is Device.SPEAKER
        assert told.wait(SpeechFailed).text == MOVE
        announcer.say("Nobody hears this.")
        assert told.wait(SpeechFailed).text == "Nobody hears this."
        assert not announcer.busy()
    finally:
        server.start()
    assert told.wait(DeviceReturned).device is Device.SPEAKER
    announcer.say("Back again.")
    wait_for(lambda: announcer.began() is not None, "speech after the return")


def test_a_device_that_was_not_there_at_the_start_is_found(
    server: SoundServer, settings: Settings, told: Told
) -> None:
    """PortAudio's list of devices is frozen when it starts: it is started anew."""
    import sounddevice

    server.stop()
    sounddevice._terminate()
    sounddevice._initialize()
    sound = Sound()
    announcer = VoiceAnnouncer(
        sound, EspeakSynth(settings.speech), settings, told, lambda tone: None
    )
    try:
        assert told.wait(DeviceLost).why == "no device is there"
    finally:
        server.start()
    told.wait(DeviceReturned)
    announcer.say("One.")
    wait_for(lambda: announcer.began() is not None, "speech")
    announcer.close()
    sound.close()


def test_a_server_that_freezes_is_noticed(
    server: SoundServer, announcer: VoiceAnnouncer, told: Told
) -> None:
    """It gives no error at all: the missing callbacks tell. Closing does not hang."""
    announcer.say("One.")
    quiet(announcer)
    server.freeze()
    try:
        assert told.wait(DeviceLost).device is Device.SPEAKER
        announcer.say("Two.")
        assert told.wait(SpeechFailed).text == "Two."
    finally:
        server.thaw()
    told.wait(DeviceReturned)


def test_a_speaker_that_stands_still_does_not_come_and_go(
    server: SoundServer, announcer: VoiceAnnouncer, told: Told
) -> None:
    """Opened again it takes one buffer and stands still again: that is no return."""
    announcer.say("One.")
    quiet(announcer)
    server.stand_still("speaker", True)
    try:
        told.wait(DeviceLost)
        time.sleep(6)
        assert not any(isinstance(event, DeviceReturned) for event in told.so_far())
    finally:
        server.stand_still("speaker", False)
    assert told.wait(DeviceReturned).device is Device.SPEAKER


def test_a_speaker_whose_plug_is_pulled_is_noticed(
    server: SoundServer, announcer: VoiceAnnouncer, told: Told
) -> None:
    """The server moves the stream to another device without a word: told by name."""
    announcer.say("One.")
    quiet(announcer)
    server.unplug("speaker")
    try:
        assert "speaker" in told.wait(DeviceLost).why
    finally:
        server.plug_speaker()
    told.wait(DeviceReturned)


def test_a_device_of_another_name_is_not_taken(sound: Sound, tmp_path: Path, told: Told) -> None:
    """The line names what there is, for the settings."""
    from dataclasses import replace

    settings = Settings(tmp_path / "x.toml")
    settings = replace(settings, sound=replace(settings.sound, speaker="No Such Thing"))
    announcer = VoiceAnnouncer(
        sound, EspeakSynth(settings.speech), settings, told, lambda tone: None
    )
    why = told.wait(DeviceLost).why
    assert "No Such Thing" in why and "default" in why
    announcer.close()


def test_no_samples_are_a_failure_whatever_the_exit_code() -> None:
    """espeak-ng ends with 0 for a voice it does not have, and for a text with nothing to say."""
    with pytest.raises(SynthError, match="no sound"):
        EspeakSynth(SpeechSettings(voice="xx-none")).speak("Hello.")
    with pytest.raises(SynthError):
        EspeakSynth(SpeechSettings()).speak("")


@pytest.mark.parametrize("pcm", [b"", bytes(2000)])
def test_a_wav_file_with_nothing_in_it_is_a_failure(pcm: bytes) -> None:
    """A header alone, or zeros alone, is not speech."""
    size = struct.pack("<I", len(pcm))
    form = struct.pack("<IHHIIHH", 16, 1, 1, 22050, 44100, 2, 16)
    with pytest.raises(SynthError, match="nothing"):
        checked_samples(b"RIFF\0\0\0\0WAVEfmt " + form + b"data" + size + pcm, "nothing came")


@pytest.mark.parametrize("voice", ["en-us", "de"])
@pytest.mark.parametrize("text", ["Arms.", "Four turns, twelve on twenty-seven.", "Lock off."])
def test_nothing_is_heard_of_the_silence_behind_a_sentence(voice: str, text: str) -> None:
    """espeak-ng ends an utterance with 0.3 to 0.5 s of silence (measured)."""
    raw = ["espeak-ng", "--stdout", "-v", voice, "-s", "145", text]
    whole = read_wave(subprocess.run(raw, capture_output=True, check=True).stdout).mono16()
    synth = EspeakSynth(SpeechSettings(voice=voice))
    assert whole.startswith(synth.speak(text).pcm), "only the end is cut"
    assert 0.2 < _after_the_last_sound(synth.speak(text)) < 0.3
    assert 0 < _after_the_last_sound(synth.speak(text, brief=True)) < 0.1


def _after_the_last_sound(sound: Spoken) -> float:
    loud = [at for at, each in enumerate(as_array(sound.pcm)) if abs(each) > 300]
    return (len(as_array(sound.pcm)) - loud[-1]) / sound.rate


def _pauses(sound: Spoken) -> list[float]:
    """The silences between two sounds, seconds, 0.08 or more."""
    loud = [at for at, each in enumerate(as_array(sound.pcm)) if abs(each) > 300]
    gaps = ((b - a) / sound.rate for a, b in itertools.pairwise(loud))
    return [gap for gap in gaps if gap > 0.08]


def test_what_is_known_by_rote_is_said_briskly_and_in_its_parts() -> None:
    """The same words, faster and with short pauses, since they keep turns, holes and lock apart;
    only that of the comma in what is known by rote is shorter yet. What a setting of 1 leaves is
    the pace of whole sentences."""
    text = "Lock off. Four turns, twelve on twenty-seven. Arms, lock."
    whole, brief = (EspeakSynth(SpeechSettings()).speak(text, brief) for brief in (False, True))
    assert len(brief.pcm) < 0.7 * len(whole.pcm)
    assert (len(_pauses(brief)), len(_pauses(whole))) == (3, 4)
    assert all(0.08 < pause < 0.16 for pause in _pauses(brief))
    calm = EspeakSynth(SpeechSettings(brisk=1.0)).speak(text, brief=True)
    assert len(brief.pcm) < len(calm.pcm) < len(whole.pcm)


def test_only_what_is_known_by_rote_is_said_as_fast_as_people_talk() -> None:
    """The figures between stay as slow as they were understood; `brisk` 1 leaves all as it is."""
    engine = EspeakSynth(SpeechSettings())
    figures = "Four turns, twelve on twenty-seven."
    alone = engine.speak(figures, brief=True)
    call = engine.speak(f"Lock off. {figures} Arms, lock.", brief=True)
    assert alone.pcm in call.pcm
    text = f"Lock off. {figures} Arms. Pin at the mark. Scale eighteen. Lock."
    assert rote_pieces(text, "en") == [
        ("Lock off.", True), (figures, False), ("Arms. Pin at the mark.", True),
        ("Scale eighteen.", False), ("Lock.", True),
    ]  # fmt: skip
    assert [rote_pace(brisk) for brisk in (1.0, 1.25, 1.5, 1.75)] == [1.0, 1.5, 2.0, 2.0]


@pytest.mark.parametrize("language", ["en", "de"])
def test_what_a_known_cut_repeats_is_known_by_rote(language: str) -> None:
    """A sentence that is worded anew would else come slower, and nobody would know why. What is
    said at nine cuts in a row and holds no figure is on the list; no figure is."""
    with speaking(language):
        job = heeding(programme(20, depth="2 mm", language=language), whole_cuts=1, remind_every=0)
        numbers = {number(n).lower() for n in range(1, 100)}
        known = by_rote()
    state, said = State(), []
    while state.step is not Step.FINISHED:
        state, effects = advance(job, state, PedalUsed(0.0, Gesture.PRESS))
        said += [e.text for e in effects if isinstance(e, Say) and e.brief]
    often = Counter(each for text in said for each in re.split(r"(?<=[.?!]) +", text))
    bare = {each for each, times in often.items() if times > 9}
    figures = {each for each in bare if {*re.findall(r"[\w-]+", each.lower())} & numbers}
    assert bare - figures <= known and not figures & known
    assert len(bare - figures) >= 3


def test_a_frozen_sound_server_does_not_freeze_the_synthesis(
    server: SoundServer, monkeypatch: pytest.MonkeyPatch
) -> None:
    """espeak-ng connects to the server even when it plays nothing: it must not find it."""
    monkeypatch.setattr(synth, "TIME_LIMIT_S", 4.0)
    server.freeze()
    try:
        assert EspeakSynth(SpeechSettings()).speak("One.").pcm
    finally:
        server.thaw()


def test_a_hush_that_hits_the_next_sentence_does_not_lose_it(
    sound: Sound, settings: Settings, told: Told
) -> None:
    """The process killed may already be that of the sentence after: it is made again."""
    espeak = EspeakSynth(settings.speech)
    killed = iter([True])

    class Killed:
        name = "killed once"

        def speak(self, text: str, brief: bool = False) -> object:
            if next(killed, False):
                raise SynthError("killed")
            return espeak.speak(text)

        def cancel(self) -> None:
            pass

    announcer = VoiceAnnouncer(sound, Killed(), settings, told, lambda tone: None)  # type: ignore[arg-type]
    announcer.say("One.")
    wait_for(lambda: announcer.began() is not None, "the sentence")
    assert told.so_far() == []
    announcer.close()


def test_a_failed_sentence_is_told_and_the_next_one_is_spoken(
    sound: Sound, settings: Settings, told: Told
) -> None:
    """One sentence lost is not the voice lost."""
    espeak = EspeakSynth(settings.speech)

    class Moody:
        name = "moody"

        def speak(self, text: str, brief: bool = False) -> object:
            if "bad" in text:
                raise SynthError("no sound for this one")
            return espeak.speak(text)

        def cancel(self) -> None:
            pass

    announcer = VoiceAnnouncer(sound, Moody(), settings, told, lambda tone: None)  # type: ignore[arg-type]
    announcer.say("A bad one.")
    announcer.say("A good one.")
    assert told.wait(SpeechFailed).text == "A bad one."
    wait_for(lambda: announcer.began() is not None, "the good one")
    announcer.close()


def test_sentences_are_kept() -> None:
    """The same sentence is synthesised once."""
    made: list[str] = []
    espeak = EspeakSynth(SpeechSettings())

    class Counting:
        name = "counting"

        def speak(self, text: str, brief: bool = False) -> object:
            made.append(text)
            return espeak.speak(text)

        def cancel(self) -> None:
            pass

    keeping = Remembering(Counting())  # type: ignore[arg-type]
    assert keeping.speak("Say again.") == keeping.speak("Say again.")
    assert made == ["Say again."]


@pytest.mark.slow
def test_the_platforms_own_voices_speak_through_the_same_player(
    sound: Sound, server: SoundServer, settings: Settings, told: Told, tmp_path: Path
) -> None:
    """pyttsx3 in a child process gives samples that are played and understood."""
    platform = PlatformSynth(settings.speech)
    announcer = VoiceAnnouncer(sound, platform, settings, told, lambda tone: None)
    with server.recording(tmp_path / "said.wav") as wav:
        announcer.say(MOVE)
        quiet(announcer)
        recorded_on(wav, 1.0)
    announcer.close()
    assert told.so_far() == []
    assert sentences_in(wav) == [MOVE]
