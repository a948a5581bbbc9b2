"""The journal: one SQLite file for each session, written before anything is acted on.

Write-ahead log with synchronous FULL: once `append` returns, the event is on the disk, and
a kill or a power cut at any moment loses at most the record being written.

What is opened is looked at first, on a copy, so that a damaged or a newer journal stays as
it was found, byte for byte.
"""

from __future__ import annotations

import json
import os
import re
import secrets
import shutil
import sqlite3
import tempfile
import time
from collections.abc import Iterator
from contextlib import closing, suppress
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from filelock import FileLock, Timeout

from assistant.cli import Refusal
from assistant.events import Event, from_record, to_record
from assistant.programme import Programme
from assistant.state import State

VERSION = 1
APPLICATION_ID = 0x7A11_7001
ENDING = ".journal"
_HEADER_BYTES = 100
_MAGIC = b"SQLite format 3\x00"
_SCHEMA = f"""
PRAGMA application_id = {APPLICATION_ID};
PRAGMA user_version = {VERSION};
CREATE TABLE session (name TEXT PRIMARY KEY, value TEXT NOT NULL) STRICT, WITHOUT ROWID;
CREATE TABLE event (
    seq INTEGER PRIMARY KEY,
    at REAL NOT NULL,
    event TEXT NOT NULL,
    state TEXT NOT NULL
) STRICT;
"""


class JournalFault(Refusal):
    """The journal can't be made, read or written; the message names the file and the cure."""


@dataclass(frozen=True, slots=True)
class Entry:
    """One recorded event and the state after it."""

    seq: int
    at: float
    event: Event
    state: State


class Journal:
    """One session's journal, open for writing. Only one process can have it open."""

    def __init__(self, path: Path, connection: sqlite3.Connection, lock: FileLock) -> None:
        self.path = path
        self._db = connection
        self._lock = lock
        self.programme, self.about = _read_session(path, connection)
        self._seq: int = connection.execute("SELECT ifnull(max(seq), 0) FROM event").fetchone()[0]

    @classmethod
    def create(cls, folder: Path, programme: Programme, job_text: str) -> Journal:
        """A new journal in the folder. Raises JournalFault when that can't be done."""
        path = folder / _file_name(programme.title)
        fresh = path.with_suffix(".new")
        try:
            folder.mkdir(parents=True, exist_ok=True, mode=0o700)
            _write_session(fresh, programme, job_text)
            # Whole or not at all: a kill before this line leaves no half-made journal.
            fresh.rename(path)
            _keep_name(folder)
        except (OSError, sqlite3.Error) as error:
            _remove(fresh)
            raise _cannot("make a journal in", folder, error) from error
        return cls.open(path)

    @classmethod
    def open(cls, path: Path) -> Journal:
        """The journal, ready to go on. Raises JournalFault and leaves a faulty file untouched."""
        lock = _take_lock(path)
        try:
            examine(path)
            db = sqlite3.connect(path, isolation_level=None, check_same_thread=False)
            db.execute("PRAGMA journal_mode = WAL")
            db.execute("PRAGMA synchronous = FULL")
            return cls(path, db, lock)
        except (sqlite3.Error, OSError) as error:
            lock.release()
            raise _cannot("open the journal", path, error) from error
        except JournalFault:
            lock.release()
            raise

    def append(self, event: Event, state: State) -> None:
        """Record the event and the state after it; on the disk when this returns."""
        row = (self._seq + 1, event.at, _json(to_record(event)), _json(state.to_record()))
        try:
            self._db.execute("INSERT INTO event VALUES (?, ?, ?, ?)", row)
        except sqlite3.Error as error:
            raise _cannot("write the journal", self.path, error) from error
        self._seq += 1

    def entries(self) -> list[Entry]:
        """Everything recorded, in order."""
        return list(_entries(self.path, self._db))

    def last_state(self) -> State:
        """The state after the last recorded event; the first state where there is none."""
        return last_state(self.path, self._db)

    def close(self) -> None:
        self._db.close()
        self._lock.release()


# --- reading without taking hold --------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Reading:
    """A journal as read from a copy: the file itself is not touched."""

    path: Path
    programme: Programme
    about: dict[str, str]
    entries: list[Entry]

    @property
    def state(self) -> State:
        return self.entries[-1].state if self.entries else State()


def read(path: Path) -> Reading:
    """The whole journal. Raises JournalFault for a damaged or a newer one."""
    with _copy(path) as copy:
        _check_header(path)
        try:
            with closing(sqlite3.connect(copy)) as db:
                _quick_check(path, db)
                programme, about = _read_session(path, db)
                return Reading(path, programme, about, list(_entries(path, db)))
        except sqlite3.Error as error:
            raise _damaged(path, error) from error


def examine(path: Path) -> None:
    """Look the file over, on a copy. Raises JournalFault; the file itself stays untouched."""
    read(path)


def journals(folder: Path) -> list[Path]:
    """The journals in the folder, oldest first. An absent folder holds none."""
    try:
        return sorted(folder.glob(f"*{ENDING}"))
    except OSError as error:
        raise _cannot("read the data folder", folder, error) from error


# --- inside -----------------------------------------------------------------------------


class _copy:  # noqa: N801  # reads as a verb: `with _copy(path) as copy`
    """A throw-away copy of the journal and its write-ahead log."""

    def __init__(self, path: Path) -> None:
        self._path = path

    def __enter__(self) -> Path:
        self._folder = Path(tempfile.mkdtemp(prefix="tallyhand-"))
        try:
            for ending in ("", "-wal"):
                source = Path(f"{self._path}{ending}")
                if source.exists() or not ending:
                    shutil.copyfile(source, self._folder / f"copy{ending}")
        except OSError as error:
            shutil.rmtree(self._folder, ignore_errors=True)
            raise _cannot("read the journal", self._path, error) from error
        return self._folder / "copy"

    def __exit__(self, *_: object) -> None:
        shutil.rmtree(self._folder, ignore_errors=True)


def _file_name(title: str) -> str:
    slug = re.sub(r"[^a-z0-9]+", "-", title.lower()).strip("-")[:40] or "job"
    stamp = time.strftime("%Y%m%dT%H%M%S")
    return f"{stamp}-{time.time_ns() % 1_000_000_000:09d}-{slug}-{secrets.token_hex(2)}{ENDING}"


def _write_session(path: Path, programme: Programme, job_text: str) -> None:
    from assistant import __version__

    # The file is made with private rights before anything is written into it.
    os.close(os.open(path, os.O_CREAT | os.O_EXCL | os.O_WRONLY, 0o600))
    about = {
        "program": __version__,
        "started": time.strftime("%Y-%m-%dT%H:%M:%S%z"),
        "job": job_text,
        "programme": _json(programme.to_record()),
    }
    with closing(sqlite3.connect(path)) as db:
        db.execute("PRAGMA synchronous = FULL")
        db.executescript(_SCHEMA)
        with db:
            db.executemany("INSERT INTO session VALUES (?, ?)", about.items())


def _keep_name(folder: Path) -> None:
    """Bring the new name itself to the disk: a power cut must not lose the whole file."""
    if os.name == "posix":
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)


def _remove(fresh: Path) -> None:
    for ending in ("", "-journal"):
        with suppress(OSError):
            Path(f"{fresh}{ending}").unlink()


def _take_lock(path: Path) -> FileLock:
    lock = FileLock(f"{path}.lock", timeout=0, mode=0o600)
    try:
        lock.acquire()
    except Timeout:
        raise JournalFault(
            f"{path}: another session has this journal open: finish or close that one first"
        ) from None
    except OSError as error:
        raise _cannot("lock the journal", path, error) from error
    return lock


def _check_header(path: Path) -> None:
    with path.open("rb") as file:
        header = file.read(_HEADER_BYTES)
    if len(header) < _HEADER_BYTES or not header.startswith(_MAGIC):
        raise _damaged(path, "it is no SQLite file")
    if int.from_bytes(header[68:72], "big") != APPLICATION_ID:
        raise JournalFault(f"{path}: this is no journal of tallyhand: move it elsewhere")
    version = int.from_bytes(header[60:64], "big")
    if version > VERSION:
        raise JournalFault(
            f"{path}: written by a newer tallyhand (journal version {version}, this one knows "
            f"{VERSION}): update tallyhand; the journal was left untouched"
        )


def _quick_check(path: Path, db: sqlite3.Connection) -> None:
    found = db.execute("PRAGMA quick_check(1)").fetchone()[0]
    if found != "ok":
        raise _damaged(path, found)


def _read_session(path: Path, db: sqlite3.Connection) -> tuple[Programme, dict[str, str]]:
    about: dict[str, str] = dict(db.execute("SELECT name, value FROM session").fetchall())
    try:
        programme = Programme.from_record(json.loads(about["programme"]))
    except (KeyError, ValueError) as error:
        raise _damaged(path, error) from error
    return programme, about


def _entries(path: Path, db: sqlite3.Connection) -> Iterator[Entry]:
    for seq, at, event, state in db.execute("SELECT * FROM event ORDER BY seq"):
        try:
            yield Entry(
                seq, at, from_record(json.loads(event)), State.from_record(json.loads(state))
            )
        except ValueError as error:
            raise _damaged(path, f"record {seq}: {error}") from error


def last_state(path: Path, db: sqlite3.Connection) -> State:
    row = db.execute("SELECT state FROM event ORDER BY seq DESC LIMIT 1").fetchone()
    try:
        return State.from_record(json.loads(row[0])) if row else State()
    except ValueError as error:
        raise _damaged(path, error) from error


def _json(record: dict[str, Any]) -> str:
    return json.dumps(record, ensure_ascii=False, separators=(",", ":"))


def _damaged(path: Path, why: object) -> JournalFault:
    return JournalFault(
        f"{path}: the journal is damaged ({why}): it was left untouched; "
        "copy it to a safe place, then begin the job anew from the last mark on the work"
    )


_CURES = {
    "disk is full": "free some space, then: tallyhand resume",
    "No space left": "free some space, then: tallyhand resume",
    "readonly": "give yourself the right to write there, or choose another folder with --data",
    "Permission denied": "give yourself the right to write there, or choose another with --data",
    "Read-only": "choose a folder that can be written, with --data",
    "Not a directory": "choose a folder, not a file, with --data",
    "File exists": "choose a folder, not a file, with --data",
    "unable to open": "give yourself the right to write there, or choose another with --data",
}


def _cannot(what: str, path: Path, error: Exception) -> JournalFault:
    why = getattr(error, "strerror", None) or str(error)
    cure = next((cure for sign, cure in _CURES.items() if sign in why), "look at the disk")
    return JournalFault(f"can't {what} {path} ({why}): {cure}")
