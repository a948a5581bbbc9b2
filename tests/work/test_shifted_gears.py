"""Profile shift and stub teeth: sizes against published ones, and what a plain cutter gives."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from math import atan2, cos, hypot, pi, radians, sin

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from assistant.job.kinds import cutters, gear_teeth, shifted_gear, spur_gear
from assistant.job.kinds.gear_teeth import Tooth
from assistant.job.kinds.shifted_gear import Shifted
from assistant.job.kinds.spur_gear import SpurGear
from tests.work.shops import answers, shop

TWENTY = radians(20)


def gear(teeth: int = 15, shift: str = "0.3", module: int = 3, **other: object) -> SpurGear:
    return SpurGear(teeth, Tooth(Fraction(module)), shift=Fraction(shift), **other)  # type: ignore[arg-type]


def test_the_chord_of_a_shifted_tooth() -> None:
    """m = 10, z = 12, x = +0.3, ha = 13: chord 17.8256, height 13.6657 mm (Elements of Metric Gear
    Technology, table 10-1, read)."""
    found = (
        gear_teeth.chordal_thickness(10, 12, 0.3, TWENTY),
        gear_teeth.chordal_addendum(10, 12, 1.3, 0.3, TWENTY),
    )
    assert found == pytest.approx((17.8256, 13.6657), abs=6e-5)


def test_the_span_of_a_shifted_gear() -> None:
    """m = 3, z = 24, x = +0.4: over 4 teeth 32.8266 mm (Elements of Metric Gear Technology, section
    10; from memory, and by its formula by hand)."""
    assert gear_teeth.span_teeth(24, TWENTY, 0.4) == 4
    assert gear_teeth.base_tangent(3, 24, 4, TWENTY, 0.4) == pytest.approx(32.8266, abs=5e-5)
    by_hand = 3 * cos(TWENTY) * (pi * 3.5 + 24 * 0.0149044) + 2 * 0.4 * 3 * sin(TWENTY)
    assert by_hand == pytest.approx(32.8266, abs=1e-4)


def test_pins_of_the_metric_handbook() -> None:
    """m = 1, z = 20: the pin that touches on the pitch line is 1.7245 mm; over pins of 1.7 mm it is
    22.2941 mm (Elements of Metric Gear Technology, section 10; from memory)."""
    assert gear_teeth.shifted_pin(1, 20, TWENTY, 0) == pytest.approx(1.7245, abs=1e-4)
    assert gear_teeth.size_over_pins(1, 20, TWENTY, 1.7) == pytest.approx(22.2941, abs=1e-4)


@settings(deadline=None, max_examples=25)
@given(st.integers(12, 60), st.sampled_from([-0.3, 0.2, 0.4, 0.5]))
def test_a_pin_touches_the_shifted_flank(teeth: int, shift: float) -> None:
    """The pin's middle, from the size over pins, is half a pin from the flank drawn by its
    definition, a taut thread unwound; it touches a shift above the pitch line."""
    pin = gear_teeth.shifted_pin(1, teeth, TWENTY, shift)
    over = gear_teeth.size_over_pins(1, teeth, TWENTY, pin, shift)
    centre = (over - pin) / 2 / (1 if teeth % 2 == 0 else cos(pi / 2 / teeth))
    base = teeth / 2 * cos(TWENTY)
    half_space = pi / teeth - gear_teeth.half_thickness(base, 1, teeth, TWENTY, shift)
    near = min(_thread(base, half_space, n / 4000, centre) for n in range(6000))
    assert near[0] == pytest.approx(pin / 2, abs=2e-3)
    assert near[1] == pytest.approx(teeth / 2 + shift, abs=0.03)


def _thread(base: float, start: float, roll: float, centre: float) -> tuple[float, float]:
    """How far a point of the flank is from the pin's middle, and from the axis."""
    x = base * (sin(start + roll) - roll * cos(start + roll))
    y = base * (cos(start + roll) + roll * sin(start + roll))
    return hypot(x, y - centre), hypot(x, y)


@settings(deadline=None, max_examples=25)
@given(
    st.integers(12, 60), st.sampled_from([-0.3, 0.2, 0.4]), st.sampled_from([1, 2, 3, 4, 5, 6, 7])
)
def test_the_span_that_a_cutter_leaves(teeth: int, shift: float, number: int) -> None:
    """Its form drawn point by point where it stands, and the jaws closed on two of its flanks, k
    spaces apart (brute force)."""
    made_for = cutters.teeth_range(number)[0]
    own = Shifted(teeth, shift, TWENTY, 1.0)
    k = own.spanned
    base = made_for / 2 * cos(TWENTY)
    start = pi / 2 / made_for - gear_teeth.involute(TWENTY)
    apart = pi * k / teeth
    # The farthest that the right flank of the left space reaches out along the jaws' way.
    reach = max(
        -(_flank(base, start, n / 4000)[0] * cos(apart) - (
            _flank(base, start, n / 4000)[1] + (teeth - made_for) / 2 + 0.1) * sin(apart))
        for n in range(8000)
    )  # fmt: skip
    found = shifted_gear.span_at(own, made_for, 0.1, k)
    assert found == pytest.approx(2 * reach, abs=2e-3)


def _flank(base: float, start: float, roll: float) -> tuple[float, float]:
    x = base * (sin(start + roll) - roll * cos(start + roll))
    return x, base * (cos(start + roll) + roll * sin(start + roll))


@pytest.mark.parametrize("teeth", [12, 15, 20, 26, 40])
@pytest.mark.parametrize("shift", ["-0.2", "0.2", "0.4"])
def test_the_span_comes_out_as_drawn(teeth: int, shift: str) -> None:
    """With the cutter and the depth that are told: that size is exact, whatever the flanks do."""
    work = gear(teeth, shift)
    drawn = gear_teeth.base_tangent(3, teeth, spur_gear.spanned(work), TWENTY, float(work.shift))
    assert spur_gear.span_size(work) == pytest.approx(drawn, abs=1e-9)
    assert work.cut is not None
    lifted = work.tooth.depth + (work.shift - Fraction(work.cut.raised)) * 3
    assert float(spur_gear.depth(work)) == pytest.approx(float(lifted), abs=5e-6)


def test_no_shift_is_as_it_was() -> None:
    """Nothing of a plain gear changes: cutter of its own number, depth, span, pins."""
    plain = SpurGear(21, Tooth(Fraction(5, 2)))
    assert plain.cut is None and spur_gear.depth(plain) == Fraction("5.625")
    assert spur_gear.teeth_at_the_cutter(plain) == 21
    assert gear_teeth.base_tangent(2.5, 21, 3, TWENTY, 0) == gear_teeth.base_tangent(
        2.5, 21, 3, TWENTY
    )


def test_a_cutter_made_for_it_is_sunk_as_drawn() -> None:
    """Then the shift is in its form: whole depth from the top of the blank, nothing questioned."""
    special = gear(special_cutter=True)
    assert special.cut is None and spur_gear.depth(special) == Fraction("6.75")
    assert not any("cutter of unshifted" in each for each in answers(special.work_out(shop())))
    assert any("the span is true" in each for each in answers(gear().work_out(shop())))


@pytest.mark.parametrize(("teeth", "shift"), [(15, 0.3), (17, 0.5), (24, -0.3)])
def test_how_far_the_flanks_are_off(teeth: int, shift: float) -> None:
    """Points of either flank at the same distance from the axis, compared by angle; no flank of the
    cutter that was chosen is farther off than told, and no other cutter comes nearer (brute force).
    """
    own = Shifted(teeth, shift, TWENTY, 1.0)
    best = shifted_gear.best_cut(own)
    worst = {}
    for number in range(1, 9):
        made_for = cutters.teeth_range(number)[0]
        raised = shifted_gear._raised(own, made_for)
        base, start = made_for / 2 * cos(TWENTY), pi / 2 / made_for - gear_teeth.involute(TWENTY)
        found = 0.0
        for n in range(3000):
            x, y = _flank(base, start, n / 3000)
            y += (teeth - made_for) / 2 + raised
            if own.base < hypot(x, y) <= own.tip:
                half = gear_teeth.half_thickness(hypot(x, y), 1, teeth, TWENTY, shift)
                found = max(found, abs(atan2(x, y) - pi / teeth + half) * own.base)
        worst[number] = found
    assert worst[best.number] == min(worst.values())
    assert best.off >= worst[best.number] - 0.003


def test_a_shift_without_undercut() -> None:
    """x = 1 - z / 17.1 lets z teeth of 20 degrees just escape it (handbook rule: (17 - z) / 17):
    12 teeth want 0.298."""
    warned = answers(gear(12, "0.25", special_cutter=True).work_out(shop()))
    assert any("undercut" in each for each in warned)
    assert not any("undercut" in each for each in answers(
        gear(12, "0.3", special_cutter=True).work_out(shop())))  # fmt: skip


def test_teeth_that_come_to_a_point_are_refused() -> None:
    """8 teeth with x = 0.9: at the tip the flanks have met (an involute gear of few teeth comes to
    a point from x = 0.6 on; DIN 3960, limits of the shift, from memory)."""
    work = gear(8, "0.9", special_cutter=True)
    assert any("come to" in each for each in answers(work.work_out(shop())))
    assert not any("come to" in each for each in answers(
        gear(20, "0.3", special_cutter=True).work_out(shop())))  # fmt: skip


def test_stub_teeth_of_twenty_degrees() -> None:
    """Addendum 0.8/P, whole depth 1.8/P, outside (N + 1.6)/P (American standard 20 degree stub, as
    handbooks have it; from memory): 5 pitch, 25 teeth: 5.320 in outside, 0.360 in deep."""
    tooth = Tooth(Fraction("25.4") / 5, whole_depth=Fraction("1.8"), addendum=Fraction("0.8"))
    work = SpurGear(25, tooth)
    assert spur_gear.outside(work) / Fraction("25.4") == Fraction("5.32")
    assert spur_gear.depth(work) / Fraction("25.4") == Fraction("0.36")
    assert tooth.dedendum / Fraction("25.4") == Fraction("0.2")
    assert not answers(work.work_out(shop(unit="in")))
    shallow = replace(tooth, whole_depth=Fraction("1.6"))
    assert any("addendum of 0.8" in each for each in answers(
        SpurGear(25, shallow).work_out(shop())))  # fmt: skip
