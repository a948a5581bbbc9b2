"""Files of earlier forms stay readable; those of a newer one are refused and left alone.

`format-1/` holds a file of every kind as the first version read and wrote it. They are never
changed: when a form changes, `format-2/` is added beside it.
"""

from __future__ import annotations

import json
import shutil
from fractions import Fraction
from pathlib import Path

import pytest

from assistant.devices.pedal.binding import KeyBinding, read_binding
from assistant.engine.engine import advance
from assistant.engine.events import Command, SessionResumed
from assistant.engine.phases import Phase, phase_of
from assistant.files import file_format, settings
from assistant.hearing.vocabulary import built_in
from assistant.hearing.vocabulary import read_vocabulary as read_phrases
from assistant.job.compiler import head_of, programme_of, setups_of
from assistant.job.job_file import read_job
from assistant.journal.writing import Journal
from solver import load_head
from tests.commands import one_line, tallyhand

FIRST = Path(__file__).parent / "format-1"


def test_the_settings_of_the_first_form() -> None:
    """Every value arrives as it was written."""
    found = settings.read_settings(FIRST / "tallyhand.toml")
    speech, sound, ear = found.speech, found.sound, found.ear
    assert (speech.engine, speech.voice, speech.words_per_minute, speech.loudness) == (
        "espeak-ng", "en-gb", 130, 150,
    )  # fmt: skip
    assert (sound.microphone, sound.speaker) == ("Headset", "Boom box")
    assert (ear.kind, ear.vosk_model, ear.accept, ear.accept_lock_and_guard) == (
        "grammar", "", 0.7, 0.95,
    )  # fmt: skip
    assert (found.pedal.kind, found.keyboard.use, found.screen.kind) == ("evdev", False, "lines")
    assert (found.page.serve, found.page.port, found.page.network) == (False, 8500, True)


def test_the_phrases_of_the_first_form() -> None:
    """One's own stand beside the program's."""
    found = read_phrases(FIRST / "phrases.toml")
    own = {phrase: found[phrase] for phrase in found if phrase not in built_in()}
    assert own == {"brake is on": Command.LOCKED, "tell me that again": Command.SAY_AGAIN}


def test_the_pedal_of_the_first_form() -> None:
    """It need not be taught again."""
    binding = KeyBinding("evdev", "F13", 183, "Bench Pedal", "1209:0001", "")
    assert read_binding(FIRST / "pedal.toml") == binding


def test_the_head_of_the_first_form() -> None:
    """Every figure arrives exactly."""
    head = load_head(FIRST / "head.toml")
    assert (head.name, head.worm_ratio, head.plate_drive) == (
        "press-house-head", Fraction(81, 2), "geared",
    )  # fmt: skip
    assert [(plate.name, plate.circles) for plate in head.plates] == [
        ("A", (15, 16, 17)), ("B", (21, 23, 27)),
    ]  # fmt: skip
    assert head.direct_circle == (24,) and head.change_gears == (24, 24, 28, 32, 40, 44, 48)
    assert (head.idlers_for_with, head.scale_degrees) == (0, 1)
    assert head.tilt_degrees == (-5, 90) and head.errors.worm_arcsec == 60


def test_the_job_of_the_first_form() -> None:
    """It is read, and the same moves come out: 40/21 of a turn is one turn and 19/21."""
    job = read_job(FIRST / "job.toml")
    assert (job.title, job.fitted, job.unit, job.scale_every) == (
        "Pinion of the apple elevator", "A", "mm", 5,
    )  # fmt: skip
    head = head_of(job)
    programme = programme_of(job, head, setups_of(job, head)[0])
    assert programme.title == job.title
    finished = tallyhand("job", "check", FIRST / "job.toml")
    assert finished.returncode == 0, finished.stderr
    assert "nineteen holes" in finished.stdout.lower() or "19" in finished.stdout


def test_the_journal_of_the_first_form(tmp_path: Path) -> None:
    """It is listed, its chain holds, and the job goes on from the cut where it was left."""
    for file in FIRST.glob("pinion.journal*"):
        shutil.copy(file, tmp_path / file.name.replace("pinion", "20261125T173736-pinion"))
    finished = tallyhand("log", "--json", "--data", tmp_path)
    assert finished.returncode == 0, finished.stderr
    (job,) = json.loads(finished.stdout)["jobs"]
    assert (job["title"], job["finished"], len(job["events"])) == ("Cider mill pinion", False, 33)
    assert (job["state"]["phase"], job["state"]["cut"], job["state"]["done"]) == ("paused", 5, 4)
    (journal,) = tmp_path.glob("*.journal")
    verified = tallyhand("log", "verify", journal)
    assert verified.returncode == 0, verified.stdout + verified.stderr
    page = tmp_path / "report.html"
    report = tallyhand("report", "--data", tmp_path, "--out", page)
    assert report.returncode == 0 and "Cider mill pinion" in page.read_text(), report.stderr
    opened = Journal.open(journal)
    left = opened.last_state()
    resumed = SessionResumed(2e9)
    back, _ = advance(opened.programme, left, resumed)
    opened.append(resumed, back)
    opened.close()
    assert back.done == left.done == 4
    assert phase_of(back.step) is Phase.CHECK_POSITION


NEWER = f"format = {file_format.KNOWN + 1}\nsome_new_key = {{ }}\n"
READERS = {
    "settings": ["doctor", "--config"],
    "job": ["job", "check"],
    "head": ["plan", "--divisions", "9", "--head"],
}


@pytest.mark.parametrize("kind", READERS)
@pytest.mark.parametrize(
    ("text", "part"),
    [
        (NEWER, "newer tallyhand"),
        ('# of mine\nformat = "two"\n', "or leave"),
        ("# of mine\nformat = 0\n", "or leave"),
        ("# of mine\nformat = true\n", "or leave"),
    ],
)
def test_a_form_that_is_not_known(kind: str, text: str, part: str, tmp_path: Path) -> None:
    """One line with file, line and cure, before anything else is judged; not a byte changes."""
    file = tmp_path / "mine.toml"
    file.write_text(text)
    line = one_line(tallyhand(*READERS[kind], file), 1)
    place = 1 if text.startswith("format") else 2
    assert f"{file} line {place}: " in line and part in line
    assert file.read_text() == text


def test_newer_phrases(tmp_path: Path) -> None:
    """The same for the phrases, which are read from beside the settings."""
    folder = tmp_path / "tallyhand"
    folder.mkdir()
    (folder / "phrases.toml").write_text(NEWER)
    finished = tallyhand(
        "voice", "learn", "--from", tmp_path, env={"XDG_CONFIG_HOME": str(tmp_path)}
    )
    line = one_line(finished, 1)
    assert "phrases.toml line 1: " in line and "newer tallyhand" in line
