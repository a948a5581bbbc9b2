"""The contradictions that a description of a head can hold.

Rows of charts are those of the published tables in `tests/solver/published.py`, where their
sources stand.
"""

from __future__ import annotations

from fractions import Fraction

import pytest

from assistant.setup.head_checks import (
    chart_fault,
    circle_doubt,
    circle_fault,
    head_number,
    ratio_fault,
)
from solver import Refused

PLATES = [[15, 16, 17, 18, 19, 20], [21, 23, 27, 29, 31, 33], [37, 39, 41, 43, 47, 49]]


@pytest.mark.parametrize(
    ("holes", "part"), [(1, "2 to"), (0, "2 to"), (1001, "1000"), (17, "is on")]
)
def test_counts_that_can_not_be(holes: int, part: str) -> None:
    """Under two holes, far too many, and the same circle twice on one plate."""
    assert part in circle_fault(holes, [15, 16, 17])


def test_counts_that_can_be() -> None:
    """All circles of the three plates, counted from the inside out."""
    for nth, plate in enumerate(PLATES):
        for place, holes in enumerate(plate):
            assert circle_fault(holes, plate[:place]) == ""
            assert circle_doubt(holes, plate[:place], PLATES[:nth]) == ""


def test_counts_to_be_asked_about() -> None:
    """Fewer holes farther out, and a circle that another plate has."""
    assert "fewer holes" in circle_doubt(16, [15, 17], [])
    assert "plate 1 too" in circle_doubt(21, [], [[20, 21]])


def test_the_ratio_by_counting() -> None:
    """The turns of the crank for one of the spindle are the ratio."""
    assert ratio_fault(Fraction(40), Fraction(40)) == ""
    assert "counted 36 turns" in ratio_fault(Fraction(40), Fraction(36))
    assert "81/2" in ratio_fault(Fraction(81, 2), Fraction(40))


@pytest.mark.parametrize(
    "row", [(21, 1, 19, 21), (9, 4, 12, 27), (6, 6, 26, 39), (40, 1, 0, 0), (54, 0, 20, 27)]
)
def test_rows_that_agree(row: tuple[int, int, int, int]) -> None:
    """Rows of the indexing tables for 40 to 1 and the three plates."""
    assert chart_fault(Fraction(40), PLATES, row) == ""


@pytest.mark.parametrize(
    ("row", "part"),
    [
        ((66, 0, 40, 66), "no plate has a circle of 66"),
        ((21, 1, 15, 21), "fits a head of 36 to 1"),
        ((9, 4, 12, 18), "fits a head of 42 to 1"),
        ((1, 40, 0, 0), "divisions (2 or more)"),
        ((21, 0, 40, 21), "a whole turn or more"),
    ],
)
def test_rows_that_do_not_agree(row: tuple[int, int, int, int], part: str) -> None:
    """A circle that is not there, another ratio, a row read wrongly."""
    assert part in chart_fault(Fraction(40), PLATES, row)


def test_numbers() -> None:
    """Ratios as they are written on a head."""
    assert head_number("81/2") == Fraction(81, 2) and head_number("40") == 40
    assert [head_number(text) for text in ("40:1", " 40 : 1", "1:40", "40 to 1", "81/2:1")] == [
        40, 40, 40, 40, Fraction(81, 2),
    ]  # fmt: skip
    for text in ("forty", "0", "-3", "1e9", "", "40:2", ":1", "1:", "0:1"):
        with pytest.raises(Refused):
            head_number(text)
