"""Cams cut in steps: a roller rolled along what was cut, and what a flat may not do.

No worked example of such a cam was found that may be read by everybody. So the figures are held
against geometry that is not the program's: the roller is rolled along the section that the machine
left, and the envelope of the flats is laid beside the offset of a spiral.
"""

from __future__ import annotations

from fractions import Fraction
from itertools import pairwise
from math import cos, pi, sin, tau

import pytest
from shapely.geometry import Point, Polygon

from assistant.job.kinds import stepped_cam
from assistant.job.kinds.stepped_cam import SteppedCam
from assistant.job.units import near
from tests.machinist import cams
from tests.machinist.craft import Craft, Fault, Made, bar
from tests.machinist.drawings import DrawnJob
from tests.machinist.figures import LENGTH
from tests.machinist.machine import turned
from tests.machinist.person import Person
from tests.machinist.sentences import Instruction
from tests.work.shops import answers, shop


def _choose(person: Person, said: Instruction) -> None:
    person.choose_the_way(said)


def _faults(made: Made) -> list[str]:
    """Seen on its free end, the first lobe's point at the top; where it lies on the blank is free.

    The machine draws the work turning clockwise where its sense is 1.
    """
    job, person, machine = made.job, made.person, made.machine
    if not person.seen_turning:
        return ["the way round is left to chance"]
    seen = 1 if person.seen_turning == "clockwise" else -1
    section = machine.section
    if seen != machine.sense:
        section = Polygon([(-x, y) for x, y in section.exterior.coords])
    worst = [_worst(turned(section, -tenth / 3600), job) for tenth in range(3600)[::_COARSE]]
    best = worst.index(min(worst)) * _COARSE
    near_by = [turned(section, -tenth / 3600) for tenth in range(best - _COARSE, best + _COARSE)]
    cam = min(near_by, key=lambda each: _worst(each, job))
    off = cams.OFF + _ridge(job)
    lobes = range(job.whole("lobes"))
    return [each for n in lobes for each in cams.lobe_faults(cam, n, job, job.mm("roller"), off)]


_COARSE = 10  # tenths of a degree


def _worst(cam: Polygon, job: DrawnJob) -> float:
    middles = cams.rollers(job, job.mm("roller"), 0)[::6]
    return max(abs(cam.distance(each) - job.mm("roller") / 2) for each in middles)


def _ridge(job: DrawnJob) -> float:
    """R (1 / cos(half a step) - 1), R the distance of the roller's middle: more than the cam's own
    radius of curvature (geometry)."""
    half = pi * job.degrees("over") / 360 / job.whole("steps")
    return (job.mm("outside") + job.mm("roller")) / 2 * (1 / cos(half) - 1)


CRAFT = Craft(
    "stepped-cam",
    bar("outside"),
    _faults,
    one_pass=True,
    hears=(
        (
            r"seen on its free end the work must turn (?P<way>clockwise|anticlockwise) from step "
            r"to step",
            _choose,
        ),
        (
            rf"the first flat of a lobe is {LENGTH.format('deep')} deep\. the last one is "
            rf"{LENGTH.format('flat')} deep",
            lambda _person, _said: None,
        ),
    ),
    planted=(
        Fault(
            "the steps go the wrong way round", "latch-cam",
            "the work must turn clockwise", "the work must turn anticlockwise", seen="even rise",
        ),
        Fault(
            "one flat too deep", "latch-cam",
            "Depth dial to three point", "Depth dial to four point", times=1, seen="even rise",
        ),
        Fault(
            "the cutter beside the axis", "latch-cam",
            "Move across fifty millimetres", "Move across forty millimetres",
        ),
    ),
    example="latch-cam",
    told="Stepped cam: the flats that were cut. A roller of the job's size is rolled along "
    "each lobe: it must rise by equal amounts for equal angles, but for the ridges.",
    shows="The latch cam as it was cut",
)  # fmt: skip


# --- the figures, held against geometry -----------------------------------------------------


def cam(**other: object) -> SteppedCam:
    given: dict[str, object] = {
        "lobes": 2, "outside": Fraction(80), "rise": Fraction(6), "over": Fraction(1, 3),
        "rises": "clockwise", "steps": 40, "roller": Fraction(16), "width": Fraction(20),
    } | other  # fmt: skip
    return SteppedCam(**given)  # type: ignore[arg-type]


@pytest.mark.parametrize("roller", [2, 16, 40])
@pytest.mark.parametrize("rise", ["1.5", "6", "14"])
def test_no_flat_cuts_into_a_roller_on_its_way(roller: int, rise: str) -> None:
    """The spiral by co-ordinates, some thousand places of it: the flat touches the nearest of the
    rollers there, and cuts none of them (definition of the envelope)."""
    work = cam(roller=Fraction(roller), rise=Fraction(rise))
    low, radian = 40 - float(work.rise) + roller / 2, float(work.rise) / (tau / 3)
    angles = [tau / 3 * n / 4000 for n in range(-200, 4401)]
    middles = [((low + radian * a) * cos(a), (low + radian * a) * sin(a)) for a in angles]
    for flat in stepped_cam.flats_of(work):
        at = tau * float(flat.at)
        # The roller's middle stands furthest out over the flat that it rolls on.
        furthest = max(x * cos(at) + y * sin(at) for x, y in middles)
        assert 40 - float(flat.depth) == pytest.approx(furthest - roller / 2, abs=1e-4)


def test_the_ridge_is_what_stands_over_the_cam() -> None:
    """Two neighbouring flats meet in a corner: it stands out of the roller's nearest place by no
    more than the ridge that is told, and by most of it (by co-ordinates)."""
    work = cam(steps=12)
    flats = list(stepped_cam.flats_of(work))
    stands = []
    for one, other in pairwise(flats[1:]):
        a, b = tau * float(one.at), tau * float(other.at)
        h, k = 40 - float(one.depth), 40 - float(other.depth)
        x = (h * sin(b) - k * sin(a)) / sin(b - a)
        y = (k * cos(a) - h * cos(b)) / sin(b - a)
        corner = Point(x, y)
        middles = (tau / 3 * n / 2000 for n in range(2001))
        near_by = min(
            corner.distance(Point(rho * cos(each), rho * sin(each)))
            for each in middles
            for rho in [stepped_cam.middle_at(work, each)]
        )
        stands.append(8 - near_by)
    assert max(stands) <= stepped_cam.flat_ridge(work) + 1e-4
    assert max(stands) > 0.9 * stepped_cam.flat_ridge(work)


def test_the_points_of_the_other_lobes_are_spared() -> None:
    """With the widest cutter the point of the next lobe just stands; a hair more takes it off."""
    work = cam(lobes=3, over=Fraction(1, 4), width=Fraction(20))
    flats = tuple(stepped_cam.flats_of(work))
    most = stepped_cam.widest(work, flats)
    point = tau * (0.25 - 1 / 3)
    asides = [
        abs(40 * sin(point - tau * float(each.at)))
        for each in flats
        if 40 * cos(point - tau * float(each.at)) > 40 - float(each.depth)
    ]
    assert most == pytest.approx(2 * min(asides))
    wider = cam(lobes=3, over=Fraction(1, 4), width=near(most * 1.01))
    assert any("takes off the point" in each for each in answers(wider.work_out(shop())))


def test_any_head_serves() -> None:
    """No gears, no table screw, no tilt: a plain head, and a rotary table on its side."""
    for head in ("three-plate-40", "two-sided-40", "three-plate-40-geared"):
        part = cam().work_out(shop(head, screw=None))
        assert not part.refusals and part.cuts == 2 * 42
