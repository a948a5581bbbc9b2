"""docs/install.md says of the matrix what its runs have kept, and no more."""

from __future__ import annotations

from tests.newcomer import matrix_table
from tests.newcomer.matrix import STEPS

DONE = {"well": True, "seconds": 7}
FAILED = {"well": False, "seconds": 9}


def row_of(table: str, step: str) -> list[str]:
    (line,) = (each for each in table.splitlines() if each.startswith(f"| {step} |"))
    return [cell.strip() for cell in line.strip("|").split("|")]


def test_the_page_is_as_the_results_make_it() -> None:
    page = matrix_table.PAGE.read_text("utf-8")
    assert page == matrix_table.with_table(page, matrix_table.results())


def test_what_was_not_run_is_said() -> None:
    """A step that was run, one that failed, and one that no run has come to."""
    first, second, third = (step.name for step in STEPS[:3])
    kept = {"python": "3.11.2", "day": "2026-11-27", "steps": {first: DONE, second: FAILED}}
    table = matrix_table.table({"bookworm": kept})
    assert row_of(table, first)[1:3] == ["run, 7 s", "not run"]
    assert row_of(table, second)[1] == "**failed**, 9 s"
    assert row_of(table, third)[1] == "not run"
    assert set(row_of(table, first)[-2:]) == {"only read"}
