"""What the set-up says of a microphone, a pedal and a voice, also where one of them is missing."""

from __future__ import annotations

import math
import os
import shutil
import subprocess
import time
from collections.abc import Iterator
from pathlib import Path

import pytest

from assistant.devices.pedal.binding import KeyBinding, pedal_file, read_binding, write_binding
from assistant.devices.sound.loudness import peak
from assistant.engine.events import Command
from assistant.files import settings
from assistant.files.packages_here import SOUND, to_install
from assistant.hearing.accuracy import Expectation
from assistant.hearing.judging import Heard
from assistant.setup.ear_talk import Measured, benchmark_words, ear_verdict, help_for
from assistant.setup.speaker_talk import voices
from tests.commands import PROGRAM, ROOT, one_line, tallyhand
from tests.setup.dialogue import Dialogue
from tests.whole import screen as screens
from tests.whole.screen import Screen
from tests.whole.sound import SoundServer, missing

TAKEN = Heard(0.0, 1.0, "spindle locked", Command.LOCKED, 0.97, True, "", 0.3)
UNSURE = Heard(0.0, 1.0, "", None, 0.2, False, "no phrase of ours", 0.3)


def measured(noise: float, voice: float | None, peak: float = -12.0) -> Measured:
    return Measured(noise, voice, peak, TAKEN if voice is not None else None)


def test_a_voice_far_over_the_noise() -> None:
    """30 dB of it: said with the figures it comes from and what was understood, and no advice."""
    found = measured(-60.0, -30.0)
    lines = ear_verdict("trained", found, "machine off")
    assert lines[0] == "With the machine off your voice stands 30 dB over the noise."
    assert "noise -60 dB, voice -30 dB" in lines[1]
    assert "understood: spindle locked (0.97 sure)" in lines[2]
    assert "of 100 phrases of strangers" in lines[3] and len(lines) == 4
    assert help_for("trained", found) == []


def test_an_ear_that_was_not_measured_promises_nothing() -> None:
    """No figure of another ear in its place."""
    assert not [line for line in ear_verdict("vosk", measured(-60.0, -30.0), "machine off")
                if "benchmark" in line]  # fmt: skip


def test_levels_that_are_wrong() -> None:
    """At the converter's limit, or hardly there: which way to turn the level."""
    loud = ear_verdict("trained", measured(-60.0, -6.0, peak=-0.1), "machine off")
    assert loud[-1].strip() == "Your voice is at the microphone's limit: turn its level down."
    faint = ear_verdict("trained", measured(-80.0, -55.0), "machine off")
    assert faint[-1].strip().startswith("Your voice is faint: turn the microphone's level up")
    # Full scale of 16 bits is 0 dB by definition; half of it is 6 dB less; silence has no level.
    peaks = [peak(sample.to_bytes(2, "little", signed=True)) for sample in (-32768, 16384, 0)]
    assert peaks == [0.0, pytest.approx(-6.02, abs=0.01), -100.0]


def test_nothing_was_understood() -> None:
    """No voice, or one that said no phrase: told as it was."""
    assert ear_verdict("trained", measured(-31.6, None), "machine running") == [
        "With the machine running: noise -32 dB, no voice."
    ]
    lines = ear_verdict("trained", Measured(-60.0, -30.0, -12.0, UNSURE), "machine off")
    assert "not taken: no phrase, no phrase of ours" in lines[2]
    lines = ear_verdict("trained", Measured(-60.0, -30.0, -12.0, None), "machine off")
    assert "nothing was understood" in lines[2]


@pytest.mark.parametrize(
    ("over", "part"),
    [
        (None, "the ear is not trusted with lock and guard at all"),
        (0.0, "the ear is not trusted with lock and guard at all"),
        (5.0, "the ear will often ask again"),
        (12.0, ""),
    ],
)
def test_what_would_help_in_noise(over: float | None, part: str) -> None:
    """The pedal first where it is loud. A headset halves the distance: 6 dB more of a voice (the
    inverse square law). Learning is offered for the ear that learns."""
    # Noise and voice together are louder than either: the voice alone is what stands over it.
    voice = None if over is None else -30 + 10 * math.log10(1 + 10 ** (over / 10))
    lines = help_for("trained", measured(-30.0, voice))
    assert lines[0] == "What would help:"
    assert (part in lines[1]) and ("the pedal" in lines[1]) == bool(part)
    assert [line for line in lines if "headset" in line and "about 6 dB louder" in line]
    assert "tallyhand voice learn" in lines[-1]
    assert "tallyhand voice learn" not in " ".join(help_for("grammar", measured(-30.0, voice)))


def test_the_figures_of_the_benchmark_in_words() -> None:
    """A span where it lies between two rows, one figure where there is one, errors by number."""
    assert "took 82 to 95 of 100 phrases" in benchmark_words("head", Expectation(82.0, 95.2, 1.6))
    assert "1.6 for another phrase" in benchmark_words("head", Expectation(82.0, 95.2, 1.6))
    assert "took 96 of 100 phrases" in benchmark_words("head", Expectation(96.0, 96.0, 0.0))
    assert "none for another phrase" in benchmark_words("head", Expectation(96.0, 96.0, 0.0))


def pedal(file: Path, *answers: str) -> str:
    given = "".join(f"{answer}\n" for answer in answers)
    words = ["setup", "pedal", "--silent", "--config", str(file)]
    done = tallyhand(*words, given=given, env={"DISPLAY": ""})
    assert (done.returncode, done.stderr) == (0, "")
    return done.stdout


def test_no_pedal_for_now(tmp_path: Path) -> None:
    """Answered no: what does the same; nothing is kept."""
    file = tmp_path / "tallyhand.toml"
    assert "Enter on the keyboard does the same" in pedal(file, "no")
    assert not pedal_file(file).exists()


def test_a_pedal_file_that_is_damaged(tmp_path: Path) -> None:
    """Told with its line and the cure, and asked as if there were none."""
    file = tmp_path / "tallyhand.toml"
    pedal_file(file).write_text('[pedal]\nsource = "evdev"\nkey = 3\n')
    told = pedal(file, "no")
    assert f"{pedal_file(file)} line 3: " in told and "teach the pedal again" in told
    assert "Is there a foot pedal, plugged in?" in told


def test_a_pedal_that_was_taught_stays(tmp_path: Path) -> None:
    """Named, and kept unless it is to be taught anew."""
    file = tmp_path / "tallyhand.toml"
    binding = KeyBinding("x", "f9", 65478)
    write_binding(pedal_file(file), binding)
    assert "The pedal is key f9 of any keyboard." in pedal(file, "no")
    assert read_binding(pedal_file(file)) == binding


@pytest.mark.skipif(
    any(os.access(path, os.R_OK) for path in Path("/dev/input").glob("event*")),
    reason="needs a machine whose input devices can't be read",
)
def test_where_no_key_can_be_listened_to(tmp_path: Path) -> None:
    """Neither a screen nor an input device: why, at once, and whether to try again."""
    file = tmp_path / "tallyhand.toml"
    told = pedal(file, "yes", "yes", "no")
    assert told.count("No pedal: no keys can be listened to: ") == 2
    assert told.count("Try again?") == 2 and not pedal_file(file).exists()
    line = one_line(tallyhand("doctor", "--learn-pedal", "--config", file, env={"DISPLAY": ""}), 1)
    assert line.startswith("no keys can be listened to: ") and "; " in line


@pytest.fixture
def screen() -> Iterator[Screen]:
    if screens.missing():
        pytest.skip(f"not here: {screens.missing()}")
    with Screen() as there:
        yield there


def pressed_until_told(talk: Dialogue, screen: Screen, key: str, text: str) -> None:
    """The key again and again, as a foot that is not sure, until this is told."""
    for _ in range(40):
        screen.press(key)
        try:
            talk.wait_for(text, 0.5)
        except AssertionError:
            continue
        return
    raise AssertionError(f"{text!r} was not told:\n{talk.told}")


def test_a_key_that_a_keyboard_has_too(screen: Screen, tmp_path: Path) -> None:
    """A pedal that types a letter is taken, and it is said that the keyboard's letter presses too;
    a kind of pedal in the settings that would not find it is set right."""
    file = tmp_path / "tallyhand.toml"
    file.write_text('[pedal]\nkind = "evdev"\n')
    talk = Dialogue(
        ["pedal", "--silent", "--config", file], {**screen.env, "PYTHONUNBUFFERED": "1"}
    )
    talk.answer("Is there a foot pedal", "yes")
    talk.wait_for("Press the pedal now")
    pressed_until_told(talk, screen, "b", "The pedal is key b of any keyboard.")
    assert talk.end() == 0
    assert "An ordinary keyboard has this key too" in talk.told
    assert settings.read_settings(file).pedal.kind == "auto"


def test_doctor_says_what_is_odd_about_a_taught_key(screen: Screen, tmp_path: Path) -> None:
    """`doctor --learn-pedal` changes no setting: it says that they ask for another kind."""
    file = tmp_path / "tallyhand.toml"
    file.write_text('[pedal]\nkind = "evdev"\n')
    learning = subprocess.Popen(
        [*PROGRAM, "doctor", "--learn-pedal", "--config", str(file)],
        env=screen.env, cwd=ROOT, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True,
    )  # fmt: skip
    while learning.poll() is None:
        screen.press("b", 60)
        time.sleep(0.4)
    told = learning.communicate()[0]
    assert learning.returncode == 0, told
    assert f"The pedal is the key b of any keyboard. Kept in {pedal_file(file)}" in told
    assert "Note: an ordinary keyboard has this key too." in told
    assert "Note: the settings ask for another kind, [pedal] kind = 'evdev'." in told
    assert file.read_text() == '[pedal]\nkind = "evdev"\n'


def test_the_voices_of_a_machine(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Those of the language, the present one among them; that one alone where espeak-ng can't be
    asked."""
    if shutil.which("espeak-ng"):
        found = [choice.key for choice in voices("de")]
        assert "de" in found and all(key.startswith("de") for key in found)
        assert "en-xx" in [choice.key for choice in voices("en-xx")]
    (tmp_path / "espeak-ng").write_text("no program\n")
    (tmp_path / "espeak-ng").chmod(0o755)
    monkeypatch.setenv("PATH", str(tmp_path))
    assert [choice.key for choice in voices("de")] == ["de"]
    monkeypatch.setenv("PATH", "")
    assert [choice.key for choice in voices("de")] == ["de"]


@pytest.fixture
def sound(tmp_path: Path) -> Iterator[SoundServer]:
    if missing():
        pytest.skip(f"not here: {missing()}")
    with SoundServer(tmp_path / "sound") as server:
        yield server


def begin(step: str, file: Path, sound: SoundServer) -> Dialogue:
    env = {**sound.env, "PYTHONUNBUFFERED": "1", "TALLYHAND_VOICE": str(file.parent / "voice")}
    return Dialogue([step, "--config", file], env)


@pytest.mark.sound
def test_teaching_the_voice_can_wait(sound: SoundServer, tmp_path: Path) -> None:
    """Offered where there is a microphone; answered no, the command for later."""
    talk = begin("learn", tmp_path / "tallyhand.toml", sound)
    talk.answer("Teach the ear your voice now?", "no")
    assert talk.end() == 0 and "Later: tallyhand voice learn" in talk.told


@pytest.mark.sound
def test_speech_that_is_off_in_the_settings(sound: SoundServer, tmp_path: Path) -> None:
    """The speaker can't be heard then: the setting to change is named."""
    file = tmp_path / "tallyhand.toml"
    file.write_text('[speech]\nengine = "none"\n')
    talk = begin("speaker", file, sound)
    talk.wait_for("No voice: speech is off in the settings; set [speech] engine to auto")
    assert talk.end() == 0


@pytest.mark.sound
def test_an_ear_that_can_not_be_opened(sound: SoundServer, tmp_path: Path) -> None:
    """A model that is not there: told in place of a measurement, and the set-up goes on."""
    file = tmp_path / "tallyhand.toml"
    file.write_text('[ear]\nkind = "vosk"\nvosk_model = "/no/model/here"\n')
    talk = begin("microphone", file, sound)
    talk.answer("Which microphone?", "1")
    talk.wait_for("No ear: ")
    assert talk.end() == 0 and "/no/model/here" in talk.told
    assert settings.read_settings(file).ear.vosk_model == "/no/model/here"


def test_learning_without_sound_is_refused(tmp_path: Path) -> None:
    """`voice learn` needs a microphone: one line with what is missing, nothing recorded."""
    env = {"PULSE_SERVER": "unix:/nonexistent", "TALLYHAND_VOICE": str(tmp_path / "voice")}
    line = one_line(tallyhand("voice", "learn", env=env), 1)
    assert ";" in line and not (tmp_path / "voice").exists()


def test_without_the_library_of_sound(tmp_path: Path) -> None:
    """PortAudio that can't be loaded: each command goes on without it, or says in one line what to
    install."""
    (tmp_path / "libportaudio.so.2").write_bytes(b"")
    env = {"LD_LIBRARY_PATH": str(tmp_path), "TALLYHAND_VOICE": str(tmp_path / "voice")}
    cure = f"install PortAudio: {to_install(SOUND)}"
    assert one_line(tallyhand("voice", "learn", env=env), 1).endswith(cure)
    file = tmp_path / "tallyhand.toml"
    file.write_text('[pedal]\nkind = "none"\n')
    steps = ("speaker", "microphone", "learn")
    done = tallyhand("setup", *steps, "--config", file, given="\n" * 5, env=env)
    assert (done.returncode, done.stderr) == (0, "") and "The set-up is done." in done.stdout
    assert [line.split(":")[0] for line in done.stdout.splitlines() if cure in line] == [
        "No voice", "No microphone",
    ]  # fmt: skip
    told = tallyhand("doctor", "--config", file, env=env).stdout.splitlines()
    assert [line.split()[1] for line in told if line.startswith("NOT")] == [
        "microphone", "speaker",
    ]  # fmt: skip
    assert sum(line.strip() == f"-> {cure}" for line in told) == 2
    assert "    microphones none" in told and "    speakers    none" in told
