"""A plate from a plate: the errors of its holes, walked by hand on a head that is made up for it.

The rule is derived from the worm ratio alone (R turns of the crank are one of the spindle); no
published figure was read. Nothing of the kind's own reckoning is used here.
"""

from __future__ import annotations

import re
from fractions import Fraction
from math import cos, pi, sin

import pytest

from assistant.job.compiler import Stage, head_of, stages_of
from assistant.job.job_file import job_from_text
from assistant.job.kinds.plate_circle import drilled_by_it
from solver import Head, Plate, plan
from solver.model import HeadErrors
from tests.solver.heads import shipped

PLAIN = shipped("three-plate-40")
SECONDS = 1_296_000


def job(holes: int, head: str = "three-plate-40") -> str:
    return (
        f'title = "Circle for the mill\'s head"\nhead = "{head}"\n[work]\nkind = "plate-circle"\n'
        f'holes = {holes}\ncircle = "220 mm"\nhole = "4 mm"\n'
    )


def stage_of(holes: int, head: Head) -> Stage:
    made = job_from_text(job(holes), "job.toml")
    return stages_of(made, head)[0]


def figures(stage: Stage) -> dict[str, str]:
    return {each.name: each.shown for each in stage.part.figures}


def seconds(text: str) -> list[float]:
    return [float(each) for each in re.findall(r'([+-]?[\d.]+)"', text)]


def each_hole(stage: Stage) -> list[float]:
    rows = [text for name, text in figures(stage).items() if name.endswith("off by")]
    return [value for row in rows for value in seconds(row)]


def rounded(holes: int, circle: int) -> list[Fraction]:
    """Each place at the nearest hole of a circle, and what that is off by, in turns."""
    grid = 40 * circle
    return [Fraction(round(Fraction(n * grid, holes)), grid) - Fraction(n, holes)
            for n in range(holes)]  # fmt: skip


@pytest.mark.parametrize("holes", [51, 53, 97])
def test_each_hole_is_off_by_what_rounding_to_the_largest_circle_leaves(holes: int) -> None:
    stage = stage_of(holes, PLAIN)
    off = [float(each * SECONDS) for each in rounded(holes, stage.setup.circle or 0)]
    assert each_hole(stage) == pytest.approx(off, abs=0.051)
    worst = max(map(abs, off))
    told = figures(stage)
    (first,) = seconds(told["worst hole, by the moves alone"])
    assert first == pytest.approx(worst, abs=0.006)
    (used,) = seconds(told["the same at the work, 40 to 1"])
    assert used == pytest.approx(worst / 40, abs=0.006)
    assert (
        int(told["plate_arcsec for the head's file"]) - 1
        < worst
        <= int(told["plate_arcsec for the head's file"])
    )


def walked(head: Head, holes: int, off: list[Fraction]) -> list[Fraction]:
    """Where the spindle stands when the pin goes round a new circle, hole by hole, for as many
    divisions: by the set-up that the solver gives for a head with that circle, in turns off."""
    with_circle = head._replace(plates=(Plate("new", (holes,)),), errors=HeadErrors())
    setup = plan(with_circle, divisions=holes, most=1)[0]
    at, found = 0, []  # holes of the circle, counted on and on
    for move in setup.moves:
        for _ in range(move.times):
            crank = Fraction(at, holes) + off[at % holes]
            found.append(crank / head.worm_ratio - Fraction(len(found), holes))
            at += move.turns * holes + move.holes
    return found


@pytest.mark.parametrize("holes", [51, 53, 97, 119])
def test_a_second_plate_is_what_a_walk_with_the_first_one_comes_to(holes: int) -> None:
    """The walk knows the moves and the holes of the first plate, nothing else."""
    off = rounded(holes, 49)
    second = drilled_by_it(PLAIN, off)
    assert second == walked(PLAIN, holes, off)
    assert max(map(abs, second)) <= max(map(abs, off)) / 40


def test_what_the_worm_is_off_by_is_not_divided() -> None:
    """A worm that swings by 20 arc-seconds stands in the first plate's holes, and comes afresh in
    the second, so that one is no better than the worm. Its wave is reckoned here anew."""
    errors = HeadErrors(
        worm_wave=(Fraction(0), Fraction(20)), wheel_waves=(Fraction(0),) * 4,
        known_within=Fraction(1),
    )  # fmt: skip
    stage = stage_of(51, PLAIN._replace(errors=errors))
    at, off = Fraction(0), [0.0]
    for move in stage.programme.moves[:-1]:
        at += Fraction(move.turns * (move.circle or 1) + move.holes, 40 * (move.circle or 1))
        true = float(at) * SECONDS + 20 * sin(2 * pi * 40 * float(at))
        off.append(true - len(off) * SECONDS / 51)
    assert each_hole(stage) == pytest.approx(off, abs=0.06)
    (second, _) = seconds(figures(stage)["a second plate, drilled by this one"])
    own = [20 * sin(2 * pi * 40 * n / 51) for n in range(51)]
    again = [off[40 * n % 51] / 40 + own[n] for n in range(51)]
    assert second == pytest.approx(max(map(abs, again)), abs=0.01)
    assert second > 19


def test_a_ratio_that_is_not_whole_promises_no_second_plate() -> None:
    """81/2 to 1: a circle of N holes does not serve N divisions then."""
    head = PLAIN._replace(worm_ratio=Fraction(81, 2))
    assert drilled_by_it(head, [Fraction(0)] * 51) is None
    assert not any("second" in name for name in figures(stage_of(51, head)))


def test_no_gears_drive_the_plate_of_an_upright_head() -> None:
    """On the geared head, level, 51 is done by a simple train; upright by two circles."""
    made = job_from_text(job(51, "three-plate-40-geared"), "job.toml")
    (stage,) = stages_of(made, head_of(made))
    assert stage.setup.gearing is None
    assert set(each_hole(stage)) == {0.0}


def test_out_of_true_is_the_angle_at_the_circle() -> None:
    """0.01 mm at a radius of 110 mm, by the arc."""
    (turned, _) = seconds(figures(stage_of(51, PLAIN))["a bore out of true by 0.01 mm adds"])
    off = 0.01 / 110
    assert (cos(turned / SECONDS * 2 * pi), sin(turned / SECONDS * 2 * pi)) == pytest.approx(
        (cos(off), sin(off)), abs=1e-7
    )
