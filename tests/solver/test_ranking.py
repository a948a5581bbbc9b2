"""The first set-up is the one that a machinist would choose, and the line says why."""

from __future__ import annotations

import re
from fractions import Fraction
from math import lcm

import pytest

from solver import Refused, plan, plan_rings, tolerance_from_text
from solver.nearest import two_circles
from solver.trains import clear_orders
from tests.solver.heads import geared, head, shipped

PLAIN = shipped("three-plate-40")
GEARED = shipped("three-plate-40-geared")


def test_the_larger_circle_leads() -> None:
    """9 divisions: 12 on 27 before 8 on 18 (less arc from hole to hole)."""
    first, second = plan(PLAIN, divisions=9)
    assert (first.circle, second.circle) == (27, 18)
    assert "largest circle" in first.why
    assert "smaller circle" in second.why


def test_the_fitted_plate_leads() -> None:
    """The same with plate A on the head: 8 on 18, and no plate is changed."""
    first, second = plan(PLAIN, divisions=9, fitted="A")
    assert (first.plate, first.circle) == ("A", 18)
    assert "plate A is on already" in first.why
    assert "plate B would have to be put on" in second.why


def test_direct_before_plain() -> None:
    """24 divisions come straight off the direct plate, whatever plate is on."""
    setups = plan(PLAIN, divisions=24, fitted="B")
    assert [s.method for s in setups[:2]] == ["direct", "plain"]
    assert (setups[0].circle, setups[0].sector_spaces) == (24, None)
    assert "worm out of mesh" in setups[0].why


def test_whole_turns_need_no_circle() -> None:
    """40 divisions: one turn each; any hole will do, on the plate that is on."""
    first = plan(PLAIN, divisions=40, fitted="A")[0]
    assert (first.plate, first.moves[0].turns, first.moves[0].holes) == ("A", 1, 0)
    assert first.sector_spaces == 0
    assert "any hole will do" in first.why


def test_a_simple_train_before_two_circles() -> None:
    """51 divisions on the geared head: two gears before two counts at every move."""
    setups = plan(GEARED, divisions=51)
    assert {s.method for s in setups if s.exact} == {"compound", "differential"}
    assert setups[0].method == "differential"
    assert re.search(r"reckoned at [\d.]+ minutes less than the best compound", setups[0].why)
    two = next(s for s in setups if s.method == "compound")
    assert re.search(r"[\d.]+ minutes more, ", two.why)
    pinned = plan(shipped("two-sided-40"), divisions=77)
    assert "nothing simpler is exact" in pinned[0].why


def test_a_plate_that_only_goes_forward_leads() -> None:
    """Of two circles the ones without backward plate moves come first: no slack to take up."""
    backward = [
        any(move.plate_holes < 0 for move in s.moves)
        for s in plan(GEARED, divisions=96)
        if s.method == "compound"
    ]
    assert backward == sorted(backward)
    assert True in backward


def test_forward_plate_holes_where_there_is_a_choice() -> None:
    """A step shared between two circles goes forward on both if it can, and counts the fewest."""
    for crank, plate in ((39, 49), (15, 20), (24, 30), (18, 17)):
        both = lcm(crank, plate)
        for steps in range(0, 2 * both, 61):
            turns, holes, plate_holes = two_circles(steps, crank, plate, both)
            choices = [
                (b < 0, a + abs(b))
                for b in range(1 - plate, plate)
                for a in range(crank)
                if (rest := Fraction(steps, both) - Fraction(a, crank) - Fraction(b, plate)) >= 0
                and rest.denominator == 1
            ]
            assert (plate_holes < 0, holes + abs(plate_holes)) == min(choices)
            assert turns >= 0


def test_a_train_needs_gears_to_spare_for_its_idlers() -> None:
    """56 and 24 against the crank need two idlers: with no other gear held it can't be built."""
    alone = plan(geared((24, 56)), divisions=127)
    assert not any(setup.gearing for setup in alone)
    assert any(setup.gearing for setup in plan(geared((24, 28, 56, 64)), divisions=127))


def test_arms_are_set_only_where_one_setting_serves() -> None:
    """Equal moves name their spaces; moves of different holes leave the arms alone."""
    assert plan(PLAIN, divisions=21)[0].sector_spaces == 19
    assert plan(PLAIN, positions=[Fraction(151, 720)])[0].sector_spaces is None
    assert plan(PLAIN, positions=[Fraction(1, 9), Fraction(2, 9)], fitted="A")[0].moves[1].holes
    assert plan(GEARED, divisions=127)[0].sector_spaces == 13


def test_a_tolerance_of_just_the_error_is_enough() -> None:
    """An error equal to the tolerance is within it; a hair less is not."""
    worst = min(s.worst_error for s in plan(GEARED, divisions=383) if not s.exact)
    wish = {"divisions": 383, "prefer": ["nearest"]}
    assert not plan(GEARED, **wish, tolerance=worst)[0].exact
    assert plan(GEARED, **wish, tolerance=worst * Fraction(999, 1000))[0].exact


def test_two_gears_before_four() -> None:
    """Simple trains come before compound ones."""
    trains = [len(s.gearing.drivers) for s in plan(GEARED, divisions=127) if s.gearing]
    assert trains == sorted(trains)
    assert set(trains) == {1, 2}


def test_orders_of_a_train_that_clear() -> None:
    """Of the four orders of 100, 24 over 32, 48 only 100-32-24-48 goes together.

    Practical Treatise on Milling and Milling Machines (1914), p. 62: the others foul.
    """
    assert clear_orders((100, 24), (32, 48)) == ((100, 32, 24, 48),)


def test_every_listed_order_is_the_same_ratio() -> None:
    """Drivers change places with drivers and driven with driven, never one with the other."""
    for setup in plan(geared(), divisions=139):
        if setup.gearing:
            for order in setup.gearing.orders:
                assert sorted(order[0::2]) == sorted(setup.gearing.drivers)
                assert sorted(order[1::2]) == sorted(setup.gearing.driven)


def test_a_tolerance_lets_a_cheaper_way_lead() -> None:
    """345 divisions to 30 arc-seconds: a lighter count leads the exact one, and says so."""
    pinned = shipped("two-sided-40")
    strict = plan(pinned, divisions=345)[0]
    assert (strict.method, strict.exact) == ("compound", True)
    eased = plan(pinned, divisions=345, tolerance=tolerance_from_text("30"))[0]
    assert (eased.method, eased.exact) == ("nearest", False)
    assert "within your tolerance" in eased.why
    assert "costs less than the exact ways" in eased.why
    tight = plan(pinned, divisions=345, tolerance=tolerance_from_text("2"))[0]
    assert tight == strict


def test_a_tolerance_never_displaces_a_simple_exact_way() -> None:
    """21 divisions stay exact on the circle of 21, whatever error would be good enough."""
    assert plan(PLAIN, divisions=21, tolerance=Fraction(1))[0].exact


def test_a_tolerance_as_a_length_at_a_radius() -> None:
    """0.02 mm at 35 mm is 118 arc-seconds: too little for one circle here, enough for two."""
    allowed = tolerance_from_text("0.02 mm at 35 mm")
    eased = plan(shipped("two-sided-40"), divisions=127, tolerance=allowed)[0]
    assert any(move.plate_holes for move in eased.moves)


def test_one_circle_leads_two_when_both_are_good_enough() -> None:
    """To 400 arc-seconds one count of each move is enough for 127."""
    pinned = shipped("two-sided-40")
    first = plan(pinned, divisions=127, tolerance=tolerance_from_text("400"))[0]
    assert first.method == "nearest"
    assert not any(move.plate_holes for move in first.moves)


def test_nearest_says_that_nothing_is_exact() -> None:
    """A division with no exact way is no error: it gets the best one and its error."""
    first = plan(PLAIN, divisions=51)[0]
    assert (first.method, first.circle, first.sector_spaces) == ("nearest", 49, None)
    assert "no exact way was found" in first.why
    assert '324.13"' in first.why


def test_one_position_in_several_spaces_at_once() -> None:
    """81/2 to 1: 27 divisions are 3 whole turns when two divisions go at a time."""
    maker = head(Fraction(81, 2), ((7, 11),))
    first = plan(maker, divisions=27)[0]
    assert (first.every, first.moves[0].turns, first.moves[0].holes) == (2, 3, 0)
    assert first.exact
    assert "2 divisions at a time" in first.why


@pytest.mark.parametrize("rings", [[12, 18, 33, 60], [20, 16, 60, 29], [27, 18, 54], [37, 16, 37]])
@pytest.mark.parametrize("fitted", [None, "A", "B", "C"])
def test_rings_change_the_plate_as_seldom_as_can_be(rings: list[int], fitted: str | None) -> None:
    """No other choice among set-ups as good as the best ones has fewer changes of plate."""
    from itertools import product

    chosen = plan_rings(PLAIN, rings, fitted=fitted)
    assert [ring.divisions for ring in chosen] == rings
    choices = []
    for n in rings:
        setups = plan(PLAIN, divisions=n)
        best = [
            s
            for s in setups
            if (s.method, s.worst_error) == (setups[0].method, setups[0].worst_error)
        ]
        choices.append({s.plate for s in best})
    fewest = min(_changes(fitted, plates) for plates in product(*choices))
    assert sum(ring.change for ring in chosen) == fewest
    assert all(ring.setup.exact for ring in chosen)


def _changes(on: str | None, plates: tuple[str | None, ...]) -> int:
    changes = 0
    for plate in plates:
        if plate is not None:
            changes += on not in (None, plate)
            on = plate
    return changes


@pytest.mark.parametrize(
    ("asked", "says"),
    [
        ({"divisions": 1}, "from 2 to 10000000"),
        ({"divisions": 0}, "from 2 to 10000000"),
        ({"divisions": 10_000_001}, "from 2 to 10000000"),
        ({"divisions": "9"}, "whole number"),
        ({"divisions": True}, "whole number"),
        ({"angle": Fraction(0)}, "more than 0"),
        ({"angle": Fraction(3, 2)}, "at most 360"),
        ({"angle": 0.5}, "exact Fraction"),
        ({"positions": []}, "none past the start"),
        ({"positions": [Fraction(0)]}, "none past the start"),
        ({"positions": [Fraction(1, 3), Fraction(1, 4)]}, "angle 2 (90 degrees) is not past"),
        ({"positions": [Fraction(1, 3), Fraction(1, 3)]}, "is not past"),
        ({"positions": [Fraction(1, 3), Fraction(5, 4)]}, "from 0 to 360"),
        ({"positions": [Fraction(-1, 3)]}, "from 0 to 360"),
        ({}, "give one of"),
        ({"divisions": 3, "angle": Fraction(1, 3)}, "give one of"),
        ({"divisions": 9, "fitted": "Z"}, "A, B, C"),
        ({"divisions": 9, "tolerance": Fraction(-1)}, "0 or more"),
        ({"divisions": 9, "most": 0}, "one set-up or more"),
    ],
)
def test_what_makes_no_sense_is_refused(asked: dict[str, object], says: str) -> None:
    """One line with the cure."""
    with pytest.raises(Refused) as refused:
        plan(PLAIN, **asked)  # type: ignore[arg-type]
    assert says in str(refused.value)
    assert "\n" not in str(refused.value)


def test_a_list_may_begin_at_0_and_end_at_360() -> None:
    """0 is where the work stands already; the way back to the start comes by itself."""
    third, half = Fraction(1, 3), Fraction(1, 2)
    bare = plan(PLAIN, positions=[third, half])
    assert plan(PLAIN, positions=[Fraction(0), third, half]) == bare
    assert plan(PLAIN, positions=[third, half, Fraction(1)]) == bare
    assert sum(move.times for move in bare[0].moves) == 3


def test_rings_without_a_ring_are_refused() -> None:
    """Nothing asked is nothing planned: one line with the cure."""
    with pytest.raises(Refused, match="no rings: give the divisions of one or more"):
        plan_rings(PLAIN, [])
