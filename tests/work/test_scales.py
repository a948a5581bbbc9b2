"""Graduations, verniers and rules: printed facts, and every line counted from the numbers."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from assistant.job.compiler import head_of, stages_of
from assistant.job.job_file import read_job
from assistant.job.kinds import graduations, lines, rule
from assistant.job.kinds.graduations import Graduations
from assistant.job.kinds.lines import Grade, Pattern
from assistant.job.kinds.rule import Rule
from assistant.job.units import MM_PER_INCH
from solver import spindle_move
from tests.commands import JOBS
from tests.work.shops import answers, shop

PLAIN = Pattern((Grade(1, "plain", None),))
TENS = Pattern(
    (Grade(10, "long", Fraction(8)), Grade(5, "middle", Fraction(6)), Grade(1, "short", None)),
    number_every=10, number_step=10,
)  # fmt: skip
GEARED = shop("three-plate-40-geared")


def test_travel_for_one_crank_turn() -> None:
    """Geared 1 to 1, screw lead .25 in, 40 to 1: .00625 in (Practical Treatise, 1914, p. 183)."""
    assert rule.travel_of_turn(GEARED.head, Fraction("0.25")) == Fraction("0.00625")


def test_lines_0218_apart() -> None:
    """.0218 in: 3 turns + 20 holes on 41, which gives .0217988 (Treatise p. 184): not exact,
    -1.2e-6 in a line, and -.00012 over 100 lines where every move is made alike."""
    travel = rule.travel_of_turn(GEARED.head, Fraction("0.25"))
    given_by_the_book = (3 + Fraction(20, 41)) * travel
    assert float(given_by_the_book) == pytest.approx(0.0217988, abs=5e-8)
    off = float(given_by_the_book - Fraction("0.0218"))
    assert off == pytest.approx(-1.2e-6, abs=5e-8)
    assert 100 * off == pytest.approx(-0.00012, abs=5e-6)
    wanted = Fraction("0.0218") * MM_PER_INCH
    turns, job = Fraction("0.0218") / travel, Rule(101, wanted, PLAIN)
    ours = rule._on_circle(job, rule._Way((), turns, 41, rule._worst(job, turns, 41)))
    assert rule.moves(ours)[0][:3] == (3, 20, 41)
    # Each line goes to its own nearest hole: half a hole of travel at most, all along.
    assert float(ours.worst / MM_PER_INCH) <= float(travel) / 41 / 2
    assert float(ours.worst / MM_PER_INCH) < 0.00012


def test_twenty_holes_on_41() -> None:
    """20 holes on 41: .0030488 in of table (Treatise p. 184, tables pp. 318-320)."""
    travel = rule.travel_of_turn(GEARED.head, Fraction("0.25"))
    assert float(travel * 20 / 41) == pytest.approx(0.0030488, abs=5e-8)


@settings(deadline=None, max_examples=30)
@given(
    spacing=st.fractions("0.3", "12", max_denominator=200), screw=st.sampled_from(["4", "5", "6"])
)
def test_moves_along_a_rule_reach_every_line(spacing: Fraction, screw: str) -> None:
    """Crank moves, added up through the gears, come to each line within the error stated."""
    work = Rule(30, spacing, PLAIN)
    head = GEARED.head
    gearing = rule.best(work, head, Fraction(screw))
    assert gearing is not None
    order = gearing.order
    ratio = Fraction(1)
    if len(order) == 2:
        ratio = Fraction(order[0], order[1])
    elif order:
        ratio = Fraction(order[0], order[1]) * Fraction(order[2], order[3])
    table, worst = Fraction(0), Fraction(0)
    for n, move in enumerate(rule.moves(gearing), 1):
        crank = move.turns + Fraction(move.holes, move.circle or 1)
        table += crank / head.worm_ratio * ratio * Fraction(screw)
        worst = max(worst, abs(table - spacing * n))
    assert worst == gearing.worst
    assert gearing.worst <= spacing / gearing.turns / gearing.circle / 2


QUARTER = MM_PER_INCH / 4  # a screw of four threads to the inch


def test_turning_is_weighed_against_what_can_be_seen() -> None:
    """1 mm on a quarter-inch screw: 6.3 turns with equal gears are within 1.6 micrometres (6.35 /
    40 / 49 / 2); 26 turns for 0.4 are not worth the turning."""
    work = Rule(51, Fraction(1), PLAIN)
    equal = rule.best(replace(work, equal_gears=True), GEARED.head, QUARTER)
    found = rule.best(work, GEARED.head, QUARTER)
    assert equal and found
    assert float(equal.turns) == pytest.approx(6.3, abs=0.01)
    assert equal.worst <= QUARTER / 40 / 49 / 2 < Fraction(17, 10_000)
    assert found.turns <= equal.turns and found.worst <= rule.unseen(work)


@pytest.mark.parametrize(("spacing", "screw"), [("9.4248", "5"), ("3.1416", "5"), ("0.7", "6")])
def test_no_line_takes_hundreds_of_turns(spacing: str, screw: str) -> None:
    """Never more turning than equal gears ask for, where these can't be seen to be off either."""
    work = Rule(51, Fraction(spacing), PLAIN)
    found = rule.best(work, GEARED.head, Fraction(screw))
    equal = rule.best(replace(work, equal_gears=True), GEARED.head, Fraction(screw))
    assert found and equal
    assert equal.worst <= rule.unseen(work) and found.worst <= rule.unseen(work)
    assert found.turns <= equal.turns


def test_the_error_is_that_of_the_worst_line() -> None:
    """Counted line by line (by the definition), for few lines and for many."""
    for count in (2, 7, 300):
        work = Rule(count, Fraction("1.37"), PLAIN)
        found = rule.best(work, GEARED.head, Fraction(5))
        assert found is not None
        ratio = Fraction(found.order[0], found.order[1]) if found.order else Fraction(1)
        hole = Fraction(5, 40) * ratio / found.circle
        off = [abs(holes * hole - work.spacing * n) for n, holes in enumerate(found.holes)]
        assert max(off) == found.worst


@settings(deadline=None)
@given(st.integers(2, 400))
def test_every_line_has_its_length_and_number(count: int) -> None:
    """Every 10th long, every other 5th middle, the rest short; tens are stamped."""
    for line in range(count):
        name = TENS.grade(line).name
        assert name == ("long" if line % 10 == 0 else "middle" if line % 5 == 0 else "short")
        assert TENS.stamp(line) == (str(line) if line % 10 == 0 else "")
    assert TENS.label(5) == "middle line"
    assert TENS.label(30) == "long line, stamp thirty"


@settings(deadline=None)
@given(main=st.integers(20, 400), parts=st.integers(2, 12), longer=st.booleans())
def test_a_vernier_reads_to_its_part(main: int, parts: int, longer: bool) -> None:
    """Line k of the vernier stands k parts of a main division from the k-th main line."""
    over = parts + 1 if longer else parts - 1
    work = Graduations(main, PLAIN, vernier=parts, vernier_over=over)
    part = work.work_out(shop())
    if part.refusals:
        return
    for k, cut in enumerate(part.rounds[0].cuts):
        assert abs(cut.at - Fraction(k, main)) == k * graduations.reading(work)
    assert graduations.reading(work) * parts == Fraction(1, main)
    assert len(part.rounds[0].cuts) == parts + 1


def test_a_scale_over_part_of_a_turn_has_a_line_at_both_ends() -> None:
    """90 degrees in 90 lines: 91 lines, the last at 90 degrees."""
    part = Graduations(90, PLAIN, over=Fraction(1, 4)).work_out(shop())
    cuts = part.rounds[0].cuts
    assert (len(cuts), cuts[-1].at) == (91, Fraction(1, 4))


def test_lines_that_run_together_name_the_diameter() -> None:
    """The number that would do is the one at which they no longer do."""
    work = Graduations(1000, PLAIN, diameter=Fraction(30))
    (text,) = answers(work.work_out(shop()))
    assert "63.662 mm or more" in text
    good = Graduations(1000, PLAIN, diameter=Fraction("63.67"))
    assert not good.work_out(shop()).refusals


def test_a_pattern_that_does_not_come_out_even_is_questioned() -> None:
    """Every 10th on 96 lines leaves a short space: warned, not refused."""
    part = Graduations(96, TENS).work_out(shop())
    assert not part.refusals
    assert any("every 10 does not come out even in 96" in text for text in answers(part))
    assert lines.lengths_said(PLAIN, "mm") == "every line alike"


def test_the_geared_head_turns_as_it_should_for_a_vernier() -> None:
    """Vernier lines through the whole way: job, plan, moves, by the published rule."""
    from pathlib import Path

    from assistant.job.compiler import head_of, stages_of
    from assistant.job.job_file import read_job
    from tests.commands import JOBS

    job = read_job(Path(JOBS / "press-vernier.toml"))
    head = head_of(job)
    (stage,) = stages_of(job, head)
    place = Fraction(0)
    for n, move in enumerate(stage.programme.moves[:-1], 1):
        place += spindle_move(head, stage.setup, move)
        assert place == n * Fraction(9, 1000)


# --- conical collars ----------------------------------------------------------------------


def _cone(angle: int, **more: object) -> Graduations:
    longest = lines.Grade(1, "plain", Fraction(8))
    return Graduations(60, Pattern((longest,)), "cone", Fraction(70), cone_degrees=Fraction(angle),
                       **more)  # type: ignore[arg-type]  # fmt: skip


@pytest.mark.parametrize(("angle", "left"), [(30, 62.0), (45, 58.686), (60, 56.144)])
def test_a_line_of_a_cone_ends_on_a_smaller_round(angle: int, left: float) -> None:
    """D - 2 L sin(angle): 70 - 16 x 0.5, x 0.70711, x 0.86603 (geometry)."""
    assert graduations.small_end_diameter(_cone(angle)) == pytest.approx(left, abs=1e-3)


def test_lengths_along_the_axis_are_shorter_than_the_lines() -> None:
    """8 mm along the axis of a cone of 30 degrees are 8 / cos(30) = 9.238 mm on its side."""
    (stage,) = stages_of(read_job(JOBS / "gauge-cone.toml"), head_of(
        read_job(JOBS / "gauge-cone.toml")))  # fmt: skip
    figures = {each.name: each.shown for each in stage.part.figures}
    assert figures["longest line, along the side"] == "9.238 mm"
    assert figures["longest line, along the axis"] == "8 mm"
    assert not stage.part.level  # change gears want a level head


@pytest.mark.parametrize(
    ("on", "rises", "turns"),
    [("cone", "clockwise", "free end the work must turn anticlockwise"),
     ("collar", "anticlockwise", "free end the work must turn clockwise"),
     ("disc", "clockwise", "face the work must turn anticlockwise")],
)  # fmt: skip
def test_figures_rise_against_the_turning_of_the_work(on: str, rises: str, turns: str) -> None:
    """A line that is drawn later lies where the work has come from (geometry)."""
    work = Graduations(60, PLAIN, on, Fraction(70), cone_degrees=Fraction(30), rises=rises)
    steps = work.work_out(shop()).steps
    assert any(turns in step for step in steps)
    plain = Graduations(60, PLAIN, on, Fraction(70), cone_degrees=Fraction(30))
    assert not any("must turn" in step for step in plain.work_out(shop()).steps)


@pytest.mark.parametrize(
    ("on", "bore", "side", "edge"),
    [("cone", None, "inner", "large end"), ("disc", None, "outer", "rim"),
     ("disc", Fraction(40), "inner", "bore"), ("cone", None, "outer", ""),
     ("disc", None, "inner", ""), ("disc", Fraction(40), "outer", "")],
)  # fmt: skip
def test_figures_beyond_the_edge_where_lines_begin_are_questioned(
    on: str, bore: Fraction | None, side: str, edge: str
) -> None:
    """There is nothing for them to stand on where the lines run up to the edge (geometry)."""
    pattern = Pattern(PLAIN.grades, number_every=10, number_step=10)
    work = Graduations(60, pattern, on, Fraction(70), bore=bore, number_side=side,
                       cone_degrees=Fraction(30))  # fmt: skip
    told = [each.text for each in work.work_out(shop()).warnings if each.key == "number_side"]
    assert [f"begin at the {edge}:" in text for text in told] == ([True] if edge else [])


def test_where_the_numbers_stand_and_which_way_up() -> None:
    pattern = Pattern(PLAIN.grades, number_every=10, number_step=10)
    told = [
        Graduations(60, pattern, on, Fraction(70), number_side=side, number_top=top)
        for on, side, top in (("collar", "outer", "inner"), ("disc", "inner", "outer"))
    ]
    words = [" ".join(work.work_out(shop()).steps) for work in told]
    assert (
        "Numbers will stand at the free end of the lines, their tops towards the head." in words[0]
    )
    assert "at the inner ends of the lines, their tops towards the rim." in words[1]
