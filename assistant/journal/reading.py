"""Reads a journal and takes nothing for granted; the file itself is never touched.

All is done on a copy. A reading holds only where the records are those that were written:
whole by SQLite's own check, unbroken in the chain of hashes, none missing at the end, and no
state among them in which a session of that job can't stand.

`standing` looks as hard, but takes only the last record apart: to go on with a job needs no more.
`ends` holds the ends alone against their hashes: to list it needs no more.
"""

from __future__ import annotations

import json
import os
import re
import shutil
import sqlite3
import tempfile
import time
from collections.abc import Callable, Iterator
from contextlib import closing, contextmanager
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any, TypeVar

from assistant.engine.events import Event, from_record
from assistant.engine.state import State
from assistant.job.programme import Programme
from assistant.journal import witness
from assistant.journal.chain import first_link, next_link
from assistant.journal.fault import JournalFault, cannot, damaged
from assistant.journal.names import VERSION
from assistant.journal.sense import Check, state_check
from assistant.journal.write_ahead import Tail, tail

CHAINED_SINCE = 2
APPLICATION_ID = 0x7A11_7001
_HEADER_BYTES = 100
_MAGIC = b"SQLite format 3\x00"
_COPIES = 20
_BETWEEN_COPIES_S = 0.003


@dataclass(frozen=True, slots=True)
class Entry:
    """One recorded event, the state after it, and the chain's link (none in version 1).

    `refused` is the code of why it changed nothing (`events.Ground`), "" for one that was taken;
    None where that was not yet kept (before version 3).
    """

    seq: int
    at: float
    event: Event
    state: State
    link: str = ""
    refused: str | None = None


@dataclass(frozen=True, slots=True)
class Found:
    """What was found when the journal was opened, for the person to know."""

    records: int
    torn: bool  # a record that was being written was left aside
    last_at: float | None
    version: int  # of the file as it was found

    def lines(self, now: float) -> list[str]:
        """A sentence for each thing found; `now` is the clock's time, seconds since 1970 (UTC)."""
        said = [f"The journal holds {self.records} record{'' if self.records == 1 else 's'}."]
        if self.torn:
            said.append("One more was being written when it stopped: it was not acted on.")
        if self.version < VERSION:
            said.append(f"It was brought from version {self.version} to version {VERSION}.")
        if self.last_at is not None and now < self.last_at:
            said.append("The clock stands before the last record: the order of records counts.")
        return said


@dataclass(frozen=True, slots=True)
class Standing:
    """Where a journal ends: its job, how many records it holds, and the last of them."""

    path: Path
    programme: Programme
    about: dict[str, str]
    records: int
    last: Entry | None
    version: int = VERSION
    torn: bool = False
    turn: int = 0  # the order in which jobs were taken up; 0 where no witness says so

    @property
    def state(self) -> State:
        """The state after the last record; that of a job not begun where there is none."""
        return self.last.state if self.last else State()

    @property
    def last_link(self) -> str:
        """The link that stands for the whole journal; "" where it has no chain."""
        if self.version < CHAINED_SINCE:
            return ""
        return self.last.link if self.last else first_link(self.about)

    @property
    def last_worked(self) -> tuple[int, float]:
        """Greatest for the job worked on last, whatever the clock did between."""
        return self.turn, self.last.at if self.last else 0.0

    @property
    def found(self) -> Found:
        """What was found in the file, for the person who goes on with it."""
        return Found(self.records, self.torn, self.last.at if self.last else None, self.version)


@dataclass(frozen=True, slots=True)
class JournalRecords(Standing):
    """A journal with all its records."""

    entries: tuple[Entry, ...] = ()


def read_journal(path: Path) -> JournalRecords:
    """The whole journal. Raises JournalFault for a damaged or a newer one."""
    return _looked_over(path, _read_all)


def standing(path: Path) -> Standing:
    """Where it ends. Raises JournalFault for a damaged or a newer one."""
    return _looked_over(path, _read_last)


def ends(path: Path) -> Standing:
    """Where it ends, for a line in a list: the session, the first and the last record are held
    against their hashes, those between are only counted. Raises JournalFault as `standing` does."""
    return _looked_over(path, _read_ends)


_Read = TypeVar("_Read", bound=Standing)
_Reader = Callable[[Path, sqlite3.Connection, int, witness.Word], _Read]


def _looked_over(path: Path, reader: _Reader[_Read]) -> _Read:
    said = witness.word(path)  # before the copy: it may only lag behind the journal
    _check_header(path)  # before it is copied whole: any file of any size may bear the name
    try:
        with _copied(path) as (db, log):
            db.text_factory = _forgiving
            version = int(db.execute("PRAGMA user_version").fetchone()[0])
            _check_version(path, version)
            _quick_check(path, db)
            reading = reader(path, db, version, said)
            left = _tail(log, db)
    except (sqlite3.Error, UnicodeDecodeError) as error:
        # SQLite's own complaint may hold a spoilt name, which Python can't decode.
        raise damaged(path, error) from error
    if left.lost:
        raise damaged(path, left.lost)
    _check_reach(reading, said)
    return replace(reading, torn=left.torn)


def _read_all(
    path: Path, db: sqlite3.Connection, version: int, said: witness.Word
) -> JournalRecords:
    programme, about = _read_session(path, db)
    _check_chain(path, db, version, about)
    entries = tuple(entries_of(path, db, version, programme))
    return JournalRecords(
        path, programme, about, len(entries), entries[-1] if entries else None, version,
        turn=said.turn, entries=entries,
    )  # fmt: skip


def _read_last(path: Path, db: sqlite3.Connection, version: int, said: witness.Word) -> Standing:
    programme, about = _read_session(path, db)
    records = _check_chain(path, db, version, about)
    last = next(entries_of(path, db, version, programme, after=records - 1), None)
    return Standing(path, programme, about, records, last, version, turn=said.turn)


def _read_ends(path: Path, db: sqlite3.Connection, version: int, said: witness.Word) -> Standing:
    programme, about = _read_session(path, db)
    records, last = db.execute("SELECT count(*), max(seq) FROM event").fetchone()
    if version < CHAINED_SINCE or records != (last or 0) or not _ends_fit(db, about, records):
        return _read_last(path, db, version, said)  # it names the record
    entry = next(entries_of(path, db, version, programme, after=records - 1), None)
    return Standing(path, programme, about, records, entry, version, turn=said.turn)


def _ends_fit(db: sqlite3.Connection, about: dict[str, str], records: int) -> bool:
    """The session is that of the first record, and the last follows the one before it."""
    query = "SELECT seq, at, event, state, link FROM event WHERE seq IN (1, ?, ?) ORDER BY seq"
    before, number = first_link(about), 0
    for *record, kept in db.execute(query, (records - 1, records)):
        if record[0] in (1, number + 1) and next_link(before, *record) != kept:
            return False
        before, number = kept, record[0]
    return True


def _check_chain(path: Path, db: sqlite3.Connection, version: int, about: dict[str, str]) -> int:
    """Every record is the one that was written, and none is missing between two others.
    Returns how many there are."""
    db.text_factory = str  # in a third of the time, as long as every letter is one
    try:
        return _chained(path, db, version, about)
    except sqlite3.OperationalError:
        db.text_factory = _forgiving
        return _chained(path, db, version, about)
    finally:
        db.text_factory = _forgiving


def _forgiving(text: bytes) -> str:
    """Spoilt letters are for the chain to find, record by record."""
    return text.decode("utf-8", "surrogateescape")


def _chained(path: Path, db: sqlite3.Connection, version: int, about: dict[str, str]) -> int:
    link = first_link(about)
    n = 0
    stored = "link" if version > 1 else "''"
    rows = db.execute(f"SELECT seq, at, event, state, {stored} FROM event ORDER BY seq")
    for n, (seq, at, event, state, kept) in enumerate(rows, 1):
        if seq != n:
            raise damaged(path, f"record {n} is missing", n)
        link = next_link(link, seq, at, event, state)
        if link != kept and version > 1:
            raise damaged(path, f"record {n} does not fit the chain of hashes", n)
    return n


def _tail(log: Path | None, db: sqlite3.Connection) -> Tail:
    """What the write-ahead log holds behind the records that SQLite took from it."""
    if log is None or not log.exists():
        return Tail(torn=False)
    content = log.read_bytes()
    # In a journal's copy no reader is in the way: the second number is all that was taken.
    return tail(content, max(0, db.execute("PRAGMA wal_checkpoint").fetchone()[1]))


def _check_reach(reading: Standing, said: witness.Word) -> None:
    here = reading.records
    if said.records > here:
        what = "record is" if said.records == here + 1 else "records are"
        raise damaged(
            reading.path,
            f"it ends at record {here}, but {said.records - here} more acknowledged {what} missing",
            here + 1,
        )


@contextmanager
def _copied(path: Path) -> Iterator[tuple[sqlite3.Connection, Path | None]]:
    """A throw-away copy of the journal, opened, and its write-ahead log where it has one."""
    content = _at_rest(path)
    if content is not None:
        with closing(sqlite3.connect(":memory:")) as db:
            db.deserialize(content)
            yield db, None
        return
    with _copy(path) as copy, closing(sqlite3.connect(copy)) as db:
        db.execute("PRAGMA synchronous = OFF")  # the copy is thrown away
        yield db, Path(f"{copy}-wal")


_MOST_IN_MEMORY = 2**26
_WITH_LOG, _WITHOUT_LOG = b"\x02\x02", b"\x01\x01"  # bytes 18 and 19 of SQLite's file format


_is_there = os.path.exists  # sooner than by Path


def _at_rest(path: Path) -> bytes | None:
    """What the journal holds where no session has it open: no log lies beside it, and it did not
    move meanwhile. None for any other, and for one too large to be held whole.

    A copy in memory has no folder to be made for it: of a thousand journals that is most of the
    time. There no log can be beside it, so it must not be marked as having one.
    """
    name = str(path)
    log = f"{name}-wal"
    try:
        before = os.stat(name)  # noqa: PTH116  # of a thousand journals, twice each
        if _is_there(log) or before.st_size > _MOST_IN_MEMORY:
            return None
        with open(name, "rb", buffering=0) as file:  # noqa: PTH123
            content, after = file.readall(), os.stat(name)  # noqa: PTH116
    except OSError as error:
        raise cannot("read the journal", path, error) from error
    still = (before.st_mtime_ns, before.st_size) == (after.st_mtime_ns, len(content))
    if not still or _is_there(log):
        return None
    if content[18:20] == _WITH_LOG:
        content = content[:18] + _WITHOUT_LOG + content[20:]
    return content


class _copy:  # noqa: N801  # reads as a verb: `with _copy(path) as copy`
    """A throw-away copy of the journal and its write-ahead log."""

    def __init__(self, path: Path) -> None:
        self._path = path

    def __enter__(self) -> Path:
        self._folder = Path(tempfile.mkdtemp(prefix="tallyhand-"))
        try:
            # A session may be writing: a copy counts when nothing moved while it was made.
            for _ in range(_COPIES):
                before = self._marks()
                self._take()
                if self._marks() == before:
                    break
                time.sleep(_BETWEEN_COPIES_S)
        except OSError as error:
            shutil.rmtree(self._folder, ignore_errors=True)
            raise cannot("read the journal", self._path, error) from error
        return self._folder / "copy"

    def _take(self) -> None:
        for ending in ("", "-wal"):
            source, copy = Path(f"{self._path}{ending}"), self._folder / f"copy{ending}"
            if source.exists() or not ending:
                shutil.copyfile(source, copy)
            else:
                copy.unlink(missing_ok=True)

    def _marks(self) -> list[tuple[int, int]]:
        files = [Path(f"{self._path}{ending}") for ending in ("", "-wal")]
        return [(s.st_mtime_ns, s.st_size) for s in (f.stat() for f in files if f.exists())]

    def __exit__(self, *_: object) -> None:
        shutil.rmtree(self._folder, ignore_errors=True)


MOST_BYTES = 2**30  # a job of 100,000 records takes a sixth of that


def _check_header(path: Path) -> None:
    try:
        with path.open("rb") as file:
            header = file.read(_HEADER_BYTES)
            size = file.seek(0, os.SEEK_END)
    except OSError as error:
        raise cannot("read the journal", path, error) from error
    if size > MOST_BYTES:
        raise damaged(path, f"it is larger than {MOST_BYTES >> 20} MB: no job fills that")
    if len(header) < _HEADER_BYTES or not header.startswith(_MAGIC):
        raise damaged(path, "it is no SQLite file")
    if int.from_bytes(header[68:72], "big") != APPLICATION_ID:
        raise JournalFault("this is no journal of tallyhand: move it elsewhere", named=path)
    _check_version(path, int.from_bytes(header[60:64], "big"))


def _check_version(path: Path, version: int) -> None:
    if version > VERSION:
        raise JournalFault(
            f"written by a newer tallyhand (journal version {version}, this one knows "
            f"{VERSION}): update tallyhand; the journal was left untouched",
            named=path,
        )
    if version < 1:
        raise damaged(path, f"there is no version {version}")


def _quick_check(path: Path, db: sqlite3.Connection) -> None:
    found = db.execute("PRAGMA quick_check(1)").fetchone()[0]
    if found != "ok":
        raise damaged(path, found)


def _read_session(path: Path, db: sqlite3.Connection) -> tuple[Programme, dict[str, str]]:
    about: dict[str, str] = dict(db.execute("SELECT name, value FROM session").fetchall())
    try:
        record = json.loads(about["programme"])
        _check_size(record)
        programme = Programme.from_record(record)
    except _UNFIT as error:
        raise damaged(path, f"the job in it: {error}") from error
    return programme, about


# What a record can be made to raise that is no record of ours.
_UNFIT = (
    KeyError, ValueError, TypeError, AttributeError, ArithmeticError, IndexError, RecursionError,
)  # fmt: skip
_MOST_MOVES = 100_000


def _check_size(programme: dict[str, Any]) -> None:
    """A few letters can stand for a number or a list that no memory holds. Raises ValueError."""
    if sum(move["times"] for move in programme["moves"]) > _MOST_MOVES:
        raise ValueError(f"more than {_MOST_MOVES} moves")
    fractions = [*programme["positions"], programme["scale_degrees"]]
    fractions += [move["minutes"] for move in programme["moves"] if move.get("minutes")]
    if not all(_FRACTION.fullmatch(text) for text in fractions):
        raise ValueError("a place that is no fraction")


_FRACTION = re.compile(r"\d{1,4000}(/\d{1,4000})?")


def entries_of(
    path: Path, db: sqlite3.Connection, version: int, programme: Programme, after: int = 0
) -> Iterator[Entry]:
    """The records behind number `after`, in order. Raises JournalFault for one that is no
    record, and for a state in which a session of this job can't stand."""
    check = state_check([programme.stage(n) for n in range(programme.stages)])
    link = "link" if version > 1 else "''"
    query = f"SELECT seq, at, event, state, {link} FROM event WHERE seq > ? ORDER BY seq"
    for row in db.execute(query, (after,)):
        yield _entry(path, check, *row)


def _entry(
    path: Path, check: Check, seq: int, at: float, event: str, state: str, link: str
) -> Entry:
    try:
        record = json.loads(event)
        refused = record.pop("refused", None)
        fact, after = from_record(record), State.from_record(json.loads(state))
        check(after)
    except _UNFIT as error:
        raise damaged(path, f"record {seq}: {error}", seq) from error
    return Entry(seq, at, fact, after, link, refused)
