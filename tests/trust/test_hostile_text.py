"""Names and notes from outside can't steer what shows or speaks them."""

from __future__ import annotations

import json
from dataclasses import replace
from pathlib import Path

import pytest

from assistant.engine import wording
from assistant.engine.events import NoteWritten
from assistant.journal.writing import Journal, read_journal
from assistant.words.plain_text import LONGEST, plain
from tests.commands import one_line, tallyhand
from tests.journal.played import JOB
from tests.trust.test_fuzz import HOSTILE

TITLE = "Pinion \x1b[2J\x1b]0;mine\x07 <script>alert(1)</script> \u202e"
FILE = """title = {title}
head = "three-plate-40"
[work]
kind = "divisions"
count = 9
"""


@pytest.mark.parametrize("text", HOSTILE, ids=lambda text: ascii(text)[:20])
def test_plain_text_is_one_line_and_can_be_shown(text: str) -> None:
    """No control character, no endless line, nothing that has no bytes."""
    shown = plain(f"before {text} after")
    assert shown.isprintable() and shown.startswith("before ")
    assert len(shown) <= LONGEST + 1
    shown.encode("utf-8")


def test_plain_text_leaves_words_alone() -> None:
    """What a machinist writes comes out as it went in."""
    for text in ("Grat an Zahn 2 ⚙, 8°50′, ½ turn", wording.SAFETY):
        assert plain(text) == text


@pytest.mark.parametrize(
    ("title", "why"),
    [
        (TITLE, "title holds '\\x1b', which can't be shown: leave it out"),
        ("Pinion\nfor the mill", "title holds '\\n', which can't be shown"),
        ("\u202eniniP", "title holds '\\u202e', which can't be shown"),
        ("x" * 5_000, "title has 5000 letters: give at most 200"),
    ],
    ids=["escape", "line", "turned", "long"],
)
def test_a_title_that_cannot_be_shown_is_refused(title: str, why: str, tmp_path: Path) -> None:
    """With the file, the line and the cure; letters of any language are right."""
    file = tmp_path / "job.toml"
    file.write_text(FILE.format(title=json.dumps(title)), "utf-8")
    line = one_line(tallyhand("job", "check", file), 1)
    assert f"{file} line 1: {why}" in line
    file.write_text(FILE.format(title=json.dumps("Zahnrad für die Mühle ⚙ " + "x" * 170)), "utf-8")
    assert tallyhand("job", "check", file).returncode == 0


@pytest.mark.parametrize("key", ["name", "describe", "plate"])
def test_a_head_whose_names_cannot_be_shown_is_refused(key: str, tmp_path: Path) -> None:
    """The same rule as for a title: an escape in a head's file never reaches the terminal."""
    names = {"name": "mill", "describe": "an old head", "plate": "A"}
    names[key] += "\x1b[2J"
    words = {name: json.dumps(text) for name, text in names.items()}
    file = tmp_path / "head.toml"
    file.write_text(
        f"name = {words['name']}\ndescribe = {words['describe']}\nworm_ratio = 40\n"
        f"direct_circle = []\n[[plate]]\nname = {words['plate']}\ncircles = [15, 16]\n"
    )
    line = one_line(tallyhand("plan", "--head", file, "--divisions", "15"), 1)
    assert "holds '\\x1b', which can't be shown: leave it out" in line
    assert "\x1b" not in line


def test_a_hostile_file_name_reaches_no_terminal(tmp_path: Path) -> None:
    """Complaints quote what they are about, and nothing in it steers the terminal."""
    finished = tallyhand("job", "check", tmp_path / "pinion\x1b[2J.toml")
    assert finished.returncode == 1
    assert "pinion?[2J.toml" in finished.stderr and "\x1b" not in finished.stderr


def test_a_hostile_title_reaches_no_terminal(tmp_path: Path) -> None:
    """A journal may come from elsewhere: listing the job prints no escape sequence."""
    Journal.create(tmp_path, replace(JOB, title=TITLE), "").close()
    finished = tallyhand("log", "--data", tmp_path)
    assert finished.returncode == 0
    assert "\x1b" not in finished.stdout and "\x07" not in finished.stdout
    assert "\u202e" not in finished.stdout and "Pinion ?[2J" in finished.stdout


@pytest.mark.parametrize("text", HOSTILE, ids=lambda text: ascii(text)[:20])
def test_a_hostile_note_comes_back_as_it_was_and_as_json(text: str, tmp_path: Path) -> None:
    """The journal keeps every letter; `log --json` shows them in plain ASCII."""
    journal = Journal.create(tmp_path, JOB, "")
    journal.append(NoteWritten(1.0, text), journal.last_state())
    journal.close()
    assert read_journal(journal.path).entries[-1].event == NoteWritten(1.0, text)
    finished = tallyhand("log", "--json", "--data", tmp_path)
    assert finished.stdout.isascii()
    (job,) = json.loads(finished.stdout)["jobs"]
    assert job["events"][0]["event"]["text"] == text
