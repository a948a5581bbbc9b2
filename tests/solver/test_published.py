"""The solver gives what handbooks, courses and exercise sheets print."""

from __future__ import annotations

from fractions import Fraction

import pytest

from solver import Gearing, Move, Setup, angle_from_text, plan, spindle_move
from solver.compound import compound
from solver.differential import every_setup
from solver.proof import check_parts, worst_error_of_divisions
from solver.request import divisions_request
from tests.solver.heads import geared, head, pinned, shipped
from tests.solver.published import (
    ANGLES,
    COMPOUND_EXACT,
    COMPOUND_NEAREST,
    DIFFERENTIAL,
    DIRECT,
    PLAIN,
    THREE_PLATES,
    Angle,
    Compound,
    Differential,
    Direct,
    Plain,
)


def bare(method: str, moves: tuple[Move, ...], gearing: Gearing | None = None) -> Setup:
    """A set-up as a source prints it, for the proof to judge."""
    plate = next((p.name for p in pinned().plates if moves[0].circle in p.circles), None)
    return Setup(method, plate, moves[0].circle, None, 1, Fraction(0), (), gearing, moves)


def crank_moves(setups: tuple[Setup, ...], method: str) -> dict[int | None, tuple[int, int]]:
    """Circle to (turns, holes), over the set-ups of one method."""
    return {
        setup.circle: (setup.moves[0].turns, setup.moves[0].holes)
        for setup in setups
        if setup.method == method
    }


@pytest.mark.parametrize("row", DIRECT, ids=lambda row: f"{row.divisions}")
def test_direct_indexing_on_a_plate_of_24_holes(row: Direct) -> None:
    """Direct indexing counts 24/N holes, and leads."""
    first = plan(shipped("three-plate-40"), divisions=row.divisions)[0]
    assert first.method == "direct"
    assert (first.moves[0].direct_holes, first.moves[0].times) == (row.holes, row.divisions)


def test_direct_indexing_by_an_angle() -> None:
    """75 degrees are 5 holes of 24.

    Fox Valley Technical College, Advanced Milling course notes, figures 1 and 2.
    """
    first = plan(shipped("three-plate-40"), angle=angle_from_text("75"))[0]
    assert (first.moves[0].direct_holes, first.moves[0].times) == (5, 1)


@pytest.mark.parametrize(
    ("circles", "divisions"),
    [
        # Workshop notes, Direct or Rapid Indexing: only divisors of 24, 30 or 36.
        ((24, 30, 36), {2, 3, 4, 5, 6, 8, 9, 10, 12, 15, 18, 24, 30, 36}),
        # Practical Treatise (1914), p. 75, the list of the index plate of triple centres. The
        # circles are not printed; 14, 20 and 24 holes give that list and nothing else.
        ((14, 20, 24), {2, 3, 4, 5, 6, 7, 8, 10, 12, 14, 20, 24}),
    ],
)
def test_direct_indexing_on_several_circles(circles: tuple[int, ...], divisions: set[int]) -> None:
    """Direct indexing serves the divisors of its circles and no other division."""
    indexer = head(plates=())._replace(direct_circle=circles)
    exact = {n for n in range(2, 41) if plan(indexer, divisions=n)[0].exact}
    assert exact == divisions


@pytest.mark.parametrize("row", PLAIN, ids=lambda row: f"{row.divisions}-{row.ratio}")
def test_plain_indexing(row: Plain) -> None:
    """Every circle that the source names is offered, with its turns and holes."""
    maker = head(row.ratio, (row.circles,) if row.circles else THREE_PLATES)
    found = crank_moves(plan(maker, divisions=row.divisions), "plain")
    for circle, holes in row.holes.items():
        assert found[circle] == (row.turns, holes)
    if not row.holes:
        assert set(found.values()) == {(row.turns, 0)}


@pytest.mark.parametrize("row", ANGLES, ids=lambda row: f"{row.angle}-{row.ratio}")
def test_angular_indexing(row: Angle) -> None:
    """The same for angles."""
    circles = (row.circles,) if row.circles else (*THREE_PLATES, (54, 36))
    maker = head(row.ratio, circles)
    found = crank_moves(plan(maker, angle=angle_from_text(row.angle)), "plain")
    for circle, holes in row.holes.items():
        assert found[circle] == (row.turns, holes)
    if not row.holes:
        assert set(found.values()) == {(row.turns, 0)}


def test_which_divisions_the_three_plates_do_plainly() -> None:
    """All to 50, all even to 100 but 96, and many multiples of 5 to 380.

    Practical Treatise on Milling and Milling Machines (1914), p. 52.
    """
    maker = head()
    plain = {n for n in range(2, 381) if plan(maker, divisions=n, most=1)[0].exact}
    assert plain >= set(range(2, 51))
    assert set(range(2, 101, 2)) - plain == {96}
    assert len([n for n in plain if n > 100 and n % 5 == 0]) >= 20
    assert {360, 380} <= plain


def test_a_quarter_of_a_degree_needs_gears() -> None:
    """Not plainly on the three plates; with change gears it is exact.

    Practical Treatise on Milling and Milling Machines (1914), p. 54.
    """
    quarter = angle_from_text("1/4")
    assert all(not setup.exact for setup in plan(head(), angle=quarter))
    # No pair of circles on one plate has 36 in its common multiple but 16 with 18, 18 with 20.
    methods = {setup.method for setup in plan(geared(), angle=quarter) if setup.exact}
    assert methods == {"compound", "differential"}


def test_an_approximate_angle_says_its_error() -> None:
    """24 minutes: 1 hole on 23 is the nearest, and its 31.3 arc-seconds are told.

    US Army Ordnance subcourse OD1644, lesson 1 task 1, p. 27, (c).
    """
    first = plan(head(), angle=angle_from_text("24m"))[0]
    assert (first.method, first.circle, first.moves[0].holes) == ("nearest", 23, 1)
    assert first.worst_error_arcsec == pytest.approx(31.3, abs=0.05)
    assert '31.30"' in first.why


def test_a_wide_range_divider() -> None:
    """400,000 divisions to the turn are 3.24 arc-seconds each.

    NAVEDTRA 14345, Machinery Repairman, ch. 7, p. 7-17: a worm of 40 to 1 and a second one of
    100 to 1 behind it, so 4000 to 1, with a circle of 100 holes.
    """
    first = plan(head(4000, ((100,),)), divisions=400_000)[0]
    assert (first.exact, first.moves[0].holes) == (True, 1)
    one = spindle_move(head(4000, ((100,),)), first, first.moves[0])
    assert one * 360 * 60 * 60 == Fraction("3.24")


@pytest.mark.parametrize("row", COMPOUND_EXACT, ids=lambda row: row.wanted)
def test_compound_indexing(row: Compound) -> None:
    """The printed pair of circles is exact, and is among the pairs found."""
    divisions = int(row.wanted.removeprefix("40/"))
    (holes, circle), (plate_holes, plate_circle) = row.crank, row.plate
    printed = Move(row.turns, holes, circle, plate_holes, plate_circle, divisions)
    assert worst_error_of_divisions(pinned(), bare("compound", (printed,)), divisions) == 0
    check_parts(pinned(), bare("compound", (printed,)))
    found = compound(pinned(), divisions_request(divisions))
    assert {circle, plate_circle} in [{each.circle, each.plate_circle} for each in found]


# The decimals are rounded to four places, so the source's own error is known to 0.00005 turn.
@pytest.mark.parametrize("row", COMPOUND_NEAREST, ids=lambda row: row.wanted)
def test_nearest_setting_of_two_circles(row: Compound) -> None:
    """Ours is as near as the printed one, or nearer."""
    wanted = Fraction(row.wanted)
    (holes, circle), (plate_holes, plate_circle) = row.crank, row.plate
    printed = row.turns + Fraction(holes, circle) + Fraction(plate_holes, plate_circle)
    assert abs(printed - wanted) < Fraction(5, 100_000)
    ours = plan(pinned(), angle=wanted / 40)[0]
    assert ours.worst_error <= abs(printed - wanted) / 40


@pytest.mark.parametrize("row", DIFFERENTIAL, ids=lambda row: f"{row.divisions}-{row.circle}")
def test_differential_indexing(row: Differential) -> None:
    """The printed circle, holes, gears, direction and idlers are among the set-ups found."""
    maker = shipped("three-plate-40-geared")
    found = [
        setup
        for setup in every_setup(maker, divisions_request(row.divisions))
        if setup.gearing
        and setup.circle == row.circle
        and setup.holes == row.holes
        and sorted(setup.gearing.drivers) == sorted(row.drivers)
        and sorted(setup.gearing.driven) == sorted(row.driven)
    ]
    assert len(found) == 1
    gearing = found[0].gearing
    assert gearing is not None
    assert gearing.plate == row.plate
    assert row.idlers in (None, gearing.idlers)


@pytest.mark.parametrize("row", DIFFERENTIAL, ids=lambda row: f"{row.divisions}-{row.circle}")
def test_differential_set_ups_as_printed_are_exact(row: Differential) -> None:
    """N = (R - g) / m holds for every printed row, by the proof alone."""
    gearing = Gearing(row.drivers, row.driven, row.idlers or 0, row.plate)
    moves = (Move(0, row.holes, row.circle, times=row.divisions),)
    printed = bare("differential", moves, gearing)
    assert worst_error_of_divisions(geared(), printed, row.divisions) == 0
    if row.idlers is not None:
        check_parts(geared(), printed)


def test_idlers_and_direction() -> None:
    """Simple train: one idler runs with the crank. Compound: an idler is added for against.

    Differential and Angular Indexing (engineering-college text), sec. 1.15.4; the sources
    disagree, so a head's file states its own rule and the other rule turns everything round.
    """
    for idlers_for_with, simple, doubled in ((1, 1, 0), (0, 0, 1), (2, 2, 1)):
        maker = geared()._replace(idlers_for_with=idlers_for_with)
        for setup in plan(maker, divisions=127):
            if setup.gearing is None:
                continue
            usual = simple if len(setup.gearing.drivers) == 1 else doubled
            runs_with = setup.gearing.plate == "with"
            assert (setup.gearing.idlers == usual) == runs_with
            assert abs(setup.gearing.idlers - usual) == (not runs_with)
            assert setup.gearing.idlers <= 2
