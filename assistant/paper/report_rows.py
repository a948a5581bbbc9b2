"""The account as rows: CSV for spreadsheets, SQLite for those who gather several benches."""

from __future__ import annotations

import csv
import io
import sqlite3
from collections.abc import Iterable
from contextlib import closing
from pathlib import Path
from typing import Any

from assistant.errors import Refusal
from assistant.paper.history import Account, Answer, CutMade, clock

COLUMNS = (
    "bench", "journal", "title", "stage", "pass", "cut", "called", "done_at", "done_by",
    "done_sure", "lock_at", "lock_by", "lock_sure", "guard_at", "guard_by", "guard_sure", "seconds",
    "cutting_seconds", "overshoots", "refused",
)  # fmt: skip
REMARKS = ("bench", "journal", "number", "at", "cut", "kind", "text")
SIZES = ("bench", "journal", "number", "at", "what", "size_mm", "expected_mm", "target_mm")
_FORMULA = ("=", "+", "-", "@", "\t", "\r")


def csv_text(told: Iterable[Account], bench: str) -> str:
    """A row a cut, all jobs together. Words that a spreadsheet would take for a formula are
    put in as words (a quote mark before them)."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow(COLUMNS)
    for each in told:
        writer.writerows([_tame(cell) for cell in row] for row in cut_rows(each, bench))
    return out.getvalue()


def _tame(cell: Any) -> Any:
    if isinstance(cell, str) and cell.startswith(_FORMULA):
        return f"'{cell}"
    return "" if cell is None else cell


def cut_rows(told: Account, bench: str) -> Iterable[tuple[Any, ...]]:
    job = (bench, told.reading.path.stem, told.reading.programme.title)
    return [(*job, *_cut(cut)) for cut in told.cuts]


def _cut(cut: CutMade) -> tuple[Any, ...]:
    return (
        cut.stage, cut.pass_number, cut.number, cut.label, *_answer(cut.done), *_answer(cut.lock),
        *_answer(cut.guard), _tenths(cut.seconds), _tenths(cut.cutting), cut.overshoots,
        cut.refused,
    )  # fmt: skip


def _answer(answer: Answer | None) -> tuple[Any, ...]:
    if answer is None:
        return (None, None, None)
    return (clock(answer.at), answer.source, round(answer.confidence, 3))


def _tenths(value: float | None) -> float | None:
    return None if value is None else round(value, 1)


def into_database(path: Path, told: Iterable[Account], bench: str) -> int:
    """Put the jobs into an SQLite file, made when it is not there; a job that is in it already
    is replaced, so that repeating is harmless. Returns the count of cuts. Raises Refusal."""
    try:
        with closing(sqlite3.connect(path)) as db, db:
            for name, columns in (("cut", COLUMNS), ("remark", REMARKS), ("size", SIZES)):
                wanted = ", ".join(f'"{column}"' for column in columns)
                db.execute(f'CREATE TABLE IF NOT EXISTS "{name}" ({wanted})')
            return sum(_put(db, each, bench) for each in told)
    except sqlite3.Error as error:
        raise Refusal(f"{path}: can't be used as a database ({error}): name another file") from None


def _put(db: sqlite3.Connection, told: Account, bench: str) -> int:
    key = (bench, told.reading.path.stem)
    for name in ("cut", "remark", "size"):
        db.execute(f'DELETE FROM "{name}" WHERE bench = ? AND journal = ?', key)
    cuts = list(cut_rows(told, bench))
    remarks = [(*key, n, clock(r.at), r.cut, r.kind, r.text) for n, r in enumerate(told.remarks, 1)]
    sizes = [
        (*key, n, clock(s.at), s.what, s.size, s.expected, s.target)
        for n, s in enumerate(told.sizes, 1)
    ]
    for name, rows in (("cut", cuts), ("remark", remarks), ("size", sizes)):
        if rows:
            marks = ", ".join("?" * len(rows[0]))
            db.executemany(f'INSERT INTO "{name}" VALUES ({marks})', rows)
    return len(cuts)
