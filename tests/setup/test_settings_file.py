"""The settings file that the set-up writes: commented, kept, never half written, never spoilt."""

from __future__ import annotations

import json
import re
from datetime import date
from pathlib import Path
from typing import Any

import pytest

from assistant.files import settings
from assistant.setup.ear_talk import Measured, trial_line
from assistant.setup.settings_text import SettingsText
from tests.commands import ROOT, one_line, tallyhand

# Language, voice, words a minute, loudness, ratio, head, units, pedal, lock and guard.
ALL = ("en", "en-gb", "130", "80", "40", "two-sided-40", "in", "no", "pedal")


def setup(file: Path, answers: tuple[str, ...], *steps: str) -> str:
    """What it printed, with these answers and then the end of the input."""
    given = file.with_name("answers.txt")
    given.parent.mkdir(parents=True, exist_ok=True)
    given.write_text("\n".join(answers) + "\n" if answers else "", "utf-8")
    finished = tallyhand("setup", *steps, "--silent", "--config", file, "--answers", given)
    assert (finished.returncode, finished.stderr) == (0, ""), finished.stderr
    return finished.stdout


def chosen(file: Path) -> tuple[object, ...]:
    found = settings.read_settings(file)
    speech, job = found.speech, found.job
    return speech.voice, speech.words_per_minute, speech.loudness, job.head, job.units


def test_a_first_set_up_writes_one_commented_file(tmp_path: Path) -> None:
    """All answers are in it, every setting with its comment, and the rest at its default."""
    file = tmp_path / "new" / "tallyhand.toml"
    told = setup(file, ALL)
    assert chosen(file) == ("en-gb", 130, 80, "two-sided-40", "in")
    assert settings.read_settings(file).answers.lock_and_guard == "pedal"
    assert "keys or page alone, advised" in told
    assert str(file) in told and "The set-up is done." in told
    shipped = (ROOT / "config" / "tallyhand.toml").read_text("utf-8")
    comments = [line.split("#", 1)[1] for line in shipped.splitlines()[3:] if "#" in line]
    text = file.read_text("utf-8")
    assert len(comments) > 15 and all(comment in text for comment in comments)
    default, found = settings.Settings(file), settings.read_settings(file)
    assert (found.ear, found.pedal, found.page) == (default.ear, default.pedal, default.page)
    assert {each.name for each in file.parent.iterdir()} == {"answers.txt", "tallyhand.toml"}


OWN = """# my own words
[page]
port = 9000  # the tablet looks for this one

[speech]
loudness = 120   # over the compressor
# a line of mine

[ear]
accept = 0.65
"""


def test_what_the_person_wrote_stays(tmp_path: Path) -> None:
    """Comments, order and other settings stay; only the answers are changed; the old is kept."""
    file = tmp_path / "tallyhand.toml"
    file.write_text(OWN)
    told = setup(file, ("", "", "130", "110", "40", "two-sided-40", "auto", "no"))
    text = file.read_text()
    for line in OWN.splitlines():
        assert line.replace("120", "110") in text
    assert text.index("[page]") < text.index("[speech]") < text.index("[ear]")
    found = settings.read_settings(file)
    assert (found.page.port, found.ear.accept, found.speech.loudness) == (9000, 0.65, 110)
    assert found.speech.words_per_minute == 130 and found.job.head == "two-sided-40"
    (kept,) = tmp_path.glob("tallyhand.toml.before-*")
    assert kept.read_text() == OWN and str(kept) in told


def test_enter_keeps_everything(tmp_path: Path) -> None:
    """A second run with Enter alone changes not a byte, and keeps no copy."""
    file = tmp_path / "tallyhand.toml"
    setup(file, ALL)
    before = file.read_bytes()
    setup(file, ("",) * 20)
    assert file.read_bytes() == before
    assert not list(tmp_path.glob("*before*"))


@pytest.mark.parametrize("count", range(len(ALL) + 1))
def test_left_at_any_question_nothing_is_lost(count: int, tmp_path: Path) -> None:
    """What was answered before leaving is in the file, which reads well; the rest is as before."""
    file = tmp_path / "tallyhand.toml"
    file.write_text(OWN)
    told = setup(file, (*ALL[:count], "q"))
    before = ("en-us", 145, 120, "", "auto")
    wanted = [*before]
    for place, answer in enumerate(("en-gb", 130, 80)):
        if count > place + 1:
            wanted[place] = answer
    if count > 5:
        wanted[3] = "two-sided-40"
    if count > 6:
        wanted[4] = "in"
    assert list(chosen(file)) == wanted
    assert ("Left." in told) == (count < len(ALL))
    assert not [each for each in tmp_path.iterdir() if each.name.endswith(".part")]
    if count > 1:
        (kept,) = tmp_path.glob("tallyhand.toml.before-*")
        assert kept.read_text() == OWN


@pytest.mark.parametrize(
    ("text", "part"),
    [
        ("[speach]\n", "did you mean 'speech'"),
        ("format = 2\n[speech]\nvoice = 3\n", "newer tallyhand"),
        ("[speech\n", "mend that line"),
    ],
)
def test_a_file_that_can_not_be_read_is_left_alone(text: str, part: str, tmp_path: Path) -> None:
    """Faulty or newer: one line with the place and the cure, and not a byte changes."""
    file = tmp_path / "tallyhand.toml"
    file.write_text(text)
    line = one_line(tallyhand("setup", "--silent", "--config", file, given="\n"), 1)
    assert f"{file} line 1: " in line and part in line
    assert file.read_text() == text and [each.name for each in tmp_path.iterdir()] == [file.name]


def test_a_folder_that_can_not_be_made(tmp_path: Path) -> None:
    """One line with the cure."""
    (tmp_path / "taken").write_text("a file, not a folder")
    file = tmp_path / "taken" / "tallyhand.toml"
    given = "\n".join(ALL)
    line = one_line(tallyhand("setup", "--silent", "--config", file, given=given), 1)
    assert str(file) in line and "writable" in line


@pytest.mark.parametrize(
    ("answers", "part"),
    [
        (("", "loud"), "give a number from 1 to"),
        (("", "", "500"), "from 80 to 400"),
        (("", "", "", "0"), "from 1 to 200"),
        (("", "", "", "", "forty"), "is no number"),
        (("", "", "", "", "0"), "from 1 to 1000"),
        (("", "", "", "", "", "", "", "perhaps"), "answer yes or no"),
    ],
)
def test_an_answer_that_will_not_do(answers: tuple[str, ...], part: str, tmp_path: Path) -> None:
    """One line says what would, and the question comes again."""
    told = setup(tmp_path / "tallyhand.toml", (*answers, *[""] * 20))
    assert part in told and "The set-up is done." in told
    found = settings.read_settings(tmp_path / "tallyhand.toml")
    assert found.speech == settings.SpeechSettings()


def test_wrong_use() -> None:
    """An unknown step, and answers that are not there."""
    line = one_line(tallyhand("setup", "spindle", "--silent"), 2)
    assert "'spindle'" in line and "head" in line
    line = one_line(tallyhand("setup", "--silent", "--answers", "/no/such/file"), 1)
    assert "/no/such/file" in line


NO_DEVICES = '[speech]\nengine = "none"\n[ear]\nkind = "none"\n[pedal]\nkind = "none"\n'


def found_by_doctor(file: Path, part: str) -> list[dict[str, Any]]:
    finished = tallyhand("doctor", "--json", "--config", file)
    every = json.loads(finished.stdout)["findings"]
    return [each for each in every if each["part"] == part]


def test_doctor_looks_at_the_drawer(tmp_path: Path) -> None:
    """Also at the plates in it, beside the head that they belong to."""
    file = tmp_path / "tallyhand.toml"
    head = f'{NO_DEVICES}[job]\nhead = "three-plate-40"\n'
    file.write_text(head)
    assert found_by_doctor(file, "drawer") == []
    cutter = '[[drawer.cutter]]\nname = "six"\nform = "side"\n'
    file.write_text(f'{head}[drawer]\nplates = ["A", "C"]\n{cutter}width = "6 mm"\n')
    (found,) = found_by_doctor(file, "drawer")
    assert found["ok"] and found["what"] == "1 cutter; plates A, C"
    file.write_text(f"{head}{cutter}")
    (found,) = found_by_doctor(file, "drawer")
    assert not found["ok"] and "line 9: width is missing" in found["what"] and found["cure"]
    file.write_text(f'{head}[drawer]\nplates = ["X"]\n')
    (found,) = found_by_doctor(file, "drawer")
    assert not found["ok"] and "'X' is no plate" in found["what"]


def test_doctor_shows_what_the_set_up_measured(tmp_path: Path) -> None:
    """Voice and noise as they were then; of the head its plates and what it is off by."""
    file, own = tmp_path / "tallyhand.toml", tmp_path / "mine.toml"
    head = (ROOT / "config" / "heads" / "three-plate-40.toml").read_text()
    waves = "worm_wave = [12, -7]\nwheel_waves = [20, 9, -4, 3]\nknown_within = 2.5\n"
    own.write_text(f"{head}\n[errors]\n{waves}")
    file.write_text(f'{NO_DEVICES}[job]\nhead = "{own}"\n')
    text = SettingsText(file)
    told = trial_line(Measured(-67.0, -38.0, -12.0, None), date(2026, 11, 27))
    assert told == "voice 29 dB over the noise; noise -67 dB, voice -38 dB (2026-11-27)"
    text.set("measured", "machine_running", told)
    (found,) = found_by_doctor(file, "measured")
    assert found["what"] == f"machine running: {told}"
    (found,) = found_by_doctor(file, "head")
    assert found["what"].endswith(
        "40 to 1; plates A, B, C; its own errors measured, known within 2.5″"
    )


def test_the_set_up_ends_with_the_demo_on_ones_own_head(tmp_path: Path) -> None:
    """21 teeth at 40 to 1: a turn and 19 holes on 21, or 38 on 42."""
    file = tmp_path / "tallyhand.toml"
    for head, told in (("three-plate-40", "1 turn + 19 holes on 21"),
                       ("two-sided-40", "1 turn + 38 holes on 42")):  # fmt: skip
        file.write_text(f'[job]\nhead = "{head}"\n')
        done = tallyhand("setup", "units", "--silent", "--config", file, given="\n")
        assert f"The demo on your {head}: 21 teeth, plate" in done.stdout and told in done.stdout
        assert "tallyhand run pinion --own-head" in done.stdout
        assert "tallyhand job new" in done.stdout and "trial round" in done.stdout
    file.write_text('[job]\nhead = "three-plate-40"\n[drawer]\nplates = ["X"]\n')
    done = tallyhand("setup", "units", "--silent", "--config", file, given="\n")
    assert "Your drawer:" in done.stdout and "'X' is no plate" in done.stdout


def test_doctor_reads_the_chosen_head(tmp_path: Path) -> None:
    """A head of the settings that is gone, or has a fault, is found before a job is begun."""
    file = tmp_path / "tallyhand.toml"
    head = tmp_path / "mine.toml"
    head.write_text('name = "mine"\nworm_ratio = 40\n[[plate]]\nname = "A"\ncircles = [1]\n')
    off = '[speech]\nengine = "none"\n[ear]\nkind = "none"\n[pedal]\nkind = "none"\n[job]\nhead = '
    for name, ok, part in (
        ("two-sided-40", True, "40 to 1"),
        ("no-such", False, "no-such"),
        (str(head), False, "line 5"),
    ):
        file.write_text(f'{off}"{name}"\n')
        finished = tallyhand("doctor", "--json", "--config", file)
        (found,) = (
            each for each in json.loads(finished.stdout)["findings"] if each["part"] == "head"
        )
        assert found["ok"] == ok and part in found["what"]
        assert bool(found["cure"]) != ok


def test_the_chosen_head_serves_where_none_is_named(tmp_path: Path) -> None:
    """`plan` and `table` take it from the settings; without any they say how to choose one."""
    env = {"XDG_CONFIG_HOME": str(tmp_path)}
    line = one_line(tallyhand("plan", "--divisions", "21", env=env), 2)
    assert "--head" in line and "tallyhand setup head" in line
    setup(tmp_path / "tallyhand" / "tallyhand.toml", ("40", "two-sided-40"), "head")
    for words in (["plan", "--divisions", "54"], ["table", "--from", "54", "--to", "54"]):
        finished = tallyhand(*words, env=env)
        assert finished.returncode == 0 and "54" in finished.stdout, finished.stderr


def test_what_an_editor_saves_meanwhile_stays(tmp_path: Path) -> None:
    """The file is read again before each change."""
    file = tmp_path / "tallyhand.toml"
    first = SettingsText(file)
    first.set("speech", "loudness", 90)
    file.write_text(file.read_text().replace("port = 8437", "port = 8500"))
    first.set("speech", "words_per_minute", 130)
    found = settings.read_settings(file)
    assert (found.page.port, found.speech.loudness, found.speech.words_per_minute) == (
        8500, 90, 130,
    )  # fmt: skip


def test_the_units_of_the_settings_serve_where_a_job_names_none(tmp_path: Path) -> None:
    """A gear by module gives no length: it is told in inches where inches were chosen. One by
    diametral pitch is told in inches anyway, since that is a count for each inch."""
    job = tmp_path / "job.toml"
    job.write_text(
        'title = "Gear"\nhead = "three-plate-40"\n[work]\nkind = "spur-gear"\nteeth = 21\n'
        "module = 2\n"
    )
    pitch = tmp_path / "pitch.toml"
    pitch.write_text(job.read_text().replace("module = 2", "diametral_pitch = 12"))
    env = {"XDG_CONFIG_HOME": str(tmp_path)}
    metric = tallyhand("job", "check", job, env=env)
    by_pitch = tallyhand("job", "check", pitch, env=env)
    file = tmp_path / "tallyhand" / "tallyhand.toml"
    setup(file, ("in",), "units")
    inches = tallyhand("job", "check", job, env=env)
    assert metric.returncode == inches.returncode == 0, metric.stderr + inches.stderr
    # The addendum is 1/P inches, or the module: common practice in every gear handbook.
    told = [
        re.findall(r"(?m)^ *addendum +(\S+ \S+)", each.stdout)
        for each in (metric, inches, by_pitch)
    ]
    assert told == [["2 mm"], ["0.0787 in"], ["0.0833 in"]]
