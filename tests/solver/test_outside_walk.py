"""Every row of the table of every shipped head, walked outside of the solver, place by place."""

from __future__ import annotations

import copy
from functools import cache
from pathlib import Path
from typing import Any

import pytest

from tests.lanes import length
from tests.solver.outside import HEADS, counts, faults, measured, table, told

LAST = length(200, 400)


@pytest.mark.slow(10)
@pytest.mark.longer
@pytest.mark.parametrize("head", HEADS, ids=lambda head: head.stem)
@pytest.mark.parametrize("known", [False, True], ids=["as perfect", "as measured"])
def test_every_row_leads_where_it_says(head: Path, known: bool, tmp_path: Path) -> None:
    path = measured(head, tmp_path) if known else head
    rows = table(path, LAST)
    assert [row["divisions"] for row in rows] == counts(told(path), LAST)
    wrong = [(row["divisions"], fault) for row in rows for fault in faults(told(path), row)]
    assert wrong == []


# Of a right row of 51 on the head with gears (21/27 at each move, 24 into 72): what is planted.
PLANTED: dict[str, Any] = {
    "a hole more": lambda row: row["moves"][0].update(holes=row["moves"][0]["holes"] + 1),
    "a move less": lambda row: row["moves"][0].update(times=row["moves"][0]["times"] - 1),
    "the plate the other way": lambda row: row["gearing"].update(plate="against"),
    "a gear that is not there": lambda row: row["gearing"].update(drivers=[25]),
    "a circle of another plate": lambda row: row.update(plate="A"),
    "every second one left out": lambda row: row.update(every=17),
    "an error that is not told": lambda row: row.update(worst_error_turns="1/5000", exact=False),
}


@pytest.mark.parametrize("name", PLANTED)
def test_the_walk_finds_what_is_planted(name: str) -> None:
    head, right = geared()
    assert right["gearing"]["plate"] == "with" and not list(faults(head, right))
    wrong = copy.deepcopy(right)
    PLANTED[name](wrong)
    assert list(faults(head, wrong))


@cache
def geared() -> tuple[dict[str, Any], dict[str, Any]]:
    """The head with gears, and its row of 51."""
    head = next(path for path in HEADS if path.stem == "three-plate-40-geared")
    return told(head), table(head, 51)[-1]


def test_a_measured_error_that_is_not_counted_is_found(tmp_path: Path) -> None:
    head = measured(next(path for path in HEADS if path.stem == "rotary-90"), tmp_path)
    row = table(head, 51)[-1]
    assert not list(faults(told(head), row))
    row["true_error_arcsec"] -= 1
    assert list(faults(told(head), row))
