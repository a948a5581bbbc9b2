"""The set-up with real devices: a sound server, a voice in noise, a pedal, a terminal."""

from __future__ import annotations

import array
import json
import os
import pty
import random
import shutil
import signal
import subprocess
import sys
import wave
from collections.abc import Iterator
from itertools import pairwise
from pathlib import Path

import pytest

from assistant.devices.pedal.binding import KeyBinding, pedal_file, read_binding, write_binding
from assistant.files import settings
from assistant.hearing import accuracy
from tests.commands import PROGRAM, ROOT
from tests.devices import mock_pedal
from tests.devices.transcribe import sentences_in
from tests.setup.dialogue import Dialogue
from tests.whole import screen as screens
from tests.whole.person import Hearing
from tests.whole.screen import Screen
from tests.whole.sound import SoundServer, missing

with_sound = pytest.mark.skipif(bool(missing()), reason=f"not here: {missing()}")
SPOKEN = ("Four turns, then twelve holes on the twenty-seven circle.", "Press the pedal now.")


@pytest.fixture
def sound(tmp_path: Path) -> Iterator[SoundServer]:
    with SoundServer(tmp_path / "sound") as server:
        yield server


def begin(words: list[str | Path], file: Path, env: dict[str, str]) -> Dialogue:
    return Dialogue([*words, "--config", file], {**env, "PYTHONUNBUFFERED": "1"})


@pytest.mark.sound
@with_sound
def test_it_speaks_and_is_set_by_ear(sound: SoundServer, tmp_path: Path) -> None:
    """The sample is heard at the loudspeaker, as text and as sound, with the new voice."""
    file, wav = tmp_path / "tallyhand.toml", tmp_path / "out.wav"
    with sound.recording(wav):
        talk = begin(["speaker", "voice"], file, sound.env)
        talk.answer("Did you hear it?", "yes")
        talk.answer("Which language", "en")
        talk.answer("Which voice?", "en-us")
        talk.answer("Words a minute?", "120")
        talk.answer("Loudness?", "100")
        talk.answer("Is it right?", "no")
        talk.answer("Which voice?", "en-us")
        talk.answer("Words a minute?", "150")
        talk.answer("Loudness?", "100")
        talk.answer("Is it right?", "yes")
        assert talk.end() == 0, talk.told
    found = settings.read_settings(file).speech
    assert (found.voice, found.words_per_minute, found.loudness) == ("en-us", 150, 100)
    assert sentences_in(wav, SPOKEN).count(SPOKEN[0]) >= 2


@pytest.mark.sound
@with_sound
def test_a_speaker_that_plays_nothing(sound: SoundServer, tmp_path: Path) -> None:
    """Asked for again by its name; the choice is kept."""
    file = tmp_path / "tallyhand.toml"
    talk = begin(["speaker"], file, sound.env)
    talk.answer("Did you hear it?", "no")
    talk.wait_for("Which speaker shall it be?")
    assert "the system's own choice" in talk.told
    talk.close()


@pytest.mark.sound
@with_sound
def test_another_language_is_heard_at_once(sound: SoundServer, tmp_path: Path) -> None:
    """The sample comes in the language's own voice and words; the voice stays the language's."""
    file = tmp_path / "tallyhand.toml"
    talk = begin(["voice"], file, sound.env)
    talk.answer("Which language", "de")
    talk.answer("Words a minute?", "")
    talk.answer("Loudness?", "")
    talk.answer("Is it right?", "")
    assert talk.end() == 0, talk.told
    found = settings.read_settings(file).speech
    assert (found.language, found.voice) == ("de", settings.SpeechSettings().voice)
    assert "de: Deutsch" in talk.told and "Nothing was played" not in talk.told


def noise(file: Path, level: float, seconds: int) -> Path:
    """White noise at so many dB below full scale."""
    dice = random.Random(7)
    size = 32768 * 10 ** (level / 20)
    samples = array.array("h", (round(dice.gauss(0, size)) for _ in range(16000 * seconds)))
    with wave.open(str(file), "wb") as out:
        out.setnchannels(1)
        out.setsampwidth(2)
        out.setframerate(16000)
        out.writeframes(samples.tobytes())
    return file


@pytest.mark.sound
@pytest.mark.slow
@with_sound
def test_noise_is_measured_with_the_machine_off_and_on(sound: SoundServer, tmp_path: Path) -> None:
    """A voice far above a quiet room, then hardly above a loud one: what to expect follows."""
    file = tmp_path / "tallyhand.toml"
    file.write_text('[ear]\nkind = "grammar"\n')
    roar = noise(tmp_path / "roar.wav", -26, 60)
    hearing = Hearing(sound)
    talk = begin(["microphone"], file, sound.env)
    talk.answer("Which microphone?", "1")
    _say_when_asked(talk, hearing, sound)
    talk.answer("Is it running?", "yes")
    playing = subprocess.Popen(["paplay", "--device=mic_feed", str(roar)], env=sound.env)
    try:
        _say_when_asked(talk, hearing, sound)
        talk.wait_for("What would help", 60)
    finally:
        playing.kill()
        playing.wait()
        hearing.close()
    assert talk.end() == 0, talk.told
    quiet, loud = (
        int(talk.told.split(f"With the machine {when} your voice stands ")[1].split(" dB")[0])
        for when in ("off", "running")
    )
    assert quiet > 25 and loud < 18
    assert "the grammar ear took" in talk.told and "headset" in talk.told


def _say_when_asked(talk: Dialogue, hearing: Hearing, sound: SoundServer) -> None:
    """As a person does: not before the question is over."""
    talk.wait_for("Now say: spindle locked.")
    talk.wait_for("listening")
    hearing.wait_for_quiet()
    sound.say("spindle locked")


@pytest.mark.sound
@with_sound
def test_a_microphone_that_is_mute(sound: SoundServer, tmp_path: Path) -> None:
    """Nobody speaks: told in a line, and the set-up goes on to its end."""
    file = tmp_path / "tallyhand.toml"
    file.write_text('[ear]\nkind = "grammar"\n')
    talk = begin(["microphone"], file, sound.env)
    talk.answer("Which microphone?", "1")
    talk.wait_for("No voice was heard.", 60)
    talk.answer("Is it running?", "no")
    assert talk.end() == 0 and "tallyhand setup microphone" in talk.told


def test_without_any_sound(tmp_path: Path) -> None:
    """Every step is there as text, with a line on what is missing and the cure."""
    file = tmp_path / "tallyhand.toml"
    env = {**os.environ, "PULSE_SERVER": "unix:/nonexistent"}
    talk = begin([], file, env)
    for _ in range(4):
        assert talk.process.stdin
        talk.process.stdin.write(b"\n" * 5)
    assert talk.end() == 0, talk.told
    assert "The set-up is done." in talk.told and "Traceback" not in talk.told
    assert settings.read_settings(file).job.head == "three-plate-40"


@pytest.mark.skipif(bool(screens.missing()), reason=f"not here: {screens.missing()}")
def test_the_pedal_is_taught_by_a_press_under_x(tmp_path: Path) -> None:
    """A real key through a real X server; asked whether there is one first."""
    file = tmp_path / "tallyhand.toml"
    with Screen() as screen:
        talk = begin(["pedal", "--silent"], file, screen.env)
        talk.answer("Is there a foot pedal", "yes")
        talk.wait_for("Press the pedal now")
        for _ in range(20):
            screen.press("F9")
            try:
                talk.wait_for("The pedal is key", 0.5)
            except AssertionError:
                continue
            break
        assert talk.end() == 0, talk.told
    binding = read_binding(pedal_file(file))
    assert binding is not None and (binding.source, binding.key) == ("x", "f9")


@pytest.mark.skipif(shutil.which("umockdev-run") is None, reason="not here: umockdev-run")
def test_the_pedal_is_taught_by_a_press_on_usb(tmp_path: Path) -> None:
    """A recorded USB pedal; the old one is kept unless it is taught anew."""
    file, answers = tmp_path / "tallyhand.toml", tmp_path / "answers"
    write_binding(pedal_file(file), KeyBinding("evdev", "F14", 184, "Old Pedal", "1:2"))
    answers.write_text("yes\n")
    moves = [move for n in range(8) for move in mock_pedal.press(1 + n, 0.2)]
    words = ["-m", "assistant", "setup", "pedal", "--silent", "--config", str(file)]
    env = {name: value for name, value in os.environ.items() if name != "DISPLAY"}

    def run(folder: Path) -> str:
        done = subprocess.run(
            mock_pedal.command(folder, moves, [*words, "--answers", str(answers)]),
            capture_output=True, text=True, check=False, timeout=60, cwd=ROOT, env=env,
        )  # fmt: skip
        assert done.returncode == 0, done.stderr
        return done.stdout

    answers.write_text("\n")
    run(tmp_path)
    binding = read_binding(pedal_file(file))
    assert binding is not None and binding.key == "F14"
    answers.write_text("yes\n")
    assert f"key F13 of {mock_pedal.NAME}" in run(tmp_path)
    binding = read_binding(pedal_file(file))
    assert binding is not None and (binding.key, binding.device) == ("F13", mock_pedal.NAME)


def test_ctrl_c_on_a_terminal_leaves_and_keeps(tmp_path: Path) -> None:
    """On a real terminal: what was answered stands in the file; the exit is polite."""
    file = tmp_path / "tallyhand.toml"
    master, slave = pty.openpty()
    # Where the tests run in the background, Ctrl-C is ignored by all that they start.
    listening = ["env", "--default-signal=INT", *PROGRAM]
    process = subprocess.Popen(
        [*listening, "setup", "voice", "head", "--silent", "--config", str(file)],
        stdin=slave, stdout=slave, stderr=slave, cwd=ROOT, start_new_session=True,
    )  # fmt: skip
    os.close(slave)
    told = b""

    def until(text: bytes) -> None:
        nonlocal told
        while text not in told:
            told += os.read(master, 4096)

    until(b"Which language")
    os.write(master, b"en\n")
    until(b"Which voice?")
    os.write(master, b"en-gb\n")
    until(b"Words a minute?")
    os.write(master, b"133\n")
    until(b"Loudness?")
    process.send_signal(signal.SIGINT)
    until(b"tallyhand run pinion")
    assert process.wait(60) == 0
    assert b"Left." in told and b"Traceback" not in told
    found = settings.read_settings(file).speech
    assert (found.voice, found.words_per_minute, found.loudness) == ("en-gb", 133, 100)


def test_killed_at_any_question_the_file_is_whole(tmp_path: Path) -> None:
    """A kill in the middle of a set-up: what was answered is there, and the file reads well."""
    file = tmp_path / "tallyhand.toml"
    talk = begin(["voice", "--silent"], file, dict(os.environ))
    talk.answer("Which language", "")
    talk.answer("Which voice?", "en-gb")
    talk.answer("Words a minute?", "133")
    talk.wait_for("Loudness?")
    talk.process.send_signal(signal.SIGKILL)
    talk.process.wait()
    found = settings.read_settings(file).speech
    assert (found.voice, found.words_per_minute) == ("en-gb", 133)


def test_the_accuracy_is_that_of_the_page() -> None:
    """The program's data are the figures that the docs publish."""
    page = (ROOT / "docs" / "hearing-figures.md").read_text("utf-8")
    record = accuracy.from_page(page)
    assert record == json.loads(accuracy.FILE.read_text("utf-8")), (
        f"renew: {sys.executable} -m assistant.hearing.accuracy docs/hearing-figures.md"
    )
    assert {"trained", "grammar"} <= set(record["ears"])


@pytest.mark.parametrize("ear", ["trained", "grammar"])
def test_what_to_expect_grows_with_the_voice(ear: str) -> None:
    """Never more phrases in more noise; no figure outside the table, and none of an ear that
    was not measured."""
    found = [accuracy.expected_accuracy(ear, decibels) for decibels in range(-10, 60, 2)]
    for worse, better in pairwise(found):
        assert worse and better and worse.low <= better.low and worse.high <= better.high
        assert worse.low <= worse.high and worse.wrong <= 100
    assert accuracy.expected_accuracy("vosk", 10) is None
