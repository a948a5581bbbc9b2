"""The error statement: exact, in arc-seconds, as a length, and with the head's own errors."""

from __future__ import annotations

from fractions import Fraction
from itertools import pairwise

import mpmath
import pytest
from hypothesis import given

from solver import Head, Plate, each_position, error_statement, plan
from solver.lengths import radius_from_text
from solver.model import HeadErrors
from tests.solver.heads import head, shipped
from tests.solver.strategies import divisions, heads

PLAIN = shipped("three-plate-40")


@given(heads(), divisions)
def test_worst_and_adjacent_of_equal_divisions(head: Head, n: int) -> None:
    """The quick figures for N equal divisions are those of the positions one by one."""
    for setup in plan(head, divisions=n, most=3):
        places = list(each_position(head, setup, divisions=n))
        statement = error_statement(head, setup, divisions=n)
        errors = [Fraction(0), *(place.error for place in places)]
        assert statement.worst == max(map(abs, errors))
        assert statement.adjacent == max(abs(b - a) for a, b in pairwise(errors))


def test_every_position_is_stated_exactly() -> None:
    """51 divisions on 49 holes: each error is the distance to the nearest of 1960 holes."""
    setup = plan(PLAIN, divisions=51)[0]
    for k, place in enumerate(each_position(PLAIN, setup, divisions=51), start=1):
        assert place.target == Fraction(k, 51)
        assert place.error == Fraction(round(place.target * 1960), 1960) - Fraction(k, 51)


def test_length_at_a_radius() -> None:
    """The arc of the worst error, against mpmath's pi, to a millionth."""
    setup = plan(PLAIN, divisions=51)[0]
    statement = error_statement(PLAIN, setup, divisions=51)
    record = statement.to_record(radius_from_text("35 mm"))
    with mpmath.workdps(30):
        true = 2 * mpmath.pi * 35 * statement.worst.numerator / statement.worst.denominator
        assert record["worst_length"] == pytest.approx(float(true), rel=1e-6)


def test_the_budget_adds_what_the_head_states() -> None:
    """Worm at the spindle as it is, a hole's place divided by the ratio; sum and root sum square.

    3, 4 and 12 make 13: the root of the sum of squares (JCGM 100:2008, 5.1.2).
    """
    maker = head(40)._replace(errors=HeadErrors(Fraction(4), Fraction(120)))
    setup = plan(maker, divisions=9)[0]
    budget = error_statement(maker, setup, divisions=9).budget
    assert (budget.indexing, budget.worm, budget.plate) == (0, 4, 3)
    assert budget.worst_case == 7
    assert budget.rss == 5
    assert budget._replace(indexing=Fraction(12)).rss == 13
    assert budget.missing == ()


def test_the_budget_names_what_is_not_stated() -> None:
    """A head that states nothing is not taken for a perfect one."""
    setup = plan(PLAIN, divisions=9)[0]
    assert error_statement(PLAIN, setup, divisions=9).budget.missing == (
        "worm_arcsec",
        "plate_arcsec",
    )
    direct = plan(PLAIN, divisions=24)[0]
    assert error_statement(PLAIN, direct, divisions=24).budget.missing == ("direct_arcsec",)
    dial = shipped("rotary-60-handwheel")
    setup = plan(dial, divisions=9)[0]
    assert error_statement(dial, setup, divisions=9).budget.missing == ("worm_arcsec",)


def test_large_numbers_are_quick_to_state() -> None:
    """99991 divisions: worst and adjacent without walking every position; the list still closes."""
    setup = plan(PLAIN, divisions=99_991)[0]
    statement = error_statement(PLAIN, setup, divisions=99_991)
    assert statement.worst == setup.worst_error
    assert statement.adjacent == max(Fraction(1, 99_991), Fraction(1, 1960) - Fraction(1, 99_991))


def test_a_plate_from_a_plate_gains_the_worm_ratio_each_time() -> None:
    """Figures of docs/head-errors.md. 51 holes to the nearest of 49; then each hole of that
    plate, where it is, turned to with the crank: the spindle is off by a fortieth (a turn of
    the crank is a fortieth of a turn; derived here hole by hole)."""
    maker = shipped("three-plate-40")
    off = [
        place.error for place in each_position(maker, plan(maker, divisions=51)[0], divisions=51)
    ]
    holes = [Fraction(0), *off[:-1]]
    for told in (Fraction("324.13"), Fraction("8.10"), Fraction("0.20")):
        worst = max(map(abs, holes)) * 1296000
        assert round(float(worst), 2) == pytest.approx(float(told))
        # 40/51 of a turn of the crank is 40 holes on the new plate; the pin ends in hole 40 n.
        holes = [holes[40 * n % 51] / 40 for n in range(51)]
    new = maker._replace(
        plates=(*maker.plates, Plate("drilled", (51,))),
        errors=HeadErrors(Fraction(0), Fraction(325)),
    )
    setup = plan(new, divisions=51)[0]
    assert (setup.plate, setup.exact) == ("drilled", True)
    assert error_statement(new, setup, divisions=51).budget.plate == Fraction(325, 40)
