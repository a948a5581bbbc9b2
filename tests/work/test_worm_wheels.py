"""Worm wheels: sizes against published ones, and the way from the first touch to the throat."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from math import degrees, hypot, pi, sqrt

import pytest

from assistant.job.kinds import worm_wheel
from assistant.job.kinds.worm_wheel import WormWheel
from assistant.job.part import Cutter, Shop
from tests.work.shops import answers, shop


def wheel(**other: object) -> WormWheel:
    given: dict[str, object] = {
        "teeth": 30, "module": Fraction(3), "pressure_degrees": Fraction(20), "starts": 2,
        "worm_diameter": Fraction(44), "hand": "right", "face": Fraction(26),
        "cutter_width": Fraction(2), "leave": Fraction(3, 10),
    } | other  # fmt: skip
    return WormWheel(**given)  # type: ignore[arg-type]


def with_cutter(diameter: int = 50) -> Shop:
    return replace(shop(), cutter=Cutter(diameter=Fraction(diameter)))


def test_the_double_start_pair_of_the_handbook() -> None:
    """Axial module 3, two starts, 30 teeth, worm of 44 mm: lead angle 7.76517 degrees, centres 67,
    throat 96 mm, its radius 19 mm (Elements of Metric Gear Technology, table of worm pairs by axial
    module; from memory, the angle also by its definition)."""
    work = wheel()
    assert degrees(work.lead_angle) == pytest.approx(7.76517, abs=5e-6)
    assert worm_wheel.pitch_diameter(work) == 90
    assert worm_wheel.centre_distance(work) == 67
    assert worm_wheel.throat_diameter(work) == 96
    assert worm_wheel.throat_radius(work) == 19


def test_formulae_of_a_worm_pair() -> None:
    """Throat = d2 + 2 m, dedendum 1.25 m (a sheet of formulae for worm and wheel on the web, read):
    the hob reaches 2.25 m below the throat, the gash as much less as is left for it."""
    work = wheel()
    assert worm_wheel.gash_depth(work) == Fraction("2.25") * 3 - Fraction("0.3")
    assert worm_wheel.hob_diameter(work) == 44 + 2 * Fraction("3.75")


def test_a_cutter_as_hollow_as_the_throat_touches_it_at_once() -> None:
    """No swing and no width: a disc of the throat's own radius lies in it everywhere; a larger one
    touches the edges first, by the difference of two arcs (geometry)."""
    flat = wheel(starts=1, worm_diameter=Fraction(44_000), module=Fraction(1, 1000),
                 cutter_width=Fraction(1, 1000), face=Fraction(26))  # fmt: skip
    assert float(worm_wheel.before_throat(flat, Fraction(50))) == pytest.approx(0, abs=0.01)
    plain = wheel(starts=1, module=Fraction(1, 100), worm_diameter=Fraction(40),
                  cutter_width=Fraction(1, 1000))  # fmt: skip
    hollow = 20 - 0.01
    arcs = (hollow - sqrt(hollow**2 - 13**2)) - (25 - sqrt(25**2 - 13**2))
    assert float(worm_wheel.before_throat(plain, Fraction(50))) == pytest.approx(arcs, abs=0.01)


@pytest.mark.parametrize(("starts", "width", "cutter"), [(1, 2, 50), (2, 2, 45), (4, 1, 51)])
def test_the_first_touch_is_that_of_the_highest_point(starts: int, width: int, cutter: int) -> None:
    """Points all over the hollow; of those under the disc the one that meets it first (brute)."""
    work = wheel(starts=starts, cutter_width=Fraction(width))
    lean = work.lead_angle
    radius, best = cutter / 2, 0.0
    across_unit, along_unit = sin_cos(lean)
    for n in range(-400, 401):
        along = 13 * n / 400
        ring = 67 - sqrt(19**2 - along**2)
        for k in range(-300, 301):
            side = width / 2 * k / 300
            way = (along + side * across_unit) / along_unit
            across = way * across_unit + side * along_unit
            if hypot(across, 0) < ring and abs(way) < radius:
                best = max(best, sqrt(ring**2 - across**2) + sqrt(radius**2 - way**2))
    found = float(worm_wheel.before_throat(work, Fraction(cutter)))
    assert found == pytest.approx(best - radius - 48, abs=2e-3)
    assert found > 0


def sin_cos(angle: float) -> tuple[float, float]:
    from math import cos, sin

    return sin(angle), cos(angle)


def test_the_gash_stays_inside_the_thread() -> None:
    """The worm's thread is a rack along its axis: half the pitch at the pitch line, narrower below
    by the tangent of 20 degrees on either side (definition of the rack)."""
    work = wheel()
    below = 1.25 * 3 - 0.3
    thread = pi * 3 / 2 - 2 * below * 0.36397
    assert worm_wheel.widest_cutter(work) == pytest.approx(thread * 0.99083, abs=1e-3)
    wide = wheel(cutter_width=Fraction("2.3"))
    assert any("wider than the worm's thread" in each for each in answers(
        wide.work_out(with_cutter())))  # fmt: skip


def test_what_it_can_not_do_is_refused() -> None:
    """A cutter larger than the hob, an unknown one, a lead that the table does not swing to."""
    assert any("51.5 mm or less" in each for each in answers(wheel().work_out(with_cutter(60))))
    assert any("is not known" in each for each in answers(wheel().work_out(shop())))
    steep = wheel(starts=12, worm_diameter=Fraction(30))
    assert any("fewer starts" in each for each in answers(steep.work_out(with_cutter())))
    assert not answers(wheel().work_out(with_cutter()))
