"""What is opened for a session, and what is said of each thing that is missing."""

from __future__ import annotations

import io
import struct
import sys
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest

from assistant.bench.open_devices import Devices, open_devices
from assistant.devices.pedal.binding import KeyBinding, pedal_file, write_binding
from assistant.devices.sound.wavefile import WaveError, read_wave
from assistant.devices.speech.announcer import VoiceAnnouncer
from assistant.engine.events import Device
from assistant.files.settings import (
    EarSettings,
    KeyboardSettings,
    PedalSettings,
    Settings,
    SpeechSettings,
)
from assistant.hearing.listener import Hearing
from tests.devices.told import Told
from tests.whole.sound import SoundServer

DEAF = Settings(
    Path("tallyhand.toml"),
    SpeechSettings(engine="none"),
    ear=EarSettings(kind="none"),
    pedal=PedalSettings(kind="none"),
    keyboard=KeyboardSettings(use=False),
)


@pytest.fixture
def opened() -> Iterator[list[Devices]]:
    there: list[Devices] = []
    yield there
    for devices in there:
        devices.close()


def notes(settings: Settings, opened: list[Devices]) -> list[str]:
    opened.append(open_devices(settings, Told()))
    return opened[-1].notes


def test_what_is_switched_off_is_not_missed(opened: list[Devices]) -> None:
    """Nothing is opened and nothing said."""
    assert notes(DEAF, opened) == []
    assert opened[-1].listeners == [] and opened[-1].answers == set()
    assert opened[-1].ears == "none" and opened[-1].on_close == []  # not even the sound server


def test_a_headset_with_nothing_to_hear(opened: list[Devices]) -> None:
    """Set where nothing speaks or nothing listens: a line says that it does nothing."""
    for deaf in (DEAF, replace(DEAF, speech=SpeechSettings())):
        (line,) = notes(replace(deaf, ear=EarSettings(kind="none", headset=True)), opened)[:1]
        assert line.startswith("[ear] headset = true does nothing here")


@pytest.mark.sound
def test_a_machine_without_a_speech_engine(
    server: SoundServer, opened: list[Devices], monkeypatch: pytest.MonkeyPatch
) -> None:
    """The package to install; a session goes on without a voice."""
    monkeypatch.setenv("PATH", "")
    (line,) = notes(replace(DEAF, speech=SpeechSettings()), opened)
    assert "install espeak-ng" in line and "the screen carries the words" in line


@pytest.mark.sound
def test_a_language_that_no_ear_knows(server: SoundServer, opened: list[Devices]) -> None:
    """Nothing listens, and the page that tells how to get an ear is named."""
    from assistant.bench.language_files import load_language

    load_language("de")
    german = replace(DEAF, speech=SpeechSettings(engine="none", language="de"), ear=EarSettings())
    (line,) = notes(german, opened)
    assert "Deutsch" in line and "docs/language.md" in line
    assert opened[-1].ears == "none" and Device.MICROPHONE not in opened[-1].answers


@pytest.mark.sound
def test_an_ear_and_a_taught_pedal(
    server: SoundServer, opened: list[Devices], tmp_path: Path
) -> None:
    """Both can answer then; a meter shows what the microphone hears."""
    settings = replace(
        DEAF,
        file=tmp_path / "tallyhand.toml",
        ear=EarSettings(kind="grammar"),
        pedal=PedalSettings(),
    )
    write_binding(pedal_file(settings.file), KeyBinding("evdev", "F13", 183, "Gone", "1:2"))
    assert notes(settings, opened) == []
    assert opened[-1].ears == "grammar" and len(opened[-1].listeners) == 2
    assert opened[-1].answers == {Device.MICROPHONE, Device.PEDAL}


@pytest.mark.sound
@pytest.mark.parametrize("tone", [True, False])
def test_the_tone_of_the_ear_is_asked_for(
    tone: bool, server: SoundServer, opened: list[Devices]
) -> None:
    """By what `[ear] opening_tone` says, and where something listens; a headset needs no line."""
    ear = EarSettings(kind="grammar", opening_tone=tone, headset=True)
    assert notes(replace(DEAF, speech=SpeechSettings(), ear=ear), opened) == []
    (hearing,) = opened[-1].listeners
    announcer = opened[-1].announcer
    assert isinstance(announcer, VoiceAnnouncer) and isinstance(hearing, Hearing)
    assert (announcer.opens == hearing.opens) is tone
    assert hearing.not_heard == announcer.not_heard


def test_pedals_that_are_none(opened: list[Devices], tmp_path: Path) -> None:
    """Never taught, taught as another kind than the settings ask for, or a damaged file: a line,
    and none listens."""
    settings = replace(DEAF, file=tmp_path / "tallyhand.toml", pedal=PedalSettings())
    file = pedal_file(settings.file)
    (line,) = notes(settings, opened)
    assert "none was taught" in line and "tallyhand doctor --learn-pedal" in line
    write_binding(file, KeyBinding("x", "f9", 65478))
    (line,) = notes(replace(settings, pedal=PedalSettings(kind="evdev")), opened)
    assert "none was taught" in line
    file.write_text("[pedal]\nsource = 3\n")
    (line,) = notes(settings, opened)
    assert line.startswith(f"{file} line 2: ") and "teach the pedal again" in line
    assert all(devices.listeners == [] for devices in opened)


def test_a_program_without_an_input(opened: list[Devices], monkeypatch: pytest.MonkeyPatch) -> None:
    """Started by something that gives it none: no keyboard, and it is said."""
    monkeypatch.setattr(sys, "stdin", io.StringIO())
    (line,) = notes(replace(DEAF, keyboard=KeyboardSettings()), opened)
    assert line == "no keyboard: the program was started without an input"


def wav(coding: int, channels: int, rate: int, bits: int, data: bytes, extra: bytes = b"") -> bytes:
    """A WAV file as the RIFF specification of 1991 lays it out: a format chunk and the samples."""
    block = channels * bits // 8
    form = struct.pack("<HHIIHH", coding, channels, rate, rate * block, block, bits) + extra
    chunks = b"fmt " + struct.pack("<I", len(form)) + form
    chunks += b"data" + struct.pack("<I", len(data)) + data
    return b"RIFF" + struct.pack("<I", 4 + len(chunks)) + b"WAVE" + chunks


@pytest.mark.parametrize(
    ("raw", "why"),
    [
        (b"RIFF\x0e\0\0\0WAVEfmt \x02\0\0\0\x01\0data\0\0\0\0", "half a format chunk"),
        (wav(2, 1, 16000, 4, b"\0" * 8), "coded as 2 with 4 bits; save it as 16 bit PCM"),
        (wav(3, 1, 16000, 16, b"\0" * 8), "coded as 3 with 16 bits"),
        (wav(1, 0, 16000, 16, b"\0" * 8), "0 channels at 16000 Hz"),
        (wav(1, 1, 10, 16, b"\0" * 8), "1 channels at 10 Hz"),
    ],
)
def test_wav_files_that_can_not_be_used(raw: bytes, why: str) -> None:
    """What is odd about them, and what to save instead."""
    with pytest.raises(WaveError, match=why):
        read_wave(raw)


def test_wav_files_in_every_coding() -> None:
    """The same three samples, silence and nearly full scale both ways: 8 bits are unsigned around
    128, wider ones signed, floating point runs from -1 to 1 (RIFF specification, 1991). What is no
    number is silence. An extensible format names its true coding in its extension."""
    eight = read_wave(wav(1, 1, 8000, 8, bytes([128, 255, 1]))).mono16()
    assert struct.unpack("<3h", eight) == (0, 127 << 8, -127 << 8)
    wide = struct.pack("<3i", 0, 32512 << 16, -32512 << 16)
    for coding, extra in ((1, b""), (0xFFFE, struct.pack("<HHIH", 22, 32, 0, 1) + b"\0" * 14)):
        found = read_wave(wav(coding, 1, 8000, 32, wide, extra)).mono16()
        assert struct.unpack("<3h", found) == (0, 32512, -32512)
    floats = struct.pack("<4d", 0.0, 1.0, -1.0, float("nan"))
    found = read_wave(wav(3, 1, 8000, 64, floats)).mono16()
    assert struct.unpack("<4h", found) == (0, 32767, -32767, 0)
