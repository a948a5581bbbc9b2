"""A head that was measured: what the work comes out at, and moves that are corrected for it.

The head's error is written out anew here (worm once a turn of the crank, wheel once and twice a
turn of the spindle: `docs/head-errors.md`), and every move is walked through with it.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from fractions import Fraction
from itertools import combinations, pairwise
from typing import Any

import pytest

from solver import Head, Plate, Refused, Setup, each_position, error_statement, parse_head, plan
from solver.model import HeadErrors
from tests.solver.heads import shipped

SECONDS = 360 * 3600
WORM, ONCE, TWICE = (20.0, -15.0), (30.0, 10.0), (-5.0, 4.0)
MEASURED = HeadErrors(
    Fraction(60), Fraction(90), worm_wave=(Fraction(20), Fraction(-15)),
    wheel_waves=(Fraction(30), Fraction(10), Fraction(-5), Fraction(4)), known_within=Fraction(3),
)  # fmt: skip
ROTARY = shipped("rotary-60-handwheel")
VERNIER = (ROTARY)._replace(handwheel=ROTARY.handwheel and ROTARY.handwheel._replace(
    division_minutes=Fraction(1, 6)))  # fmt: skip


def measured(head: Head | str) -> Head:
    return (shipped(head) if isinstance(head, str) else head)._replace(errors=MEASURED)


def own(head: Head, turns: float) -> float:
    """Arc-seconds too far."""
    found = 0.0
    for n, (even, odd) in ((float(head.worm_ratio), WORM), (1, ONCE), (2, TWICE)):
        angle = 2 * math.pi * n * turns
        found += even * math.cos(angle) + odd * math.sin(angle)
    return found


def truly_off(head: Head, setup: Setup, divisions: int) -> list[float]:
    """Every place of plain crank, back pin or dial, walked through; arc-seconds."""
    crank, found = Fraction(0), []
    for move in setup.moves:
        for _ in range(move.times):
            crank += move.turns + Fraction(move.holes, move.circle or 1)
            crank += Fraction(move.plate_holes, move.plate_circle or 1)
            crank += (move.minutes or 0) * head.worm_ratio / 21600
            at = float(crank / head.worm_ratio)
            wanted = (len(found) + 1) * setup.every / divisions
            found.append((at - wanted) * SECONDS + own(head, at) - own(head, 0))
    return found


CASES = [("three-plate-40", 21), ("three-plate-40", 51), ("two-sided-40", 127), ("rotary-90", 12),
         ("two-sided-40", 69), ("three-plate-40-geared", 21)]  # fmt: skip


@pytest.mark.parametrize(("name", "divisions"), CASES)
@pytest.mark.parametrize("tolerance", [None, 20])
def test_every_way_tells_what_the_work_comes_out_at(
    name: str, divisions: int, tolerance: int | None
) -> None:
    head = measured(name)
    allowed = None if tolerance is None else Fraction(tolerance, SECONDS)
    for setup in plan(head, divisions=divisions, tolerance=allowed):
        if setup.method in ("direct", "differential") or setup.gearing:
            continue
        assert setup.true_error is not None
        off = max(map(abs, truly_off(head, setup, divisions)))
        assert float(setup.true_error * SECONDS) == pytest.approx(off, abs=0.01)


def test_a_head_that_was_not_measured_says_nothing_of_it() -> None:
    for setup in plan(shipped("three-plate-40"), divisions=21):
        assert setup.true_error is None
        assert "true_error_arcsec" not in setup.to_record()


@pytest.mark.parametrize("divisions", [2, 9, 51, 127])
def test_a_dial_is_read_so_that_the_work_comes_out(divisions: int) -> None:
    """On a vernier of 10 arc-seconds no place needs to be off by more than half of that, where
    reading the true angle would leave the whole error of the head (over 20 seconds here)."""
    head = measured(VERNIER)
    first = plan(head, divisions=divisions)[0]
    off = truly_off(head, first, divisions)
    assert first.corrected
    assert max(map(abs, off[:-1])) <= 5.02
    assert off[-1] == pytest.approx(0, abs=0.01)  # all the way round it is at its start again
    plainly = truly_off(head, plan(VERNIER, divisions=divisions)[0], divisions)
    assert max(map(abs, plainly)) > 20
    assert Setup.from_record(first.to_record()) == first


def test_nearest_holes_are_chosen_where_the_work_truly_is() -> None:
    """127 on two circles of the best pair of a plate: steps under 9 arc-seconds, so under 4.5 are
    left of an error of more than 100."""
    head = measured("two-sided-40")
    first = plan(head, divisions=127)[0]
    assert first.corrected and first.method == "nearest"
    assert max(map(abs, truly_off(head, first, 127))) < 4.5


@pytest.mark.parametrize("name", ["three-plate-40", "two-sided-40", "rotary-90"])
@pytest.mark.parametrize("sized", [1, 6])
def test_what_is_passed_over_could_not_have_been_first(name: str, sized: int) -> None:
    """Asked for one set-up alone, circles are put aside unreckoned; all of them are tried here."""
    errors = MEASURED._replace(worm_wave=tuple(sized * wave for wave in MEASURED.worm_wave))
    head = shipped(name)._replace(errors=errors)
    for n in (*range(51, 100, 4), 87, 93, 127, 129, 141, 211, 307):
        first = plan(head, divisions=n, most=1)[0]
        if first.corrected:
            singly = [_true_on(head, n, plate) for plate in _circle_by_circle(head)]
            assert first.true_error == min(each for each in singly if each is not None)
        assert first == plan(head, divisions=n)[0]


def _circle_by_circle(head: Head) -> Iterator[Plate]:
    """Plates with one circle each; two where two together can be nearer."""
    for plate in head.plates:
        count = 1 if head.plate_drive == "fixed" else 2
        yield from (plate._replace(circles=some) for some in combinations(plate.circles, count))


def _true_on(head: Head, n: int, plate: Plate) -> Fraction | None:
    first = plan(head._replace(plates=(plate,)), divisions=n)[0]
    return first.true_error if first.corrected else None


def test_the_order_sees_the_head() -> None:
    """With no tolerance the holes are taken as they lie, one count a cut; a tolerance that they
    miss on this head brings two circles, one that they keep does not."""
    head = measured("two-sided-40")
    assert plan(head, divisions=9)[0].method == "plain"
    wide, narrow = Fraction(200, SECONDS), Fraction(20, SECONDS)
    assert plan(head, divisions=9, tolerance=wide)[0].method == "plain"
    first = plan(head, divisions=9, tolerance=narrow)[0]
    assert first.corrected
    assert first.true_error is not None and first.true_error <= narrow


def test_the_statement_counts_the_head_once() -> None:
    """What was measured stands in the worst error; the budget adds only what is not known of it,
    and the plate's holes, which the worm divides by its ratio (90/40)."""
    head = measured("three-plate-40")
    setup = plan(head, divisions=21)[0]
    statement = error_statement(head, setup, divisions=21)
    assert statement.measured and statement.worst == setup.true_error
    assert (statement.budget.worm, statement.budget.plate) == (3, Fraction(9, 4))
    off = [0.0, *truly_off(head, setup, 21)]
    spaces = [abs(b - a) for a, b in pairwise(off)]
    assert float(statement.adjacent * SECONDS) == pytest.approx(max(spaces), abs=0.01)
    told = [float(place.error * SECONDS) for place in each_position(head, setup, divisions=21)]
    assert told == pytest.approx(off[1:], abs=0.01)


def test_very_many_places_get_a_bound() -> None:
    """Two halves of the swing of all waves: 25, 31.6 and 6.4 arc-seconds (roots of the squares)."""
    setup = plan(measured("three-plate-40-geared"), divisions=100_000, most=1)[0]
    assert setup.true_error is not None
    swing = 2 * (math.hypot(*WORM) + math.hypot(*ONCE) + math.hypot(*TWICE))
    assert float((setup.true_error - setup.worst_error) * SECONDS) == pytest.approx(swing, abs=0.1)


@pytest.mark.parametrize(
    ("lines", "says"),
    [
        ("worm_wave = [1, 2, 3]\nwheel_waves = [1, 2, 3, 4]", "list 2 figures"),
        ('worm_wave = [1, "x"]\nwheel_waves = [1, 2, 3, 4]', "list 2 figures"),
        ("worm_wave = [1, true]\nwheel_waves = [1, 2, 3, 4]", "list 2 figures"),
        ("worm_wave = [1, 2]\nwheel_waves = [1, 2, 3, 4e9]", "list 4 figures"),
        ("worm_wave = [1, 2]", "go together"),
        ("wheel_waves = 3", "list 4 figures"),
    ],
)
def test_faulty_waves_get_one_line(lines: str, says: str) -> None:
    text = f'name = "x"\nworm_ratio = 40\ndirect_circle = [24]\n[errors]\n{lines}\n'
    with pytest.raises(Refused, match=says) as fault:
        parse_head(text, "mine.toml")
    assert "mine.toml line " in str(fault.value)


def test_waves_are_read_exactly() -> None:
    head: Any = parse_head(
        'name = "x"\nworm_ratio = 40\ndirect_circle = [24]\n[errors]\nworm_wave = [-1.25, 2]\n'
        "wheel_waves = [0.1, 0, -3, 4]\nknown_within = 1.5\n"
    )
    assert head.errors.worm_wave == (Fraction(-5, 4), 2)
    assert head.errors.wheel_waves == (Fraction(1, 10), 0, -3, 4)
    assert head.errors.known_within == Fraction(3, 2)
