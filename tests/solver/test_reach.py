"""How far the shipped heads reach, as printed tables claim and a little further."""

from __future__ import annotations

from fractions import Fraction

import pytest

from solver import Refused, parse_head, plan
from solver.differential import crank_moves, every_setup
from solver.request import divisions_request
from tests.solver.heads import geared, head, shipped

pytestmark = pytest.mark.slow(10)

GEARED = shipped("three-plate-40-geared")


def test_every_division_to_400_is_exact_with_the_twelve_gears() -> None:
    """2 to 382 as period handbooks claim for this head and these gears, and on to 400.

    383 is beyond the claim of one space at a time; four at a time do it.
    """
    first = {n: plan(GEARED, divisions=n, most=1)[0] for n in range(2, 401)}
    assert all(setup.exact for setup in first.values())
    assert [n for n, setup in first.items() if setup.every > 1] == [383]


def test_one_space_at_a_time_without_two_circles_reaches_all_but_383() -> None:
    """Plain and differential alone, as the handbook tables use them, miss only 383 to 400."""
    missed = []
    for n in range(2, 401):
        if plan(head(), divisions=n, most=1)[0].exact:
            continue
        if next(every_setup(GEARED, divisions_request(n)), None) is None:
            missed.append(n)
    assert missed == [383]


def test_every_leading_train_can_be_put_on() -> None:
    """No division to 400 leads with gears that foul each other by the 15-teeth rule."""
    for n in range(2, 401):
        gearing = plan(GEARED, divisions=n, most=1)[0].gearing
        assert gearing is None or gearing.orders


@pytest.mark.parametrize("drive", ["pinned", "geared"])
def test_two_circles_of_the_third_plate_stay_within_7_1_arc_seconds(drive: str) -> None:
    """Half a step of 1/lcm(47, 49) at 40 to 1 is 7.04 arc-seconds, for every N to 1000."""
    maker = head(plates=((37, 39, 41, 43, 47, 49),), drive=drive)
    assert max(plan(maker, divisions=n)[0].worst_error_arcsec for n in range(2, 1001)) <= 7.1


def test_a_fixed_plate_stays_within_half_a_hole_of_its_largest_circle() -> None:
    """360 x 3600 / (40 x 49 x 2) arc-seconds, 330.6, for every N to 1000."""
    half_a_hole = 360 * 3600 / (40 * 49 * 2)
    maker = shipped("three-plate-40")
    errors = [plan(maker, divisions=n)[0].worst_error_arcsec for n in range(2, 1001)]
    assert max(errors) <= half_a_hole
    assert max(errors) > 0.99 * half_a_hole


@pytest.mark.parametrize(
    "name", ["three-plate-40", "two-sided-40", "rotary-90", "rotary-60-handwheel"]
)
def test_there_is_always_a_way(name: str) -> None:
    """Any division from 2 to 10 million has a set-up on any head with a plate or a handwheel."""
    maker = shipped(name)
    for n in (2, 3, 127, 383, 997, 9_999, 99_991, 10_000_000):
        assert plan(maker, divisions=n)


def test_the_geared_head_holds_the_common_set() -> None:
    """The shipped head is the one that the claim is about."""
    assert GEARED.change_gears == geared().change_gears
    assert [p.circles for p in GEARED.plates] == [p.circles for p in geared().plates]


def test_a_head_with_a_direct_plate_alone_goes_to_its_nearest_holes() -> None:
    """Seven divisions on 24 holes: each to its own nearest hole, so that the moves are of 3 and 4
    holes, 24 in all, none farther off than half a space (7.5 degrees, 27000 arc-seconds)."""
    only = head(plates=())._replace(direct_circle=(24,))
    setup = plan(only, divisions=7)[0]
    moves = [move.direct_holes for move in setup.moves for _ in range(move.times)]
    assert (setup.method, setup.circle, setup.plate) == ("nearest", 24, None)
    assert set(moves) == {3, 4} and sum(moves) == 24 and len(moves) == 7
    assert 0 < setup.worst_error_arcsec <= 27000


def test_a_figure_of_a_head_file_is_told_as_a_number() -> None:
    """Never by the name of a type: the person looks for what stands in the file."""
    text = 'name = "own"\nworm_ratio = 40\nscale_degrees = -0.5\n'
    text += '[[plate]]\nname = "A"\ncircles = [9]\n'
    with pytest.raises(Refused, match=r"own.toml line 3: scale_degrees -1/2: it lies between"):
        parse_head(text, "own.toml")


def test_two_divisions_to_1000_have_no_exact_way_on_the_geared_head() -> None:
    """The figures of docs/solver.md."""
    first = {n: plan(GEARED, divisions=n, most=1)[0] for n in range(2, 1001)}
    assert [n for n, setup in first.items() if not setup.exact] == [787, 877]
    several = [setup.every for setup in first.values() if setup.every > 1]
    assert (len(several), max(several)) == (81, 11)


def test_the_head_is_the_limit_of_787_and_877() -> None:
    """No crank move of up to 60 divisions at a time has a ratio that the twelve gears make."""
    for n in (787, 877):
        for every in range(1, 61):
            assert not list(crank_moves(GEARED, Fraction(every, n))), (n, every)
    assert list(crank_moves(GEARED, Fraction(7, 599)))  # the same search finds those that are
    assert list(crank_moves(GEARED, Fraction(11, 898)))


@pytest.mark.parametrize(("name", "left"), [("three-plate-40", set()), ("rotary-90", {89, 91})])
def test_arms_that_stay_set_serve_nearest_holes(name: str, left: set[int]) -> None:
    """By the rounding alone: two neighbouring counts after the same turns, the lower one not 0;
    docs/solver.md names those that are left."""
    found = set()
    for n in range(2, 401):
        setup = plan(shipped(name), divisions=n, most=1)[0]
        if setup.method != "nearest":
            continue
        ratio, circle = shipped(name).worm_ratio, setup.circle or 0
        low, high = (
            divmod(int(ratio * circle) // n, circle),
            divmod(int(ratio * circle) // n + 1, circle),
        )
        assert {(m.turns, m.holes) for m in setup.moves} == {low, high}
        if low[0] != high[0] or not low[1]:
            found.add(n)
    assert found == left


def test_two_circles_leave_the_arms_nothing_to_stand_at() -> None:
    """127 on circles of 59 and 66: the two moves are a step of 40 x 3894 apart, and that step is 17
    holes on and 19 back (17/59 - 19/66 = 1/3894)."""
    moves = plan(shipped("two-sided-40"), divisions=127, most=1)[0].moves
    low, high = sorted({(m.holes, m.plate_holes, m.circle, m.plate_circle) for m in moves})
    assert (high[0] - low[0], high[1] - low[1], *low[2:]) == (17, -19, 59, 66)
    assert Fraction(17, 59) - Fraction(19, 66) == Fraction(1, 59 * 66)
