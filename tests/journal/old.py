"""Makes a journal of version 1, as the first tallyhand wrote it: no chain, no witness."""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Iterable
from contextlib import closing
from pathlib import Path

from assistant.engine.events import Event, to_record
from assistant.engine.state import State
from assistant.job.programme import Programme

_SCHEMA = """
PRAGMA application_id = 2047963137;
PRAGMA user_version = 1;
CREATE TABLE session (name TEXT PRIMARY KEY, value TEXT NOT NULL) STRICT, WITHOUT ROWID;
CREATE TABLE event (
    seq INTEGER PRIMARY KEY, at REAL NOT NULL, event TEXT NOT NULL, state TEXT NOT NULL
) STRICT;
"""


def write_version_1(
    path: Path, programme: Programme, played: Iterable[tuple[Event, State]], *, in_log: bool = True
) -> None:
    """`in_log`: the records stand in the write-ahead log still, as after a kill."""
    about = {"program": "0.1.0", "started": "2026-11-25T10:00:00+0000", "job": "title = 'x'"}
    about["programme"] = json.dumps(programme.to_record())
    maker = path.with_name("maker")
    with closing(sqlite3.connect(maker, isolation_level=None)) as db:
        db.executescript(_SCHEMA)
        db.executemany("INSERT INTO session VALUES (?, ?)", about.items())
        db.execute("PRAGMA journal_mode = WAL")
        for n, (event, state) in enumerate(played, 1):
            row = (n, event.at, json.dumps(to_record(event)), json.dumps(state.to_record()))
            db.execute("INSERT INTO event VALUES (?, ?, ?, ?)", row)
        if in_log:
            _take(maker, path)
    if not in_log:
        _take(maker, path)
    path.chmod(0o600)


def _take(maker: Path, path: Path) -> None:
    for ending in ("", "-wal"):
        source = Path(f"{maker}{ending}")
        if source.exists():
            Path(f"{path}{ending}").write_bytes(source.read_bytes())
    assert path.stat().st_size > 0
