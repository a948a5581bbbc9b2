"""`tallyhand hear` and `tallyhand doctor`, as processes of their own."""

from __future__ import annotations

import array
import json
import os
import random
import subprocess
import sys
import wave
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from assistant.devices.pedal.binding import SECOND, KeyBinding, pedal_file, write_binding
from assistant.devices.sound.samples import resample
from assistant.hearing.classifier.classifier import load_classifier, save_classifier
from assistant.hearing.model_files import SHIPPED
from assistant.hearing.person.learned_sound import LearnedSound, save_sound
from tests.whole import screen as screens
from tests.whole.sound import SoundServer, missing, speech

ROOT = Path(__file__).parents[2]
needs_voices = pytest.mark.skipif(bool(missing()), reason=f"not here: {missing()}")


def run(*words: str | Path, env: dict[str, str] | None = None) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-m", "assistant", *map(str, words)],
        cwd=ROOT, env=env, capture_output=True, text=True, check=False, timeout=120,
    )  # fmt: skip


@pytest.fixture
def config(tmp_path: Path) -> Path:
    file = tmp_path / "tallyhand.toml"
    file.write_text('[ear]\nkind = "grammar"\n[pedal]\nkind = "none"\n')
    return file


def heard(config: Path, *words: str | Path) -> list[dict[str, Any]]:
    done = run("hear", "--config", config, "--json", *words)
    assert (done.returncode, done.stderr) == (0, ""), done
    return [json.loads(line) for line in done.stdout.splitlines()]


@needs_voices
def test_hear_says_what_where_and_when(config: Path, tmp_path: Path) -> None:
    """Every field of the contract, for two utterances in one file and for one not expected."""
    first = speech("spindle locked", "flite:slt", tmp_path)
    second = speech("guard closed", "flite:slt", tmp_path)
    joined = tmp_path / "joined.wav"
    with wave.open(str(joined), "wb") as out:
        for clip in (first, second):
            with wave.open(str(clip), "rb") as given:
                if out.getnframes() == 0:
                    out.setparams(given.getparams())
                out.writeframes(bytes(given.getframerate() * 2))
                out.writeframes(given.readframes(given.getnframes()))
    found = heard(config, "--expecting", "lock", joined)
    assert [one["command"] for one in found] == ["locked", "guarded"]
    assert [one["accepted"] for one in found] == [True, False]
    assert "not expected" in found[1]["why"] and "why" not in found[0]
    for one in found:
        assert one["file"] == str(joined)
        assert 0 < one["start_s"] < one["end_s"]
        assert 0 < one["confidence"] <= 1 and one["answered_after_s"] > 0
    assert found[0]["end_s"] < found[1]["start_s"]


@needs_voices
@pytest.mark.parametrize(
    "form", ["-r 8000", "-r 48000 -c 2", "-r 44100 -b 24", "-r 22050 -b 32 -e float", "-b 8"]
)
def test_hear_takes_any_wav(form: str, config: Path, tmp_path: Path) -> None:
    """Rates, widths and stereo as recorders give them: the same phrase."""
    clip = tmp_path / "clip.wav"
    given = speech("spindle locked", "flite:slt", tmp_path)
    subprocess.run(
        ["sox", str(given), *form.split(), str(clip), "pad", "0.6", "0.6"],
        check=True, stderr=subprocess.DEVNULL,
    )  # fmt: skip
    (one,) = heard(config, clip)
    assert one["heard"] == "spindle locked"


@needs_voices
def test_hear_says_the_same_whatever_came_before(config: Path, tmp_path: Path) -> None:
    """A file's lines do not depend on the files before it."""
    clips = [speech(text, "flite:slt", tmp_path) for text in ("how many left", "spindle locked")]
    alone = heard(config, clips[1])
    after = heard(config, clips[0], clips[1])
    same = ("file", "heard", "accepted", "confidence", "start_s", "end_s")
    assert [{key: one[key] for key in same} for one in after[-len(alone) :]] == [
        {key: one[key] for key in same} for one in alone
    ]


def long_wav(file: Path, seconds: int) -> Path:
    with wave.open(str(file), "wb") as out:
        out.setnchannels(1)
        out.setsampwidth(2)
        out.setframerate(8000)
        out.writeframes(bytes(16000 * seconds))
    return file


def test_hear_refuses_in_one_line_and_goes_on(config: Path, tmp_path: Path) -> None:
    """Empty, hour-long, no WAV, not there: a line with the cure each, exit code 1."""
    empty = tmp_path / "zero.wav"
    empty.touch()
    text = tmp_path / "text.wav"
    text.write_text("RIFF I am not")
    files = [
        empty, text, tmp_path / "none.wav", long_wav(tmp_path / "hour.wav", 3600),
        long_wav(tmp_path / "nothing.wav", 0), tmp_path,
    ]  # fmt: skip
    done = run("hear", "--config", config, "--json", *files)
    assert done.returncode == 1
    assert done.stdout == ""
    lines = done.stderr.splitlines()
    assert len(lines) == len(files)
    for line, file in zip(lines, files, strict=True):
        assert line.startswith(str(file)) and ";" in line
    assert "60 minutes" in lines[3]


def test_hear_wrong_use(config: Path) -> None:
    """No file, an unknown phase: exit code 2 and what is right."""
    assert run("hear").returncode == 2
    done = run("hear", "--expecting", "lunch", "x.wav")
    assert done.returncode == 2 and "guard" in done.stderr
    assert len(done.stderr.splitlines()) == 1


def test_a_missing_model_is_one_line(tmp_path: Path) -> None:
    """Named in the settings and not there: where, and what to do."""
    config = tmp_path / "tallyhand.toml"
    config.write_text('[ear]\nvosk_model = "/no/model/here"\n')
    done = run("hear", "--config", config, long_wav(tmp_path / "a.wav", 1))
    assert done.returncode == 1
    assert "/no/model/here" in done.stderr and len(done.stderr.splitlines()) == 1


def doctor(config: Path, env: dict[str, str] | None = None) -> tuple[int, dict[str, Any]]:
    done = run("doctor", "--json", "--config", config, env=env)
    assert done.stderr == ""
    record = json.loads(done.stdout)
    return done.returncode, {one["part"]: one for one in record["findings"]} | {"all": record}


@pytest.mark.sound
def test_doctor_finds_all_well(config: Path, server: SoundServer) -> None:
    """With microphone, speaker and recogniser there is nothing to say."""
    code, found = doctor(config, server.env)
    assert code == 0 and found["all"]["ok"], found
    assert "dB" in found["microphone"]["what"]
    assert "espeak-ng" in found["speaker"]["what"]
    assert found["all"]["microphones"] and found["all"]["settings"] == str(config)


@pytest.mark.sound
def test_doctor_finds_a_muted_microphone(config: Path, server: SoundServer) -> None:
    """Only the microphone is named, with what to do."""
    server.mute_microphone(True)
    try:
        code, found = doctor(config, server.env)
    finally:
        server.mute_microphone(False)
    assert code == 1
    assert not found["microphone"]["ok"] and "unmute" in found["microphone"]["cure"]
    assert found["speaker"]["ok"]


def test_a_telephones_microphone_is_told_by_its_band() -> None:
    """Sound that came at 8 kHz holds nothing above 4; a live microphone hisses there."""
    from assistant.setup.checks import judge_level

    dice = random.Random(4)
    hiss = array.array("h", (round(dice.gauss(0, 300)) for _ in range(32000))).tobytes()
    narrow = resample(resample(hiss, 16000, 8000), 8000, 16000)
    assert judge_level(hiss).ok
    found = judge_level(narrow)
    assert not found.ok and "4000 Hz" in found.what and "another microphone" in found.cure


def test_doctor_offers_to_learn_the_voice(config: Path, tmp_path: Path) -> None:
    """Where the built-in ear listens: the command, and later that it was learned."""
    pytest.importorskip("pyopen_wakeword")
    config.write_text('[ear]\nkind = "trained"\n[pedal]\nkind = "none"\n')
    env = {**os.environ, "TALLYHAND_VOICE": str(tmp_path), "PULSE_SERVER": "unix:/nonexistent"}
    _, found = doctor(config, env)
    assert found["voice"]["ok"] and "tallyhand voice learn" in found["voice"]["cure"]
    (tmp_path / "learned.npz").write_bytes(SHIPPED.read_bytes())
    _, found = doctor(config, env)
    assert "an earlier version" in found["voice"]["what"]  # one that taught the classifier alone
    save_sound(LearnedSound(), tmp_path / "sound.npz")
    _, found = doctor(config, env)
    assert found["voice"] == {
        "part": "voice", "ok": True, "what": "the ear knows yours", "cure": "",
    }  # fmt: skip
    save_classifier(replace(load_classifier(SHIPPED), networks=()), tmp_path / "learned.npz")
    _, found = doctor(config, env)
    assert found["voice"]["ok"] and "an earlier version" in found["voice"]["what"]
    assert f"tallyhand voice learn --from {tmp_path / 'recordings'}" in found["voice"]["cure"]
    (tmp_path / "learned.npz").write_bytes(b"no head")
    _, found = doctor(config, env)
    assert found["voice"]["what"] == "the ear knows yours"
    assert not found["recogniser"]["ok"] and "learned.npz" in found["recogniser"]["what"]


@needs_voices
def test_doctor_without_any_sound(config: Path, server: SoundServer) -> None:
    """No server at all: each part has its line and its cure, and nothing hangs or is printed."""
    env = {**server.env, "PULSE_SERVER": "unix:/nonexistent"}
    code, found = doctor(config, env)
    assert code == 1
    for part in ("microphone", "speaker"):
        assert not found[part]["ok"] and found[part]["what"] and found[part]["cure"]
    assert found["recogniser"]["ok"]


def test_doctor_and_pedals(config: Path) -> None:
    """None taught, a taught one that is away, a damaged file: what to do each time."""
    config.write_text('[ear]\nkind = "grammar"\n')
    for write in (
        lambda: None,
        lambda: write_binding(pedal_file(config), KeyBinding("evdev", "F13", 183, "Gone", "1:2")),
        lambda: pedal_file(config).write_text("[pedal]\nsource = 3\n"),
    ):
        write()
        _, found = doctor(config, {**_no_screen(), "PULSE_SERVER": "unix:/nonexistent"})
        assert not found["pedal"]["ok"]
        assert "--learn-pedal" in found["pedal"]["cure"]


@pytest.mark.skipif(bool(screens.missing()), reason=f"not here: {screens.missing()}")
def test_doctor_finds_the_taught_pedal(config: Path) -> None:
    """A key under X, with a screen there."""
    config.write_text('[ear]\nkind = "grammar"\n')
    write_binding(pedal_file(config), KeyBinding("x", "f9", 65478))
    with screens.Screen() as screen:
        _, found = doctor(config, {**screen.env, "PULSE_SERVER": "unix:/nonexistent"})
    assert found["pedal"]["ok"], found


@pytest.mark.skipif(bool(screens.missing()), reason=f"not here: {screens.missing()}")
def test_doctor_tells_of_a_second_pedal_that_is_away(config: Path) -> None:
    """Named beside the one that is there, with what to do."""
    ear = '[ear]\nkind = "grammar"\n'
    config.write_text(ear)
    write_binding(pedal_file(config), KeyBinding("x", "f9", 65478))
    write_binding(pedal_file(config), KeyBinding("evdev", "F14", 184, "Gone", "1:2"), SECOND)
    with screens.Screen() as screen:
        _, found = doctor(config, {**screen.env, "PULSE_SERVER": "unix:/nonexistent"})
        assert "second pedal: " in found["pedal"]["what"] and not found["pedal"]["ok"]
        assert "--learn-second-pedal" in found["pedal"]["cure"]
        config.write_text(ear + '[pedal]\nsecond = "none"\n')
        _, found = doctor(config, {**screen.env, "PULSE_SERVER": "unix:/nonexistent"})
    assert found["pedal"]["ok"], found


def _no_screen() -> dict[str, str]:
    return {name: value for name, value in os.environ.items() if name != "DISPLAY"}


def test_levels() -> None:
    """Silence, faint, right, overdriven."""
    from assistant.setup.checks import judge_level

    def noise(peak: int) -> bytes:
        return array.array("h", [peak, -peak] * 8000).tobytes()

    assert "silence" in judge_level(noise(0)).what
    assert "faint" in judge_level(noise(3)).what
    assert judge_level(noise(300)).ok
    assert "loud" in judge_level(noise(32767)).what
