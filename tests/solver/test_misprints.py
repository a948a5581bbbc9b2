"""What sources print wrongly is told apart from what they print rightly, each with the reason."""

from __future__ import annotations

from fractions import Fraction

import pytest

from solver import Disproved, Gearing, Move, Plate, Setup, angle_from_text, plan
from solver.proof import check_parts, spindle_move, worst_error_of_divisions
from tests.solver.heads import geared, head, pinned
from tests.solver.published import DIFFERENTIAL, TWO_SIDES, Differential


def test_the_circle_of_21_is_not_on_the_plate_of_the_figure() -> None:
    """42 divisions as 20 holes on 21: right sum, wrong plate.

    US Army Ordnance subcourse OD1644, lesson 1 task 1, p. 24, ex. (b): the plate in the same
    figure has a circle of 42 holes and none of 21.
    """
    maker = head(plates=TWO_SIDES[:1])
    circles = [setup.circle for setup in plan(maker, divisions=42) if setup.exact]
    assert circles == [42]
    printed = Setup(
        "plain", "plate 1", 21, 20, 1, Fraction(0), (), None, (Move(0, 20, 21, times=42),)
    )
    assert worst_error_of_divisions(maker, printed, 42) == 0
    with pytest.raises(Disproved):
        check_parts(maker, printed)


@pytest.mark.parametrize(
    ("divisions", "circles"), [(25, (33, 35, 36, 37, 39)), (125, (24, 25, 27, 28, 30))]
)
def test_practice_rows_that_no_circle_serves(divisions: int, circles: tuple[int, ...]) -> None:
    """72 to 1 does not divide the work by 25 or 125 on the circles listed.

    Dividing head practice sheet (class exercise sheet), rows 25 and 125: 72/25 and 72/125 are
    in lowest terms. As angles of 25 and 125 degrees both are whole turns: 5 and 25.
    """
    maker = head(72, (circles,))
    assert not plan(maker, divisions=divisions)[0].exact
    as_angle = plan(maker, angle=angle_from_text(str(divisions)))[0]
    assert (as_angle.moves[0].turns, as_angle.moves[0].holes) == (divisions // 5, 0)


def test_a_handbook_move_of_five_divisions_is_not_a_move_of_one() -> None:
    """1 turn + 7 on 39 + 29 on 41 for 106: five divisions at a time, and not quite.

    Machinery's Handbook compound (approximate) indexing table, as quoted in a forum thread
    (81580), where it was read as one division.
    """
    move = Move(1, 7, 39, 29, 41, 106)
    printed = Setup("compound", "plate 3", 39, 7, 1, Fraction(0), (), None, (move,))
    one = spindle_move(pinned(), printed, move)
    assert abs(one - Fraction(1, 106)) > Fraction(1, 50)
    assert abs(one - Fraction(5, 106)) * 1296000 == pytest.approx(0.38, abs=0.005)
    five = printed._replace(every=5)
    grown = worst_error_of_divisions(pinned(), five, 106) * 1296000
    assert 40 < grown < 41
    # Rounding each position by itself keeps every one within half a step of two circles.
    assert plan(head(drive="pinned"), divisions=106)[0].worst_error_arcsec < 7.1


def test_a_gear_list_with_two_wrong_gears_and_one_missing() -> None:
    """24, 26, 28, 32, 40, 44, 56, 64, 72, 82, 100 is not the set that the tables were made for.

    Cabezal divisor (Spanish technical-school notes): 26 and 82 look like 24 and 86, and 48 is
    missing: no train with 48 in it can be made from it, though the sheet's own example can.
    """
    printed = geared((24, 26, 28, 32, 40, 44, 56, 64, 72, 82, 100))
    rows = [row for row in DIFFERENTIAL if 48 in (*row.drivers, *row.driven)]
    assert len(rows) == 9
    for row in rows:
        with pytest.raises(Disproved, match="gear 48"):
            check_parts(printed, as_setup(row))
    example = next(row for row in DIFFERENTIAL if 64 in row.drivers and row.divisions == 53)
    assert worst_error_of_divisions(printed, as_setup(example), 53) == 0
    check_parts(printed, as_setup(example))


def as_setup(row: Differential) -> Setup:
    gearing = Gearing(row.drivers, row.driven, row.idlers or 0, row.plate)
    plate = next(plate.name for plate in geared().plates if row.circle in plate.circles)
    move = Move(0, row.holes, row.circle, times=row.divisions)
    return Setup("differential", plate, row.circle, None, 1, Fraction(0), (), gearing, (move,))


def test_plates_are_kept_apart() -> None:
    """Two circles on different plates never make a compound set-up."""
    apart = head(plates=((39,), (49,)), drive="pinned")
    assert not plan(apart, divisions=91)[0].exact
    together = apart._replace(plates=(Plate("one", (39, 49)),))
    assert plan(together, divisions=91)[0].exact
