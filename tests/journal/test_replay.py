"""A journal may be unbroken and still be no session's: its records must follow, and make sense."""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Callable
from contextlib import closing
from pathlib import Path
from typing import Any

import pytest

from assistant.engine.engine import advance
from assistant.engine.events import Gesture, PedalUsed, SessionStarted
from assistant.engine.state import State
from assistant.engine.transitions import RULES
from assistant.journal.chain import first_link, next_link
from assistant.journal.replay import first_stray
from assistant.journal.writing import Journal, JournalFault, read_journal
from tests.commands import one_line, tallyhand
from tests.engine.jobs import MEASURED, programme
from tests.journal.played import made

JOB = programme(21)
START = SessionStarted(1.0, rules=RULES)


def worked(folder: Path, presses: int) -> Path:
    """A job of 21 cuts, pressed through for so long; its journal, closed."""
    journal, state = Journal.create(folder, JOB, "title = 'Count wheel'"), State()
    for event in (START, *(PedalUsed(3.0 + 9 * n, Gesture.PRESS) for n in range(presses))):
        state, _ = advance(JOB, state, event)
        journal.append(event, state)
    journal.close()
    return journal.path


def forge(path: Path, change: Callable[[list[list[Any]]], None]) -> None:
    """Rewrites the records by `change` and chains them anew, as somebody with this page could."""
    with closing(sqlite3.connect(path)) as db, db:
        about = dict(db.execute("SELECT name, value FROM session"))
        rows = [list(r) for r in db.execute("SELECT seq, at, event, state FROM event ORDER BY seq")]
        change(rows)
        db.execute("DELETE FROM event")
        link = first_link(about)
        for n, (_, *rest) in enumerate(rows, 1):
            link = next_link(link, n, *rest)
            db.execute("INSERT INTO event VALUES (?, ?, ?, ?, ?)", (n, *rest, link))


def states(change: Callable[[dict[str, Any]], None], seq: int) -> Callable[[list[list[Any]]], None]:
    """A forgery of one record's state."""

    def apply(rows: list[list[Any]]) -> None:
        state = json.loads(rows[seq - 1][3])
        change(state)
        rows[seq - 1][3] = json.dumps(state)

    return apply


def more_cuts(rows: list[list[Any]]) -> None:
    """Fifteen cuts that nobody made, behind the records of those that somebody did."""
    for _ in range(15):
        state = json.loads(rows[-1][3])
        state |= {"done": state["done"] + 1}
        rows.append([0, rows[-1][1] + 9, rows[-1][2], json.dumps(state)])


def test_an_honest_journal_follows(tmp_path: Path) -> None:
    """Every record is what the engine makes of the one before, to the end of the job."""
    assert first_stray(read_journal(worked(tmp_path, 250))) is None


def test_cuts_that_nobody_made_are_named(tmp_path: Path) -> None:
    """Written in after record 21 and chained anew: unbroken, but record 22 does not follow."""
    path = worked(tmp_path, 20)
    forge(path, more_cuts)
    assert len(read_journal(path).entries) == 36  # the chain alone has nothing against it
    stray = first_stray(read_journal(path))
    assert stray is not None and stray.record == 22 and stray.judged
    done = tallyhand("log", "verify", str(path))
    assert done.returncode == 1
    assert "record 22 does not follow from the one before" in done.stdout


@pytest.mark.parametrize("name", ["locked", "guarded", "done", "place", "size", "step"])
def test_any_part_of_a_state_is_held_against_the_rules(tmp_path: Path, name: str) -> None:
    """Whatever counts for the part is compared, in the middle of a journal too."""
    path = worked(tmp_path, 20)
    other = {"locked": True, "guarded": True, "done": 7, "place": 7, "size": "9", "step": "guard"}
    forge(path, states(lambda state: state.update({name: other[name]}), 12))
    stray = first_stray(read_journal(path))
    assert stray is not None and stray.record == 12 and name in stray.what


def test_older_rules_are_told_and_not_held_against_it(tmp_path: Path) -> None:
    """An upgrade must not turn an honest journal into a forgery."""

    def as_before(rows: list[list[Any]]) -> None:
        event = json.loads(rows[0][2])
        event["rules"] = RULES - 1
        rows[0][2] = json.dumps(event)
        states(lambda state: state.update(again=3), 12)(rows)

    path = worked(tmp_path, 20)
    forge(path, as_before)
    stray = first_stray(read_journal(path))
    assert stray is not None and not stray.judged
    done = tallyhand("log", "verify", str(path))
    assert done.returncode == 0, done.stdout
    assert "unbroken" in done.stdout and "by the rules of today" in done.stdout


IMPOSSIBLE = {
    "place": 99, "stage": 5, "settled": 40, "item": 50, "done": 22, "pass_number": 0,
    "measured": 3, "again": 22, "size": "wide", "locked": "yes", "pace": ["fast"], "step": "lathe",
}  # fmt: skip


@pytest.mark.parametrize("name", IMPOSSIBLE)
@pytest.mark.parametrize("seq", [12, 21])
def test_an_impossible_state_is_refused_in_a_line(tmp_path: Path, name: str, seq: int) -> None:
    """In the middle for whoever reads all of it, at the end for whoever goes on with it."""
    path = worked(tmp_path, 20)
    forge(path, states(lambda state: state.update({name: IMPOSSIBLE[name]}), seq))
    with pytest.raises(JournalFault, match=f"record {seq}: .*{name}|lathe|number|wide") as caught:
        read_journal(path)
    assert caught.value.record == seq and "\n" not in str(caught.value)
    if seq == 21:
        with pytest.raises(JournalFault):
            Journal.open(path)


@pytest.mark.parametrize("words", [("log",), ("report",), ("resume",), ("log", "verify")])
def test_every_command_refuses_it_in_a_line(tmp_path: Path, words: tuple[str, ...]) -> None:
    """No traceback, whichever command stumbles on it."""
    path = worked(tmp_path, 20)
    forge(path, states(lambda state: state.update(stage=5), 21))
    done = tallyhand(*words, "--data", str(tmp_path))
    assert done.returncode == 1
    assert "stage is 5, of 1" in done.stdout + done.stderr
    assert "Traceback" not in done.stderr


def test_all_that_a_session_comes_to_makes_sense(tmp_path: Path) -> None:
    """No bound is set too narrow: two passes with a size between, to the end."""
    journal = made(tmp_path, 90, programme(5, passes=2, items=3, **MEASURED))
    journal.close()
    assert len(read_journal(journal.path).entries) == 92


def test_a_journal_that_cannot_be_read_says_so_in_a_line(tmp_path: Path) -> None:
    """Also where it is a folder of that name."""
    (tmp_path / "odd.journal").mkdir()
    assert "odd.journal" in one_line(tallyhand("log", "--data", str(tmp_path)), 1)
