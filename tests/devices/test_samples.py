"""Samples and WAV files, against the standard library and against sox."""

from __future__ import annotations

import array
import math
import shutil
import struct
import subprocess
import wave
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from assistant.devices.sound.samples import (
    Resampler,
    as_array,
    loudest,
    mono,
    resample,
    spread_channels,
)
from assistant.devices.sound.tones import SCORES, tone_samples
from assistant.devices.sound.wavefile import WaveError, read_wave
from assistant.engine.events import Tone


def sine(hertz: float, rate: int, seconds: float = 0.5, peak: int = 10000) -> bytes:
    turn = 2 * math.pi * hertz / rate
    return array.array(
        "h", (round(peak * math.sin(turn * i)) for i in range(int(rate * seconds)))
    ).tobytes()


def level(pcm: bytes) -> float:
    body = as_array(pcm)[1000:-1000]
    return math.sqrt(sum(x * x for x in body) / len(body))


@pytest.mark.parametrize("rate", [8000, 11025, 22050, 32000, 44100, 48000, 96000])
def test_resampling_keeps_a_tone_and_its_length(rate: int) -> None:
    """1 kHz comes out as 1 kHz, as loud and as long as it was."""
    out = resample(sine(1000, rate), rate, 16000)
    wanted = sine(1000, 16000)
    assert abs(len(out) - len(wanted)) < 200
    assert level(out) == pytest.approx(level(wanted), rel=0.02)
    crossings = sum(a < 0 <= b for a, b in zip(as_array(out), as_array(out)[1:], strict=False))
    assert crossings == pytest.approx(500, abs=3)


def test_resampling_keeps_out_what_the_lower_rate_cannot_hold() -> None:
    """12 kHz at 48 kHz must not come out as 4 kHz at 16 kHz."""
    assert level(resample(sine(12000, 48000), 48000, 16000)) < 0.01 * level(sine(12000, 48000))


@given(st.lists(st.integers(1, 700), min_size=1, max_size=20))
def test_resampling_in_pieces_is_the_same_as_at_once(pieces: list[int]) -> None:
    """However the samples come, the result is the same to the bit."""
    pcm = sine(700, 44100, 0.2)[: 2 * sum(pieces)]
    whole = Resampler(44100, 16000)
    parts = Resampler(44100, 16000)
    at, out = 0, b""
    for piece in pieces:
        out += parts.feed(pcm[at : at + 2 * piece])
        at += 2 * piece
    assert out + parts.feed(pcm[at:]) == whole.feed(pcm)


@given(st.binary(max_size=400), st.integers(1, 6))
def test_spread_and_mono_undo_each_other(data: bytes, channels: int) -> None:
    """The same sound on every channel is that sound in mono."""
    pcm = data[: len(data) & ~1]
    assert mono(spread_channels(pcm, channels), channels) == pcm


@pytest.mark.skipif(shutil.which("sox") is None, reason="sox is not installed")
@pytest.mark.parametrize(
    "form",
    ["-b 8 -e unsigned", "-b 16", "-b 24", "-b 32", "-b 32 -e floating-point", "-b 64 -e float"],
)
@pytest.mark.parametrize("channels", [1, 2, 6])
def test_wav_files_as_sox_writes_them(form: str, channels: int, tmp_path: Path) -> None:
    """Any width, any number of channels: the same sound (the judge is sox, not we)."""
    file = tmp_path / "a.wav"
    subprocess.run(
        ["sox", "-n", "-r", "22050", "-c", str(channels), *form.split(), str(file),
         "synth", "0.3", "sine", "500", "vol", "0.4"], check=True, stderr=subprocess.DEVNULL,
    )  # fmt: skip
    found = read_wave(file.read_bytes())
    assert (found.rate, found.channels) == (22050, channels)
    assert found.seconds == pytest.approx(0.3)
    assert loudest(found.mono16()) == pytest.approx(0.4 * 32768, rel=0.02)


def test_a_wav_file_cut_short_still_gives_its_samples(tmp_path: Path) -> None:
    """A program that was killed while recording leaves such files."""
    file = tmp_path / "a.wav"
    with wave.open(str(file), "wb") as out:
        out.setnchannels(1)
        out.setsampwidth(2)
        out.setframerate(16000)
        out.writeframes(sine(500, 16000))
    assert len(read_wave(file.read_bytes()[:-4001]).mono16()) == 12000 - 2


@given(st.binary(max_size=200))
def test_no_bytes_break_the_reader(data: bytes) -> None:
    """Anything is read or refused."""
    for raw in (data, b"RIFF\0\0\0\0WAVE" + data, b"RIFF\0\0\0\0WAVEfmt \x10\0\0\0" + data):
        try:
            read_wave(raw).mono16()
        except WaveError:
            continue


def test_a_float_file_may_hold_what_is_no_number() -> None:
    """Not-a-number becomes silence, and what is too loud is cut."""
    data = struct.pack("<4f", math.nan, 2.0, -math.inf, 0.5)
    header = struct.pack("<4sI4s4sIHHIIHH", b"RIFF", 0, b"WAVE", b"fmt ", 16, 3, 1, 16000, 0, 0, 32)
    raw = header + b"data" + struct.pack("<I", len(data)) + data
    assert list(as_array(read_wave(raw).mono16())) == [0, 32767, -32768, 16384]


def test_the_tones_cannot_be_taken_for_each_other() -> None:
    """Told apart by pitch and by rhythm: even an ear that hears only one of these has enough."""
    rhythm = {tone: [bool(n.hertz) for n in notes] for tone, notes in SCORES.items()}
    assert len({tuple(r) for r in rhythm.values()}) == 3
    pitches = {tone: {n.hertz for n in notes if n.hertz} for tone, notes in SCORES.items()}
    for one in Tone:
        for other in Tone:
            if one is not other:
                assert (
                    min(abs(math.log2(a / b)) for a in pitches[one] for b in pitches[other]) > 0.5
                )
    for tone in Tone:
        pcm = as_array(tone_samples(tone, 22050))
        assert 0 < len(pcm) / 22050 < 0.4
        assert abs(pcm[0]) < 200 and abs(pcm[-1]) < 2000
