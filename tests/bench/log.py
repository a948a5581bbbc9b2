"""How long it takes to find a job among many: run it by hand.

    python -m tests.bench.log [JOURNALS] [FOLDER]

Copies one journal so many times (10,000), each with a title and a day of its own, and prints the
seconds of the first list (every journal is read), of the next one, of one after a new job, of a
search, and of the whole command as a process.
"""

from __future__ import annotations

import json
import shutil
import sqlite3
import sys
import tempfile
import time
from collections.abc import Callable
from contextlib import closing
from pathlib import Path

from assistant.journal.finding import Search, found
from assistant.journal.index import listing
from tests.commands import tallyhand
from tests.journal.played import made

TITLES = ("Pinion of the elevator", "Hexagon of the plug", "Collar of the screw", "Ratchet")


def fill(folder: Path, count: int) -> None:
    """Journals as after so many jobs; each is whole by itself."""
    for n, title in enumerate(TITLES):
        home = folder / f"maker-{n}"
        journal = made(home, 12)
        journal.close()
        with closing(sqlite3.connect(journal.path)) as db:
            db.execute("PRAGMA wal_checkpoint(TRUNCATE)")
            db.execute("PRAGMA journal_mode = DELETE")
        for k in range(n, count, len(TITLES)):
            day = f"{2020 + k % 6}{k % 12 + 1:02d}{k % 28 + 1:02d}T{k % 24:02d}0000"
            slug = title.lower().replace(" ", "-")
            shutil.copyfile(journal.path, folder / f"{day}-{k:09d}-{slug}-aaaa.journal")
        shutil.rmtree(home)


def timed(what: str, work: Callable[[], object]) -> None:
    start = time.perf_counter()
    work()
    print(f"{time.perf_counter() - start:8.3f} s  {what}", flush=True)


def main() -> None:
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 10_000
    base = Path(sys.argv[2]) if len(sys.argv) > 2 else None
    with tempfile.TemporaryDirectory(dir=base) as name:
        folder = Path(name)
        fill(folder, count)
        timed(f"the first list of {count}: each is read", lambda: listing(folder))
        timed("the next list", lambda: listing(folder))
        made(folder, 3).close()
        timed("one after a new job", lambda: listing(folder))
        wanted = Search(("ratchet", "000123"), since="2021")
        timed("a search", lambda: found(listing(folder), wanted))
        timed(
            "the command: tallyhand log ratchet --since 2021",
            lambda: tallyhand("log", "ratchet", "--since", "2021", "--data", folder),
        )
        size = (folder / "contents.json").stat().st_size
        print(json.dumps({"contents_bytes": size, "journals": count}))


if __name__ == "__main__":
    main()
