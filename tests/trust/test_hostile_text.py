"""Names and notes from outside can't steer what shows or speaks them."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from assistant import wording
from assistant.events import NoteWritten
from assistant.journal import Journal, read
from assistant.plain_text import LONGEST, plain
from tests.commands import tallyhand
from tests.journal.played import JOB
from tests.trust.test_fuzz import HOSTILE

TITLE = r"Pinion \u001b[2J\u001b]0;mine\u0007 <script>alert(1)</script> \u202e"
FILE = f"""title = "{TITLE}"
head = "three-plate-40"
[work]
kind = "divisions"
count = 9
"""


@pytest.fixture
def job_file(tmp_path: Path) -> Path:
    path = tmp_path / "job.toml"
    path.write_text(FILE, "utf-8")
    return path


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


def test_a_hostile_title_reaches_no_terminal(job_file: Path, tmp_path: Path) -> None:
    """Rehearsing and listing the job print no escape sequence."""
    data = tmp_path / "data"
    for words in (["rehearse", job_file, "--data", data], ["log", "--data", data]):
        finished = tallyhand(*words)
        assert finished.returncode == 0
        assert "\x1b" not in finished.stdout and "\x07" not in finished.stdout
        assert "\u202e" not in finished.stdout and "Pinion ?[2J" in finished.stdout


@pytest.mark.parametrize("text", HOSTILE, ids=lambda text: ascii(text)[:20])
def test_a_hostile_note_comes_back_as_it_was_and_as_json(text: str, tmp_path: Path) -> None:
    """The journal keeps every letter; `log --json` shows them in plain ASCII."""
    journal = Journal.create(tmp_path, JOB, "")
    journal.append(NoteWritten(1.0, text), journal.last_state())
    journal.close()
    assert read(journal.path).entries[-1].event == NoteWritten(1.0, text)
    finished = tallyhand("log", "--json", "--data", tmp_path)
    assert finished.stdout.isascii()
    (job,) = json.loads(finished.stdout)["jobs"]
    assert job["events"][0]["event"]["text"] == text
