"""The account as rows: CSV for spreadsheets, SQLite for those who gather several benches."""

from __future__ import annotations

import sqlite3
from collections.abc import Iterable
from contextlib import closing
from pathlib import Path
from typing import Any

from assistant.errors import Refusal
from assistant.paper import tables
from assistant.paper.history import Account, Confirmation, CutMade, Size, clock
from assistant.paper.report_facts import circles, session_names

COLUMNS = (
    "bench", "journal", "title", "stage", "pass", "cut", "called", "done_at", "done_by",
    "done_sure", "lock_at", "lock_by", "lock_sure", "guard_at", "guard_by", "guard_sure", "seconds",
    "cutting_seconds", "overshoots", "refused", "released_at", "released_by", "pinned_at",
    "pinned_by", "move", "angle_deg", "depth_mm", "part", "drawing", "operator", "machine",
    "measured", "size_mm", "low_mm", "high_mm", "verdict", "part_of_batch",
    "material", "head", "method", "plate", "circle", "gears", "fate",
)  # fmt: skip
KINDS: tables.Kinds = {
    **dict.fromkeys(("stage", "pass", "cut", "overshoots", "refused", "part_of_batch"), int),
    **dict.fromkeys(("done_sure", "lock_sure", "guard_sure", "seconds", "cutting_seconds",
                     "angle_deg", "depth_mm"), float),
}  # fmt: skip
REMARKS = ("bench", "journal", "number", "at", "cut", "kind", "text", "part_of_batch")
SIZES = ("bench", "journal", "number", "at", "what", "size_mm", "expected_mm", "target_mm",
         "low_mm", "high_mm", "verdict", "part_of_batch")  # fmt: skip
ITEMS = ("bench", "journal", "stage", "number", "text", "at", "by", "sure",
         "part_of_batch")  # fmt: skip
ITEM_KINDS: tables.Kinds = {
    **dict.fromkeys(("stage", "number", "part_of_batch"), int), "sure": float
}  # fmt: skip
TABLES = {"cut": COLUMNS, "remark": REMARKS, "size": SIZES, "set_up": ITEMS}


def csv_text(told: Iterable[Account], bench: str) -> str:
    """A row a cut, all jobs together, without the mark of UTF-8."""
    return tables.as_csv(COLUMNS, all_cuts(told, bench)).decode("utf-8-sig")


def all_cuts(told: Iterable[Account], bench: str) -> list[tuple[Any, ...]]:
    """A row a cut, all jobs together, in the order of `COLUMNS`."""
    return [row for each in told for row in cut_rows(each, bench)]


def all_items(told: Iterable[Account], bench: str) -> list[tuple[Any, ...]]:
    """A row an item of the set-up, all jobs together, in the order of `ITEMS`."""
    return [row for each in told for row in item_rows(each, bench)]


def item_rows(told: Account, bench: str) -> list[tuple[Any, ...]]:
    """Each confirmed item of the set-up, with when, by what and how sure."""
    key = (bench, told.reading.path.stem)
    return [
        (*key, each.stage, each.number, each.text, *_answer(each.answer), each.part)
        for each in told.set_up
    ]


def cut_rows(told: Account, bench: str) -> Iterable[tuple[Any, ...]]:
    """A row for each cut, in the order of the columns of its table; `bench` names the folder."""
    job = (bench, told.reading.path.stem, told.reading.programme.title)
    found = session_names(told.reading.about)
    people = (found.part, found.drawing, found.operator, found.machine)
    return [
        (*job, *_cut(cut), *people, *_size(told.size_after(made)), cut.part, found.material,
         *_indexed(told, cut), fate(told, cut.part))
        for made, cut in enumerate(told.cuts, 1)
    ]  # fmt: skip


def _indexed(told: Account, cut: CutMade) -> tuple[str, ...]:
    """Head, method, plate, circle and gears of the cut's setting."""
    stage = told.reading.programme.stage(cut.stage - 1)
    return (stage.head, stage.method, stage.plate or "", circles(stage), stage.gears)


def fate(told: Account, part: int) -> str:
    """What became of a part: "made", "scrap", or nothing yet."""
    state = told.reading.state
    if state.scrapped or part in state.scraps:
        return "scrap"
    return "made" if told.finished or part < state.part else ""


def _cut(cut: CutMade) -> tuple[Any, ...]:
    return (
        cut.stage, cut.pass_number, cut.number, cut.label, *_answer(cut.done), *_answer(cut.lock),
        *_answer(cut.guard), _tenths(cut.seconds), _tenths(cut.cutting), cut.overshoots,
        cut.refused, *_answer(cut.released)[:2], *_answer(cut.pinned)[:2], cut.move,
        round(cut.degrees, 6), cut.depth,
    )  # fmt: skip


def _size(size: Size | None) -> tuple[Any, ...]:
    """What was measured after this cut, against the limits of the finished size."""
    if size is None:
        return (None,) * 5
    return (size.what, size.size, size.low, size.high, size.verdict)


def _answer(answer: Confirmation | None) -> tuple[Any, ...]:
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
            for name, columns in TABLES.items():
                wanted = ", ".join(f'"{column}"' for column in columns)
                db.execute(f'CREATE TABLE IF NOT EXISTS "{name}" ({wanted})')
                _widen(db, name, columns)
            return sum(_put(db, each, bench) for each in told)
    except sqlite3.Error as error:
        raise Refusal(
            f"{path}: can't be used as a database ({error})", "name another file", ": "
        ) from None


def _widen(db: sqlite3.Connection, name: str, columns: tuple[str, ...]) -> None:
    """A file of an earlier version has fewer columns: what it holds stays, with blanks beside."""
    there = {row[1] for row in db.execute(f'PRAGMA table_info("{name}")')}
    for column in columns:
        if column not in there:
            db.execute(f'ALTER TABLE "{name}" ADD COLUMN "{column}"')


def _put(db: sqlite3.Connection, told: Account, bench: str) -> int:
    key = (bench, told.reading.path.stem)
    for name in TABLES:
        db.execute(f'DELETE FROM "{name}" WHERE bench = ? AND journal = ?', key)
    cuts = list(cut_rows(told, bench))
    remarks = [
        (*key, n, clock(r.at), r.cut, r.kind, r.text, r.part) for n, r in enumerate(told.remarks, 1)
    ]
    sizes = [
        (
            *key,
            n,
            clock(s.at),
            s.what,
            s.size,
            s.expected,
            s.target,
            s.low,
            s.high,
            s.verdict,
            s.part,
        )
        for n, s in enumerate(told.sizes, 1)
    ]
    items = item_rows(told, bench)
    filled: tuple[list[tuple[Any, ...]], ...] = ([*cuts], [*remarks], [*sizes], [*items])
    for (name, columns), rows in zip(TABLES.items(), filled, strict=True):
        marks = ", ".join("?" * len(columns))
        into = ", ".join(f'"{column}"' for column in columns)
        db.executemany(f'INSERT INTO "{name}" ({into}) VALUES ({marks})', rows)
    return len(cuts)
