"""A job of November 2024 done again from its own journal. tests/kept/journal-1 has one that the
first tallyhand wrote: version 1 of the journal, a count wheel finished, its clock set to that day.

Nine cuts of sixty seconds each, and a note at the guard of cut three.
"""

from __future__ import annotations

import json
import shutil
import sqlite3
from contextlib import closing
from pathlib import Path
from typing import Any

import pytest

from assistant.journal.writing import journals, read_journal
from tests.commands import PROGRAM, ROOT, tallyhand
from tests.newcomer.terminal import Terminal, leave

KEPT = ROOT / "tests" / "kept" / "journal-1" / "20241125T090000-count-wheel.journal"
NOTE = "Last time, here: burr on the third notch, file it before the next one."
PRESS = {"press": "main"}


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    shutil.copy(KEPT, tmp_path / KEPT.name)
    return tmp_path


def played(folder: Path, *lines: dict[str, Any]) -> list[dict[str, Any]]:
    given = "".join(json.dumps(line) + "\n" for line in lines)
    done = tallyhand("rehearse", "--again", "count-wheel", "--data", folder, "--json", given=given)
    assert done.returncode == 0, done.stderr
    return [json.loads(line) for line in done.stdout.splitlines()]


def test_it_is_a_journal_of_the_first_form() -> None:
    with closing(sqlite3.connect(f"file:{KEPT}?mode=ro&immutable=1", uri=True)) as db:
        assert db.execute("PRAGMA user_version").fetchone() == (1,)
    assert read_journal(KEPT).about["started"].startswith("2024-11-25")


def test_the_same_moves_its_note_and_its_times(folder: Path) -> None:
    """The note before the guard of cut three and nowhere else; plate and moves as they were; what
    is left is told by the sixty seconds that a cut took then. The old file stays as it was."""
    before = KEPT.read_bytes()
    told = played(folder, *[PRESS] * 9, {"say": "how many left"}, *[PRESS] * 60)
    assert told[-1]["state"]["phase"] == "finished"
    said = [line["said"] for line in told if "said" in line]
    assert [text for text in said if "Last time" in text] == [NOTE]
    at = next(n for n, line in enumerate(told) if line.get("said") == NOTE)
    state = next(line["state"] for line in told[at:] if "state" in line)
    assert (state["phase"], state["cut"]) == ("guard", 3)
    assert any("minutes, by last time." in text for text in said)
    old, new = (read_journal(path).programme for path in (folder / KEPT.name, journals(folder)[-1]))
    assert (new.moves, new.plate, new.checklist) == (old.moves, old.plate, old.checklist)
    assert len(new.last_seconds) == 9 and all(60 <= each < 80 for each in new.last_seconds)
    assert (folder / KEPT.name).read_bytes() == before


def test_the_report_sets_the_times_of_then_beside_those_of_now(folder: Path) -> None:
    played(folder, *[PRESS] * 70)
    page = folder / "report.html"
    done = tallyhand("report", journals(folder)[-1].stem, "--data", folder, "--out", page)
    assert done.returncode == 0, done.stderr
    assert "last time" in page.read_text("utf-8").lower()


def test_at_the_bench_it_begins_with_the_set_up_of_then(folder: Path, tmp_path: Path) -> None:
    """`tallyhand run --again` on a terminal, with no sound: the first item, and kept when left."""
    own = tmp_path / "tallyhand.toml"
    own.write_text('[speech]\nengine = "none"\n[ear]\nkind = "none"\n[page]\nserve = false\n')
    terminal = Terminal(
        ["env", "-C", str(ROOT), "TERM=xterm", *PROGRAM, "run", "--again", "count-wheel",
         "--data", str(folder), "--config", str(own)]
    )  # fmt: skip
    terminal.wait_for("Head bolted down", 60)
    leave(terminal)
    begun = read_journal(journals(folder)[-1])
    assert [each.text for each in begun.programme.recalls] == [NOTE.split(": ")[1].rstrip(".")]
    assert begun.programme.moves == read_journal(KEPT).programme.moves
