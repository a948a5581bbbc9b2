"""The journal: one SQLite file for each session, written before anything is acted on.

Write-ahead log with synchronous FULL: once `append` returns, the event is on the disk, and
a kill or a power cut at any moment loses at most the record being written. A chain of hashes
runs through the records, so that a changed one is found out.

What is opened is looked at first, on a copy, so that a damaged or a newer journal stays as
it was found, byte for byte.
"""

from __future__ import annotations

import json
import os
import re
import secrets
import sqlite3
import time
from collections.abc import Mapping
from contextlib import closing, suppress
from pathlib import Path
from types import MappingProxyType
from typing import Any

from assistant.engine.events import Event, to_record
from assistant.engine.state import State
from assistant.job.programme import Programme
from assistant.journal import witness
from assistant.journal.chain import next_link
from assistant.journal.fault import JournalFault, cannot
from assistant.journal.lock import Lock
from assistant.journal.names import ENDING, VERSION, journals
from assistant.journal.reading import (
    APPLICATION_ID,
    CHAINED_SINCE,
    Entry,
    Found,
    JournalRecords,
    Standing,
    entries_of,
    read_journal,
    standing,
)
from assistant.journal.upgrade import keep_name, upgrade

__all__ = [
    "CHAINED_SINCE",
    "VERSION",
    "Entry",
    "Found",
    "Journal",
    "JournalFault",
    "JournalRecords",
    "Standing",
    "journals",
    "read_journal",
    "standing",
]

_SCHEMA = f"""
BEGIN;
PRAGMA application_id = {APPLICATION_ID};
PRAGMA user_version = {VERSION};
CREATE TABLE session (name TEXT PRIMARY KEY, value TEXT NOT NULL) STRICT, WITHOUT ROWID;
CREATE TABLE event (
    seq INTEGER PRIMARY KEY,
    at REAL NOT NULL,
    event TEXT NOT NULL,
    state TEXT NOT NULL,
    link TEXT NOT NULL DEFAULT ''
) STRICT;
COMMIT;
"""


_NOBODY: Mapping[str, str] = MappingProxyType({})


class Journal:
    """One session's journal, open for writing. Only one process can have it open."""

    def __init__(
        self, reading: Standing, connection: sqlite3.Connection, lock: Lock, found: Found
    ) -> None:
        self.path = reading.path
        self.programme, self.about = reading.programme, reading.about
        self.found = found
        self._db = connection
        stat = reading.path.stat()
        self._file = (stat.st_dev, stat.st_ino)
        self._lock = lock
        self._seq = reading.records
        self._link, self._state = reading.last_link, reading.state
        turn = witness.next_turn(reading.path.parent)
        self._witness = witness.Witness(reading.path, turn, self._seq)

    @classmethod
    def create(
        cls, folder: Path, programme: Programme, job_text: str, people: Mapping[str, str] = _NOBODY
    ) -> Journal:
        """A new journal in the folder. `people`: operator and machine, where they are known.

        Raises JournalFault when that can't be done.
        """
        fresh = folder / "none.new"
        try:
            _make_folder(folder)
            path = _free_path(folder, programme.title)
            fresh = path.with_suffix(".new")
            _write_session(fresh, programme, job_text, people)
            # Whole or not at all: a kill before this line leaves no half-made journal.
            fresh.rename(path)
            keep_name(folder)
        except (OSError, sqlite3.Error) as error:
            _remove(fresh)
            raise cannot("make a journal in", folder, error, begun=False) from error
        return cls.open(path)

    @classmethod
    def open(cls, path: Path) -> Journal:
        """The journal, ready to go on. Raises JournalFault and leaves a faulty file untouched."""
        lock = Lock(path)
        lock.take()
        try:
            as_found = standing(path)
            db = _connect(path)
            reading = as_found
            if as_found.version < VERSION:
                upgrade(read_journal(path), db)
                reading = standing(path)
            return cls(reading, db, lock, as_found.found)
        except (sqlite3.Error, OSError) as error:
            lock.release()
            raise cannot("open the journal", path, error) from error
        except JournalFault:
            lock.release()
            raise

    def append(self, event: Event, state: State, refused: str = "") -> None:
        """Record the event, the state after it, and why it was refused ("" where it was taken);
        on the disk when this returns. Raises JournalFault where it can't be written."""
        row = (
            self._seq + 1,
            float(event.at),
            _json({**to_record(event), "refused": refused}),
            _json(state.to_record()),
        )
        link = next_link(self._link, *row)
        self._still_there()
        try:
            self._db.execute("INSERT INTO event VALUES (?, ?, ?, ?, ?)", (*row, link))
        except sqlite3.Error as error:
            raise cannot("write the journal", self.path, error) from error
        self._seq, self._link, self._state = row[0], link, state
        self._witness.note(self._seq)

    def _still_there(self) -> None:
        """A file that was removed takes records all the same, and nobody ever reads them."""
        try:
            found = self.path.stat()
        except OSError as error:
            raise cannot("write the journal", self.path, error) from error
        if (found.st_dev, found.st_ino) != self._file:
            raise JournalFault(
                f"can't write the journal {self.path} (another file bears its name): "
                "put the journal back"
            )

    def entries(self) -> list[Entry]:
        """Everything recorded, in order."""
        return list(entries_of(self.path, self._db, VERSION, self.programme))

    def last_state(self) -> State:
        """The state after the last recorded event; the first state where there is none."""
        return self._state

    def close(self) -> None:
        """Closes the file and gives the lock back to others."""
        self._witness.close()
        self._db.close()
        self._lock.release()


# --- inside -----------------------------------------------------------------------------


def _connect(path: Path) -> sqlite3.Connection:
    db = sqlite3.connect(path, isolation_level=None, check_same_thread=False)
    db.execute("PRAGMA journal_mode = WAL")
    db.execute("PRAGMA synchronous = FULL")
    return db


def _make_folder(folder: Path) -> None:
    """The data folder, its name brought to the disk as well."""
    missing = [each for each in (folder, *folder.parents) if not each.exists()]
    for each in reversed(missing):
        # One by one: what mkdir makes on the way takes the rights of the umask, which may be any.
        each.mkdir(exist_ok=True, mode=0o700)
        keep_name(each.parent)
    folder.mkdir(exist_ok=True)  # complains where it is no folder


def _free_path(folder: Path, title: str) -> Path:
    """A name that no journal bears, even when the clock shows the same moment twice."""
    while (path := folder / _file_name(title)).exists():
        pass
    return path


def _file_name(title: str) -> str:
    slug = re.sub(r"[^a-z0-9]+", "-", title.lower()).strip("-")[:40] or "job"
    # One look at the clock: two may fall on either side of a second, and sort wrong.
    seconds, rest = divmod(time.time_ns(), 1_000_000_000)
    stamp = time.strftime("%Y%m%dT%H%M%S", time.localtime(seconds))
    return f"{stamp}-{rest:09d}-{slug}-{secrets.token_hex(2)}{ENDING}"


def _write_session(
    path: Path, programme: Programme, job_text: str, people: Mapping[str, str]
) -> None:
    from assistant import __version__

    # The file is made with private rights before anything is written into it.
    os.close(os.open(path, os.O_CREAT | os.O_EXCL | os.O_WRONLY, 0o600))
    about = {
        "program": __version__,
        "started": time.strftime("%Y-%m-%dT%H:%M:%S%z"),
        "job": job_text,
        "programme": _json(programme.to_record()),
        **{name: people[name] for name in ("operator", "machine") if people.get(name)},
    }
    with closing(sqlite3.connect(path)) as db:
        db.execute("PRAGMA synchronous = FULL")
        db.executescript(_SCHEMA)
        with db:
            db.executemany("INSERT INTO session VALUES (?, ?)", about.items())


def _remove(fresh: Path) -> None:
    for ending in ("", "-journal"):
        with suppress(OSError):
            Path(f"{fresh}{ending}").unlink()


def _json(record: dict[str, Any]) -> str:
    text = json.dumps(record, ensure_ascii=False, separators=(",", ":"))
    try:
        text.encode("utf-8")
    except UnicodeEncodeError:
        # Half a surrogate pair, from a keyboard that is not UTF-8, has no bytes of its own.
        return json.dumps(record, separators=(",", ":"))
    return text
