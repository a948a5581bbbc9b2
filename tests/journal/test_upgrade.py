"""A journal of an older version is brought up to date, whole or not at all."""

from __future__ import annotations

import sqlite3
from contextlib import closing
from pathlib import Path

import pytest

from assistant.engine.events import NoteWritten
from assistant.journal import upgrade
from assistant.journal.writing import VERSION, Journal, read_journal
from tests.commands import tallyhand
from tests.journal.old import write_version_1
from tests.journal.played import JOB, played


@pytest.fixture(params=[True, False], ids=["in the log", "carried over"])
def old(tmp_path: Path, request: pytest.FixtureRequest) -> Path:
    path = tmp_path / "20260101T000000-count-wheel.journal"
    write_version_1(path, JOB, played(12), in_log=request.param)
    assert Path(f"{path}-wal").exists() == request.param
    return path


def test_it_reads_the_same_before_and_after(old: Path) -> None:
    """Every event and state is there; the chain begins; the next record goes on."""
    before = read_journal(old)
    assert (before.version, before.last_link) == (1, "")
    journal = Journal.open(old)
    assert journal.found.version == 1
    assert journal.found.lines(1e9)[1] == f"It was brought from version 1 to version {VERSION}."
    journal.append(NoteWritten(99.0, "goes on"), journal.last_state())
    journal.close()
    after = read_journal(old)
    assert after.version == VERSION and after.last_link
    assert [(e.event, e.state) for e in after.entries[:-1]] == played(12)
    assert after.about["upgraded"] == "14 records of version 1"


def test_the_old_file_is_kept(old: Path) -> None:
    """It stays beside the new one, private and readable as it was."""
    before = read_journal(old)
    Journal.open(old).close()
    kept = Path(f"{old}.version-1")
    assert kept.stat().st_mode & 0o777 == 0o600
    assert read_journal(kept).entries == before.entries
    assert read_journal(kept).version == 1


def test_it_is_upgraded_once(old: Path) -> None:
    """A second opening finds the present version and changes nothing."""
    Journal.open(old).close()
    content = old.read_bytes()
    again = Journal.open(old)
    assert again.found.version == VERSION
    again.close()
    assert old.read_bytes() == content


@pytest.mark.parametrize("statement", range(20))  # BEGIN to COMMIT
def test_a_failure_at_any_statement_leaves_the_old_journal(
    old: Path, statement: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Half an upgrade does not exist: the old records are read, and the next try succeeds."""
    before = read_journal(old)

    class Failing:
        """The connection, until the statement whose turn it is."""

        def __init__(self, db: sqlite3.Connection) -> None:
            self._db, self._left = db, statement

        def execute(self, *words: object) -> sqlite3.Cursor:
            if self._left == 0:
                full = sqlite3.OperationalError("database or disk is full")
                full.sqlite_errorcode = sqlite3.SQLITE_FULL
                raise full
            self._left -= 1
            return self._db.execute(*words)  # type: ignore[arg-type]

        def __getattr__(self, name: str) -> object:
            return getattr(self._db, name)

    whole = upgrade.upgrade
    monkeypatch.setattr(
        "assistant.journal.writing.upgrade", lambda old, db: whole(old, Failing(db))
    )  # type: ignore[arg-type]
    with pytest.raises(Exception, match="free some space"):
        Journal.open(old)
    assert read_journal(old).entries == before.entries and read_journal(old).version == 1
    monkeypatch.undo()
    Journal.open(old).close()
    assert len(read_journal(old).entries) == len(before.entries)


def test_verify_says_that_the_old_one_has_no_chain(old: Path) -> None:
    """What can't be shown is not claimed; after the upgrade it says since when."""
    finished = tallyhand("log", "verify", old)
    assert finished.returncode == 1 and "version 1 has no chain" in finished.stdout
    Journal.open(old).close()
    finished = tallyhand("log", "verify", old)
    assert finished.returncode == 0
    assert "(chained later: 14 records of version 1)" in finished.stdout


@pytest.mark.parametrize("version", [0, -1, VERSION + 1, 250])
def test_no_other_version_is_touched(old: Path, version: int) -> None:
    """A version that this program does not know is left byte for byte."""
    with closing(sqlite3.connect(old)) as db:
        db.execute(f"PRAGMA user_version = {version}")
        db.execute("PRAGMA journal_mode = DELETE")
    content = old.read_bytes()
    with pytest.raises(Exception, match=r"newer tallyhand|no version"):
        Journal.open(old)
    assert old.read_bytes() == content


def test_a_record_missing_from_an_old_journal_is_found(old: Path) -> None:
    """It has no chain: the numbers of its records have to show it."""
    with closing(sqlite3.connect(old)) as db, db:
        db.execute("DELETE FROM event WHERE seq = 5")
    with pytest.raises(Exception, match="record 5 is missing"):
        Journal.open(old)
