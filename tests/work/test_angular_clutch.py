"""Saw-tooth and V clutches: the head's angle and the depths, from the planes of the flanks."""

from __future__ import annotations

from fractions import Fraction
from math import acos, cos, degrees, pi, radians, sin, tan

import pytest

from assistant.job.compiler import head_of, setups_of
from assistant.job.job_file import job_from_text
from assistant.job.kinds import angular_clutch
from assistant.job.kinds.angular_clutch import SAW, VEE, AngularClutch
from tests.work.shops import shop

Vector = tuple[float, float, float]


def clutch(form: str, teeth: int, angle: int, depth: str | None = None) -> AngularClutch:
    way = "clockwise" if form == SAW else ""
    return AngularClutch(form, teeth, Fraction(50), Fraction(30), Fraction(angle), way,
                         None if depth is None else Fraction(depth))  # fmt: skip


@pytest.mark.parametrize(
    ("teeth", "angle", "tilt"),
    [
        # cos A = tan(180/N) cot(cutter angle): the rule of the handbooks for saw-tooth clutches
        # (from memory), reckoned here by tables of tangents.
        (5, 60, "65 12"),  # 0.72654 x 0.57735 = 0.41947
        (8, 60, "76 10"),  # 0.41421 x 0.57735 = 0.23915
        (10, 60, "79 11"),  # 0.32492 x 0.57735 = 0.18759
        (12, 70, "84 24"),  # 0.26795 x 0.36397 = 0.09753
        (20, 70, "86 42"),  # 0.15838 x 0.36397 = 0.05765
    ],
)
def test_the_heads_angle_for_saw_teeth(teeth: int, angle: int, tilt: str) -> None:
    """To the minute, as the scale of a head is set."""
    whole, minutes = map(int, tilt.split())
    wanted = whole + minutes / 60
    assert angular_clutch.tilt(clutch(SAW, teeth, angle)) == pytest.approx(wanted, abs=1 / 120)


def cross(a: Vector, b: Vector) -> Vector:
    (x, y, z), (u, v, w) = a, b
    return y * w - z * v, z * u - x * w, x * v - y * u


def between(a: Vector, b: Vector) -> float:
    """The angle between two planes by what stands square to them, degrees."""
    dot = abs(sum(p * q for p, q in zip(a, b, strict=True)))
    length = (sum(p * p for p in a) * sum(q * q for q in b)) ** 0.5
    return degrees(acos(min(1.0, dot / length)))


@pytest.mark.parametrize("form", [SAW, VEE])
@pytest.mark.parametrize(("teeth", "angle"), [(5, 70), (8, 60), (12, 60), (15, 45), (30, 80)])
def test_the_plane_of_a_flank_stands_off_by_the_cutters_angle(
    form: str, teeth: int, angle: int
) -> None:
    """The plane through a bottom that falls and a point that rises as much, against the plane
    through bottom and axis: the cutter's angle, half of it for a V (solid geometry)."""
    work = clutch(form, teeth, angle)
    low = radians(90 - angular_clutch.tilt(work))
    pitch = 2 * pi / teeth / (2 if form == VEE else 1)
    bottom = cos(low), 0.0, -sin(low)
    point = cos(low) * cos(pitch), cos(low) * sin(pitch), sin(low)
    wanted = angle / 2 if form == VEE else angle
    assert between(cross(bottom, point), (0.0, 1.0, 0.0)) == pytest.approx(wanted, abs=1e-6)


def test_depth_on_the_dial_and_along_the_axis() -> None:
    """A tilted head: the dial goes square to the bottom, depth times the sine of the tilt; points
    are sharp at D tan(90 - tilt) (right-angled triangles)."""
    work = clutch(SAW, 12, 60, "7")
    tilt = radians(angular_clutch.tilt(work))
    assert float(angular_clutch.dial(work)) == pytest.approx(7 * sin(tilt), abs=1e-5)
    assert angular_clutch.sharp_depth(work) == pytest.approx(50 / tan(tilt), abs=1e-9)
    assert angular_clutch.point_land(clutch(SAW, 12, 60)) == pytest.approx(0, abs=1e-3)
    assert angular_clutch.point_land(work) > 1


def test_a_table_that_does_not_tilt_is_refused() -> None:
    """A rotary table lies flat or stands; so does the reason."""
    part = clutch(SAW, 12, 60, "7").work_out(shop("rotary-60-handwheel"))
    assert [each.text for each in part.refusals] == [
        "the head would have to be tilted to 81°6', and rotary-60-handwheel goes from 0 to "
        "0 degrees: another head"
    ]


@pytest.mark.parametrize(("form", "teeth"), [(SAW, 5), (SAW, 9), (VEE, 3), (VEE, 8)])
def test_the_angle_that_a_refusal_names_is_accepted(form: str, teeth: int) -> None:
    """A cure that is given must work: rounded up to the next minute."""
    least = -(-angular_clutch.smallest_angle(clutch(form, teeth, 60)) * 60 // 1)
    work = clutch(form, teeth, 60)
    assert least / 60 >= angular_clutch.smallest_angle(work) > least / 60 - 1 / 60


JOB = """title = "Clutch"
head = "three-plate-40-geared"
[work]
kind = "angular-clutch"
form = "v"
teeth = 127
outside = "50 mm"
bore = "30 mm"
cutter_angle = "60d"
depth = "1 mm"
"""


def test_change_gears_are_not_used_on_a_tilted_head() -> None:
    """127 spaces need a differential, and that needs a level head (a rule of the trade)."""
    job = job_from_text(JOB, "job.toml")
    head = head_of(job)
    assert head.plate_drive == "geared"
    found = setups_of(job, head)
    assert found and all(each.gearing is None for each in found)
