"""The pages on the kinds of work say what the program does, word for word."""

from __future__ import annotations

from pathlib import Path

import pytest

from assistant.job.compiler import head_of, stages_of
from assistant.job.job_file import job_from_text
from assistant.job.kinds.by_name import KINDS
from assistant.paper.sheet_text import sheet_lines
from tests.work.pages import PAGES, Row, answers, changed, read

ROWS = [(path, row) for path in PAGES for row in read(path).rows]


def test_every_kind_has_its_page() -> None:
    """No kind without a page, and each page has a job, its sheet and a table of answers."""
    assert {path.stem for path in PAGES} == {*KINDS, "rings"}
    for path in PAGES:
        page = read(path)
        assert page.job and page.sheet and len(page.rows) >= 3, path.name


@pytest.mark.parametrize("path", PAGES, ids=lambda path: path.stem)
def test_the_worked_example(path: Path) -> None:
    """The sheet on the page is the sheet that is printed, line for line."""
    page = read(path)
    job = job_from_text(page.job, "job.toml")
    head = head_of(job)
    printed = sheet_lines(job, head, stages_of(job, head))
    start = printed.index(page.sheet[0])
    assert printed[start : start + len(page.sheet)] == list(page.sheet)
    assert answers(page.job) == [] or any(line.startswith("  look") for line in page.sheet)


@pytest.mark.parametrize(("path", "row"), ROWS, ids=[f"{p.stem}: {r.change}" for p, r in ROWS])
def test_each_answer(path: Path, row: Row) -> None:
    """The change on the page gets the very sentence on the page."""
    page = read(path)
    job = changed(page.job, row.change)
    assert job != page.job
    assert (row.verdict, row.words) in answers(job)
