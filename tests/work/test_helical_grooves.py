"""Grooves by their lead: trains and short leads against published ones, and what a disc cuts."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from math import atan2, cos, degrees, hypot, pi, sin, tau

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from assistant.job.kinds import helical_grooves, lead_train
from assistant.job.kinds.helical_grooves import HelicalGrooves
from assistant.job.part import Cutter, Shop
from assistant.job.units import MM_PER_INCH
from tests.work.shops import answers, shop

QUARTER = "6.35"  # mm: a table screw of a quarter inch
TWELVE = (24, 24, 28, 32, 40, 44, 48, 56, 64, 72, 86, 100)


def grooves(**other: object) -> HelicalGrooves:
    given: dict[str, object] = {
        "grooves": 2, "diameter": Fraction(20), "lead": 120.0, "hand": "right",
        "length": Fraction(60), "width": Fraction(2), "depth": Fraction(1), "form": "end",
    } | other  # fmt: skip
    return HelicalGrooves(**given)  # type: ignore[arg-type]


def geared(*, direct: tuple[int, ...] = (24,), screw: str = "5") -> Shop:
    found = shop("three-plate-40-geared", screw=screw)
    return replace(found, head=found.head._replace(direct_circle=direct))


def test_a_gear_on_the_spindle_divides_the_lead_by_forty() -> None:
    """56 on the spindle, 40 and 44 on the stud, 100 on the screw: 6.160 / 40 = .154 in (Practical
    Treatise on Milling and Milling Machines, 1914, p. 63, read)."""
    work = grooves(lead=0.154 * 25.4, width=Fraction(1, 4))
    driven = helical_grooves.drives(work, geared(screw=QUARTER))
    assert driven is not None and driven.at_spindle
    assert driven.lead / MM_PER_INCH == Fraction(154, 1000)
    head, first, second, screw = driven.order
    assert Fraction(head * second, first * screw) == Fraction(56 * 44, 40 * 100)


def test_nine_starts_of_the_treatise() -> None:
    """.261 in: look for 10.440, the gear on the spindle a multiple of 9, as 72; 72 / 9 = 8 teeth a
    start (p. 63, read). The page's nearest, 10.467, can't be had with a 72 gear of the twelve:
    10.465, so .2616, .0006 off for its .0007. The direct plate has to count nine as well."""
    work = grooves(grooves=9, lead=0.261 * 25.4, width=Fraction(1, 10))
    driven = helical_grooves.drives(work, geared(direct=(36,), screw=QUARTER))
    assert driven is not None and driven.at_spindle and driven.order[0] == 72
    assert helical_grooves.teeth_a_groove(work, driven) == 8
    assert float(driven.lead / MM_PER_INCH) == pytest.approx(0.2616, abs=5e-5)
    (refusal,) = work.work_out(geared(screw=QUARTER)).refusals  # 24 holes
    assert "the 9 grooves must divide its teeth and the direct plate's holes" in refusal.text


@pytest.mark.parametrize(
    ("inches", "ratio"),
    [("27", Fraction(48 * 72, 32 * 40)), ("6.16", Fraction(56 * 44, 40 * 100))],
)
def test_leads_through_the_worm(inches: str, ratio: Fraction) -> None:
    """10 in x driven / drivers: 48 and 72 over 32 and 40 is 27 in (Treatise p. 62), 56 and 44 over
    40 and 100 is 6.160 in (p. 63, both read)."""
    work = grooves(lead=float(Fraction(inches) * MM_PER_INCH))
    driven = helical_grooves.drives(work, geared(screw=QUARTER))
    assert driven is not None and not driven.at_spindle
    assert driven.lead / MM_PER_INCH == 10 * ratio == Fraction(inches)


def test_the_angle_of_the_table() -> None:
    """tan = circumference / lead (J. Rose, Modern Machine-Shop Practice, at fig. 1978, read): as
    long as round is 45 degrees; and the lead of an angle gives that angle back."""
    assert degrees(helical_grooves.helix_at(50, 50 * pi)) == pytest.approx(45)
    assert degrees(helical_grooves.helix_at(50, helical_grooves.lead_of(50, 20))) == pytest.approx(
        20
    )


@settings(deadline=None, max_examples=25)
@given(wanted=st.floats(1, 2900), starts=st.sampled_from([2, 3, 4, 6, 8, 12]))
def test_no_train_of_those_allowed_comes_nearer(wanted: float, starts: int) -> None:
    """Every train, tried plainly: through the worm first, on the spindle where that can't reach."""
    driven = helical_grooves.drives(grooves(grooves=starts, lead=wanted), geared())
    every = [
        (Fraction(a * c, b * d) if c else Fraction(a, b), a)
        for a, b, c, d in _every_order()
    ]  # fmt: skip
    worm = min((abs(200 * float(ratio) - wanted) for ratio, _ in every), default=wanted)
    spindle = min(abs(5 * float(ratio) - wanted) for ratio, a in every if a % starts == 0)
    best = worm if worm <= max(0.002 * wanted, spindle) else spindle
    if best > 0.05 * wanted:
        assert driven is None
        return
    assert driven is not None and driven.at_spindle == (best == spindle != worm)
    assert abs(float(driven.lead) - wanted) == pytest.approx(best, abs=1e-9)
    assert not driven.at_spindle or driven.order[0] % starts == 0


def _every_order() -> list[tuple[int, int, int, int]]:
    orders = (
        order for train in lead_train.trains(TWELVE) for order in lead_train.meshing_orders(*train)
    )
    return [
        (one[0], one[1], 0, 0) if len(one) == 2 else (one[0], one[1], one[2], one[3])
        for one in orders
    ]


def test_the_error_of_the_lead_over_the_length() -> None:
    """Turned by a length: length / lead turns, each a circumference (definition of the lead)."""
    work = grooves(lead=121.0)
    turns = 60 / 121 - 60 / 120
    assert helical_grooves.aside(work, Fraction(120)) == pytest.approx(abs(turns) * pi * 20)


@pytest.mark.parametrize(
    ("diameter", "lead", "disc"), [(40, 200, 60), (50, 300, 80), (25, 150, 50)]
)
def test_what_a_disc_opens(diameter: int, lead: int, disc: int) -> None:
    """Points all over the disc's edge and sides, carried back along the helix to one section, and
    the widest of them near the outside (brute force; here a cloud of points, there one line)."""
    work = grooves(
        diameter=Fraction(diameter), lead=float(lead), width=Fraction(6), depth=Fraction(4),
        form="side",
    )  # fmt: skip
    radius, lean = diameter / 2, work.helix
    middle = radius - 4 + disc / 2
    widest = 0.0
    for around in range(-3600, 3601):
        roll = around / 3600 * 1.2
        for inner in range(60):
            r = disc / 2 - inner * 0.1
            along, high = r * sin(roll), middle - r * cos(roll)
            x = along * cos(lean) - 3 * sin(lean)
            y = along * sin(lean) + 3 * cos(lean)
            if abs(hypot(y, high) - radius) < 0.02:
                widest = max(widest, atan2(y, high) - tau * x / lead)
    top = helical_grooves.opened(work, Fraction(disc))
    assert top == pytest.approx(2 * radius * sin(widest) * cos(lean), abs=0.05)
    assert top > 6


def test_a_straight_groove_is_as_wide_as_its_cutter() -> None:
    """With a lead that never turns a disc cuts its own width (limit of the geometry)."""
    work = grooves(lead=1e9, form="side", width=Fraction(6), diameter=Fraction(400))
    assert helical_grooves.opened(work, Fraction(60)) == pytest.approx(6, abs=0.002)


def test_a_side_cutter_is_questioned_by_what_it_opens() -> None:
    """A large disc drags; a narrow groove of a long lead with a small one does not."""
    work = grooves(
        diameter=Fraction(40), lead=200.0, width=Fraction(6), depth=Fraction(4), form="side"
    )
    large = replace(geared(), cutter=Cutter(diameter=Fraction(80)))
    assert any("opens the groove to" in each for each in answers(work.work_out(large)))
    slight = replace(work, lead=1500.0)
    assert not answers(slight.work_out(large))


def test_the_plate_is_never_driven_twice() -> None:
    """The table screw drives the plate: no differential, no second circle; with a gear on the
    spindle the worm is out, and only the direct plate counts. The lock stays off in both."""
    usual, short = grooves().work_out(geared()), grooves(lead=8.0).work_out(geared())
    assert usual.methods == ("plain", "nearest") and short.methods == ("direct",)
    assert all(each.unlocked for part in (usual, short) for each in part.rounds)


def test_a_head_whose_worm_stays_in_mesh_says_how_short_it_goes() -> None:
    """No direct plate: the worm is never out, and the shortest lead of the gears is told:
    200 x 24 x 24 / (86 x 100) = 13.395 mm (arithmetic; .67 in of 10, Treatise p. 180)."""
    (refusal,) = grooves(lead=8.0).work_out(geared(direct=())).refusals
    assert "13.395 mm" in refusal.text and "takes no gear on its own spindle" in refusal.text
