"""The jobs of one log or several as rows: one a job."""

from __future__ import annotations

from collections.abc import Iterable
from pathlib import Path

from assistant.journal.index import Listed
from assistant.paper import tables

COLUMNS = (
    "folder", "journal", "title", "part", "drawing", "head", "operator", "machine", "started",
    "cuts", "done", "finished", "scrapped", "batch", "in_hand", "given_up",
)  # fmt: skip
KINDS: tables.Kinds = {
    **dict.fromkeys(("cuts", "done", "batch", "in_hand", "given_up"), int),
    "finished": bool,
    "scrapped": bool,
}


def write_log(out: Path, jobs: Iterable[tuple[str, Listed]]) -> None:
    """Raises Refusal where the ending is none of ours, or the file can't be written."""
    rows = [
        (
            folder, job.name, job.title, job.part, job.drawing, job.head, job.operator,
            job.machine, job.started, job.cuts, job.done, job.finished, job.scrapped, job.batch,
            job.in_hand, job.given_up,
        )
        for folder, job in jobs
    ]  # fmt: skip
    tables.write_table(out, COLUMNS, rows, KINDS)
