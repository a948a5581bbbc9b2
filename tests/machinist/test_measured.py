"""After a size measured in the middle the part still comes out right: the first touch was off, and
what is left to cut is set as it is said."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.machinist.workshop import JOBS, Choices, make, swapped


@pytest.mark.parametrize("slip", [0.0, 0.08, 0.3, -0.1])
def test_a_first_touch_that_was_off_is_made_good_by_measuring(slip: float) -> None:
    """Two passes, measured in both, for a dial that stood up to 0.3 mm too high or 0.1 too low."""
    made = make(JOBS / "hexagon-plug.toml", Choices(slip=slip, measures=True))
    assert made.person.sizes, "no size was asked for"
    assert not made.faults, made.person.sizes


def test_nothing_left_in_the_first_pass_is_cut_no_deeper_in_the_second() -> None:
    """Measured at the finished size in the roughing pass: the dial stays."""
    made = make(JOBS / "hexagon-plug.toml", Choices(slip=-0.25, measures=True))
    assert not made.faults, made.person.sizes


@pytest.mark.parametrize("slip", [0.0, 0.05, 0.3])
def test_a_keyway_that_came_out_shallow_is_cut_again(slip: float) -> None:
    """One pass: the cut that is measured is made again, and the next is set as that one."""
    made = make(JOBS / "mill-keyways.toml", Choices(slip=slip, measures=True))
    assert made.person.sizes, "no size was asked for"
    assert not made.faults, made.person.sizes


@pytest.mark.parametrize("slip", [0.0, 0.1, 0.3, -0.2])
def test_a_gear_measured_after_roughing_is_finished_to_size(slip: float) -> None:
    """What is left of the span is turned into a depth, and the teeth come out as thick as drawn."""
    made = make(JOBS / "elevator-pinion.toml", Choices(slip=slip, measures=True))
    assert made.person.sizes, "no size was asked for"
    assert not made.faults, made.person.sizes


LIMITED = [
    ("hexagon-plug", 'across_flats = "24 mm"', 'across_flats = "24 mm -0.1 +0"'),
    ("hexagon-plug", 'across_flats = "24 mm"', 'across_flats = "24 mm h11"'),
    ("hexagon-plug", 'across_flats = "24 mm"', 'across_flats = "24 mm ±0.004"'),
    ("mill-keyways", 'depth = "5 mm"', 'depth = "5 mm +0.2 +0"'),
    ("mill-keyways", 'depth = "5 mm"', 'depth = "5 mm +0.005 +0"'),
    ("gate-splines", 'width = "6 mm"', 'width = "6 mm -0.06 -0.02"'),
    ("gate-splines", 'width = "6 mm"', 'width = "6 mm -0.011 -0.004"'),
    ("elevator-pinion", "passes = 2", 'passes = 2\nspan_limits = "-0.15 -0.05 mm"'),
    ("elevator-pinion", "passes = 2", 'passes = 2\nspan_limits = "-0.06 -0.055 mm"'),
    ("elevator-pinion", "passes = 2", 'passes = 2\nthickness_limits = "-0.16 -0.06 mm"'),
]


@pytest.mark.parametrize(("name", "size", "limited"), LIMITED, ids=lambda each: each)
@pytest.mark.parametrize("slip", [0.0, 0.1, 0.3])
def test_a_size_with_limits_comes_out_within_them(
    name: str, size: str, limited: str, slip: float, tmp_path: Path
) -> None:
    """Measured where the session asks: every flat, floor, spline and span lies in its limits, for
    a first touch that was off as well."""
    if name == "gate-splines":
        slip = 0.0  # its depth is not measured
    path = tmp_path / "limited.toml"
    path.write_text(swapped(JOBS / f"{name}.toml", size, limited), "utf-8")
    made = make(path, Choices(slip=slip, measures=True))
    assert made.person.sizes, "no size was asked for"
    assert not made.faults, made.person.sizes


CLOSE = [
    ("hexagon-plug", '"24 mm"', '"24.01 mm ±0.004"'),
    ("mill-keyways", 'depth = "5 mm"', 'depth = "5.004 mm ±0.003"'),
    ("gate-splines", 'width = "6 mm"', 'width = "6 mm -0.008 -0.001"'),
    ("elevator-pinion", "passes = 2", 'passes = 2\nspan_limits = "-0.061 -0.059 mm"'),
]


@pytest.mark.parametrize(("name", "size", "limited"), CLOSE, ids=lambda each: each)
def test_close_limits_are_kept_by_what_is_called(
    name: str, size: str, limited: str, tmp_path: Path
) -> None:
    """Nobody measures: to a hundredth each of these settings would lie outside its limits."""
    path = tmp_path / "close.toml"
    path.write_text(swapped(JOBS / f"{name}.toml", size, limited), "utf-8")
    made = make(path, Choices())
    assert not made.faults


FEW_GEARS = """
name = "few-gears"
describe = "a universal head with few change gears"
worm_ratio = 40
direct_circle = []
plate_drive = "geared"
tilt_degrees = [0, 0]
scale_degrees = 1
change_gears = [24, 28, 44, 86]
idlers_for_with = 1
[[plate]]
name = "B"
circles = [21, 23, 27, 29, 31, 33]
"""
GEAR = """
title = "Gear of odd number"
head = "{head}"
[work]
kind = "spur-gear"
teeth = {teeth}
module = 2
passes = 2
[cutter]
width = "8 mm"
"""


@pytest.mark.parametrize("teeth", [19, 47])
@pytest.mark.parametrize("slip", [0.0, 0.15])
def test_a_size_is_asked_for_when_the_teeth_stand(teeth: int, slip: float, tmp_path: Path) -> None:
    """Two divisions at a time: the spaces beside the teeth that are measured are cut by then."""
    head, job = tmp_path / "few.toml", tmp_path / "job.toml"
    head.write_text(FEW_GEARS, "utf-8")
    job.write_text(GEAR.format(head=head, teeth=teeth), "utf-8")
    made = make(job, Choices(slip=slip, measures=True))
    steps = [each.turns for each in made.machine.cuts[:2]]
    assert abs(steps[1] - steps[0]) * teeth == 2, "this is not two divisions at a time"
    assert made.person.sizes, "no size was asked for"
    assert not made.faults, made.person.sizes
