"""How long large things take: many journals listed, a long one read, resumed and reported.

    python -m tests.bench.sizes [--records 100000] [--journals 1000]

Beside each the same work by plain SQLite: every row of the same files read, nothing checked.
"""

from __future__ import annotations

import argparse
import platform
import shutil
import sqlite3
import tempfile
import time
from collections.abc import Callable
from contextlib import closing
from pathlib import Path

from assistant.engine.engine import advance
from assistant.engine.events import Event, Gesture, PedalUsed, SessionStarted, to_record
from assistant.engine.state import State
from assistant.job.programme import Programme
from assistant.journal.chain import next_link
from assistant.journal.index import NAME, listing
from assistant.journal.writing import Journal, _json, read_journal
from assistant.paper.history import told_from
from assistant.paper.report_page import report_document
from tests.commands import tallyhand
from tests.engine.jobs import programme


def filled(folder: Path, job: Programme, records: int) -> Path:
    """A journal of a job pressed through, written in one go; closed."""
    journal = Journal.create(folder, job, "title = 'Long'")
    link, state = journal._link, State()
    rows = []
    for n in range(1, records + 1):
        event: Event = SessionStarted(1.0) if n == 1 else PedalUsed(2.0 * n, Gesture.PRESS)
        state, _ = advance(job, state, event)
        row = (n, event.at, _json({**to_record(event), "refused": ""}), _json(state.to_record()))
        link = next_link(link, *row)
        rows.append((*row, link))
    journal._db.execute("BEGIN")
    journal._db.executemany("INSERT INTO event VALUES (?, ?, ?, ?, ?)", rows)
    journal._db.execute("COMMIT")
    journal._witness.note(records)
    journal.close()
    return journal.path


def plain(path: Path) -> None:
    """The same file read by SQLite alone."""
    with closing(sqlite3.connect(f"file:{path}?immutable=1", uri=True)) as db:
        for _ in db.execute("SELECT seq, at, event, state, link FROM event ORDER BY seq"):
            pass


def timed(name: str, work: Callable[[], object]) -> None:
    begun, used = time.perf_counter(), time.process_time()
    work()
    wall, cpu = time.perf_counter() - begun, time.process_time() - used
    print(f"{name:58} {wall:8.2f} s by the clock, {cpu:8.2f} of work", flush=True)


def main() -> None:
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("--records", type=int, default=100_000)
    asked.add_argument("--journals", type=int, default=1_000)
    given = asked.parse_args()
    print(f"{platform.machine()}, Python {platform.python_version()}")
    with tempfile.TemporaryDirectory() as name:
        _long(Path(name) / "long", given.records)
        _many(Path(name) / "many", given.journals)
        _cuts(Path(name) / "many-cuts.toml")


def _long(folder: Path, records: int) -> None:
    path = filled(folder, programme(records // 5 + 1), records)
    print(f"{records} records, {path.stat().st_size / 2**20:.0f} MB")
    timed("every row by SQLite alone", lambda: plain(path))
    timed("resumed (checked, opened)", lambda: Journal.open(path).close())
    timed("read whole (every record taken apart)", lambda: read_journal(path))
    timed("reported as HTML", lambda: report_document(told_from(read_journal(path))))


def _cuts(path: Path) -> None:
    path.write_text(
        'title = "Many"\nhead = "three-plate-40"\n[work]\nkind = "divisions"\ncount = 9999\n',
        "utf-8",
    )
    timed("9,999 cuts checked, as a process", lambda: tallyhand("job", "check", path))


def _many(folder: Path, count: int) -> None:
    path = filled(folder, programme(21), 100)
    for n in range(count - 1):
        shutil.copyfile(path, folder / f"copy-{n:05d}.journal")
    paths = sorted(folder.glob("*.journal"))
    print(f"{count} journals of 100 records")
    timed("every row by SQLite alone", lambda: list(map(plain, paths)))
    timed("listed, nothing kept yet", lambda: listing(folder))
    timed("listed again", lambda: listing(folder))
    (folder / NAME).unlink()


if __name__ == "__main__":
    main()
