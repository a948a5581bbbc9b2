"""Plate cams: leads by inclination against published ones, and what the mill may not do."""

from __future__ import annotations

from fractions import Fraction
from math import pi, sin, tau

import pytest

from assistant.job.kinds import plate_cam
from assistant.job.kinds.lead_train import lead_of_machine, nearest_trains
from assistant.job.kinds.plate_cam import PlateCam
from assistant.job.units import near
from tests.work.shops import answers, shop

HEAD = shop("three-plate-40-geared").head


@pytest.mark.parametrize(
    ("driven", "drivers", "angle", "lead"),
    [
        # The table of leads for inclined heads, and its two examples (Practical Treatise on
        # Milling and Milling Machines, 1914, the page before the table, read): machine of
        # 40 x 1/4 = 10 inches. A lead there is cut off or rounded at the fourth place.
        ((24, 32), (86, 100), 9.5, 0.1474),
        ((24, 32), (72, 86), 5.0, 0.1081),
    ],
)
def test_leads_of_the_published_table(
    driven: tuple[int, ...], drivers: tuple[int, ...], angle: float, lead: float
) -> None:
    """Gears and angle give the lead that stands under them."""
    ratio = Fraction(driven[0] * driven[1], drivers[0] * drivers[1])
    assert plate_cam.cam_lead(float(10 * ratio), angle) == pytest.approx(lead, abs=0.0001)


def test_the_published_worked_example() -> None:
    """A rise of 0.178 inches in 91 hundredths: a lead of 0.1956; with gears for 0.67 the sine is
    0.29265, of 17 degrees 1 minute, and that gives 0.196 (the same, p. 181, read)."""
    assert pytest.approx(0.1956, abs=0.0001) == 0.178 / 0.91
    assert plate_cam.cam_lead(0.67, 17 + 1 / 60) == pytest.approx(0.196, abs=0.0005)


def test_the_gears_of_one_lobe_serve_the_other() -> None:
    """Lobes of 2.493 inches in 47 hundredths and 2.443 in 29: geared for 8.437, the head at 38
    degrees 57 minutes and at 86 degrees 49 (the same, p. 182, read). The first is worked out here;
    the second is beyond the 80 degrees that page 249 warns of, and is refused."""
    train = {"train": (72, 64, 24, 32), "lobes": 2, "outside": near(6 * 25.4), "mill": Fraction(6)}
    inches = shop("three-plate-40-geared", "in", "6.35")
    first = cam(**train, rise=near(2.493 * 25.4), over=Fraction(47, 100))
    given = plate_cam.chosen_train(first, inches)
    assert given is not None and float(given.train.lead / Fraction("25.4")) == 8.4375
    assert given.degrees == pytest.approx(38 + 57 / 60, abs=1 / 60)
    other = cam(**train, rise=near(2.443 * 25.4), over=Fraction(29, 100))
    assert plate_cam.chosen_train(other, inches) is None
    assert plate_cam.cam_lead(8.437, 86 + 49 / 60) == pytest.approx(8.424, abs=0.0005)


@pytest.mark.parametrize("rise", ["3", "5.4", "9"])
def test_upright_the_rise_is_what_the_gears_give(rise: str) -> None:
    """No sine is between: the lead is one of the gears' own, and no other train comes nearer."""
    work = cam(rise=Fraction(rise), upright=True)
    given = plate_cam.chosen_train(work, shop("three-plate-40-geared"))
    assert given is not None and given.degrees == 90
    nearest = nearest_trains(HEAD.change_gears, Fraction(200), plate_cam.whole_turn_lead(work), 1)[
        0
    ].lead
    assert given.lead == pytest.approx(float(nearest))
    assert plate_cam.rise_given(work, given) == pytest.approx(float(nearest) / 4)
    assert plate_cam.turns_over(work, given) == pytest.approx(90, abs=1e-4)


def cam(**other: object) -> PlateCam:
    given: dict[str, object] = {
        "lobes": 3, "outside": Fraction(90), "rise": Fraction(9), "over": Fraction(1, 4),
        "rises": "clockwise", "thickness": Fraction(8), "mill": Fraction(12),
    } | other  # fmt: skip
    return PlateCam(**given)  # type: ignore[arg-type]


@pytest.mark.parametrize("rise", ["2", "3.7", "9", "14.2", "21"])
@pytest.mark.parametrize("over", [60, 90, 100])
def test_travel_and_turn_of_a_lobe(rise: str, over: int) -> None:
    """The travel square to the axis is the rise, and meanwhile the work turns by the lobe's angle
    (right-angled triangle; lead is travel for a turn)."""
    work = cam(rise=Fraction(rise), over=Fraction(over, 360))
    given = plate_cam.chosen_train(work, shop("three-plate-40-geared"))
    assert given is not None and 15 <= given.degrees <= 80
    travel = float(plate_cam.lobe_travel(work, given))
    assert travel * sin(given.degrees * pi / 180) == pytest.approx(float(rise), abs=1e-5)
    assert plate_cam.turns_over(work, given) == pytest.approx(over, rel=0.001)
    train = given.train
    wanted = float(rise) * 360 / over / sin(given.degrees * pi / 180)
    assert train.lead == nearest_trains(HEAD.change_gears, Fraction(200), wanted, 1)[0].lead
    ratio = Fraction(1)
    for driven, driver in zip(train.driven, train.drivers, strict=True):
        ratio *= Fraction(driven, driver)
    assert train.lead == lead_of_machine(HEAD, Fraction(5)) * ratio


@pytest.mark.parametrize("over", [112, 114, 117])
def test_the_largest_mill_just_touches_the_point(over: int) -> None:
    """A little larger and it would take it off: its circle about the low place, and the point of
    the lobe beside it (law of cosines, here by co-ordinates)."""
    work = cam(over=Fraction(over, 360), mill=Fraction(1))
    size = plate_cam.largest_mill(work)
    gap = tau * (1 / 3 - over / 360)
    middle = 36 + size / 2
    point = complex(45 * sin(gap), 45 * sin(pi / 2 - gap))
    assert abs(point - complex(0, middle)) == pytest.approx(size / 2, abs=1e-6)
    larger = cam(over=Fraction(over, 360), mill=near(size * 1.01))
    assert any("would take off the point" in each for each in
               answers(larger.work_out(shop("three-plate-40-geared"))))  # fmt: skip


def test_the_plate_is_never_driven_twice() -> None:
    """The table screw drives the plate: no differential, no back pin, and the lock stays off."""
    part = cam().work_out(shop("three-plate-40-geared"))
    assert part.methods == ("plain", "nearest") and not part.level
    assert all(each.unlocked for each in part.rounds)
