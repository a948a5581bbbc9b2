"""Brings a journal of an older version to the present one, whole or not at all."""

from __future__ import annotations

import os
import sqlite3
from contextlib import closing
from pathlib import Path

from assistant.journal.chain import first_link, next_link
from assistant.journal.names import VERSION
from assistant.journal.reading import CHAINED_SINCE, JournalRecords

# Version 1 had no chain; version 2 did not keep why an event was refused, which nobody can add.
_FROM_1 = "ALTER TABLE event ADD COLUMN link TEXT NOT NULL DEFAULT ''"


def upgrade(old: JournalRecords, db: sqlite3.Connection) -> None:
    """Version 1 gets its chain. One transaction: a kill leaves the old journal or the new one.
    What was chained already keeps its links: somebody may have noted the last one.

    The old file stays beside it all the same, as `NAME.journal.version-1`.
    """
    _keep_old(old.path, old.version, db)
    db.execute("BEGIN IMMEDIATE")
    try:
        if old.version < CHAINED_SINCE:
            _chain(old, db)
        db.execute(f"PRAGMA user_version = {VERSION}")
        db.execute("COMMIT")
    except BaseException:
        db.close()  # an open transaction goes with its connection
        raise


def _chain(old: JournalRecords, db: sqlite3.Connection) -> None:
    db.execute(_FROM_1)
    about = {**old.about, "upgraded": f"{len(old.entries)} records of version {old.version}"}
    db.execute("INSERT INTO session VALUES ('upgraded', ?)", (about["upgraded"],))
    link = first_link(about)
    for row in db.execute("SELECT seq, at, event, state FROM event ORDER BY seq").fetchall():
        link = next_link(link, *row)
        db.execute("UPDATE event SET link = ? WHERE seq = ?", (link, row[0]))


def _keep_old(path: Path, version: int, db: sqlite3.Connection) -> None:
    part, kept = Path(f"{path}.part"), Path(f"{path}.version-{version}")
    part.unlink(missing_ok=True)
    os.close(os.open(part, os.O_CREAT | os.O_EXCL | os.O_WRONLY, 0o600))
    with closing(sqlite3.connect(part)) as copy:
        db.backup(copy)
        copy.execute("PRAGMA journal_mode = DELETE")
    part.replace(kept)
    keep_name(path.parent)


def keep_name(folder: Path) -> None:
    """Bring the new name itself to the disk: a power cut must not lose the whole file."""
    if os.name == "posix":
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)
