"""How long one record takes until it is on the disk: run it by hand.

    python -m tests.bench.journal [RECORDS] [FOLDER]

Prints the median and the 99th percentile of `append`, of the bare sync below it, and of the
hash and the witness above it, in microseconds.
"""

from __future__ import annotations

import os
import statistics
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path

from assistant.journal.chain import next_link
from assistant.journal.witness import Witness
from assistant.journal.writing import Journal
from tests.journal.played import JOB, played


def measured(times: int, action: Callable[[int], object]) -> str:
    taken = []
    for n in range(times):
        start = time.perf_counter()
        action(n)
        taken.append((time.perf_counter() - start) * 1e6)
    centiles = statistics.quantiles(taken, n=100)
    return f"p50 {centiles[49]:8.0f}   p99 {centiles[98]:8.0f}"


def synced(file: int) -> None:
    os.pwrite(file, b"x" * 4096, 0)
    os.fdatasync(file)


def main() -> None:
    records = int(sys.argv[1]) if len(sys.argv) > 1 else 1500
    folder = Path(sys.argv[2]) if len(sys.argv) > 2 else None
    pairs = played(30)
    with tempfile.TemporaryDirectory(dir=folder) as place:
        journal = Journal.create(Path(place), JOB, "")
        appended = measured(records, lambda n: journal.append(*pairs[n % len(pairs)]))
        journal.close()
        file = os.open(Path(place) / "bare", os.O_CREAT | os.O_RDWR)
        bare = measured(records, lambda _: synced(file))
        witness = Witness(Path(place) / "other.journal", 1, 0)
        noted = measured(records, witness.note)
        witness.close()
        text = "x" * 600
        hashed = measured(records, lambda n: next_link("f" * 64, n, float(n), text[:120], text))
        start = time.perf_counter()
        again = Journal.open(journal.path)
        opened = (time.perf_counter() - start) * 1e3
        again.close()
    print(f"microseconds, {records} times")
    print(f"append                     {appended}")
    print(f"4 KiB written and synced   {bare}")
    print(f"witness                    {noted}")
    print(f"hash                       {hashed}")
    print(f"opening {records} records: {opened:.0f} ms")


if __name__ == "__main__":
    main()
