"""Numbers and angles keep their exact value from the text on; what is no angle is refused."""

from __future__ import annotations

from fractions import Fraction

import mpmath
import pytest
from hypothesis import given
from hypothesis import strategies as st

from solver import Refused, angle_from_text, degrees_text, meant_minutes, number_from_text
from solver.lengths import PI_ABOVE, arc, radius_from_text, tolerance_from_text


@pytest.mark.parametrize(
    ("text", "degrees"),
    [
        ("8d50m", Fraction(53, 6)),
        ("8°50'", Fraction(53, 6)),
        ("8° 50' 30\"", Fraction(53, 6) + Fraction(30, 3600)),
        ("8\u00b050\u203230\u2033", Fraction(53, 6) + Fraction(30, 3600)),
        ("8.8333", Fraction(88333, 10000)),
        ("2/3", Fraction(2, 3)),
        ("11 1/2 deg", Fraction(23, 2)),
        ("48 deg 40 min", Fraction(146, 3)),
        ("54 min", Fraction(9, 10)),
        ("30s", Fraction(1, 120)),
        ("90m", Fraction(3, 2)),
        ("7/51 turn", Fraction(7 * 360, 51)),
        ("1/4 turns", Fraction(90)),
        (".5", Fraction(1, 2)),
        ("0", Fraction(0)),
        ("8:50:00", Fraction(53, 6)),
        ("8:50", Fraction(53, 6)),
        ("8:50:30.5", Fraction(53, 6) + Fraction(61, 7200)),
        ("8 50", Fraction(53, 6)),
        ("8 50 30", Fraction(53, 6) + Fraction(1, 120)),
    ],
)
def test_angles_as_they_are_written(text: str, degrees: Fraction) -> None:
    """Every way of the contract, and the usual spellings, to the exact fraction."""
    assert angle_from_text(text) * 360 == degrees


@pytest.mark.parametrize(
    "text",
    ["", "  ", "x", "-5", "8,5", "8 50m", "8d50", "8d70m", "8d5m60s", "1/0", "1e5", "nan", "--",
     "8d50m turn", "1/2/3", "٣", "9" * 61, "8dd", "5 turns 3", "0x10", "inf", "1_000",
     "8:70", "8 50 60", "8:", ":50", "8:5:5:5", "12 thou", "1 in at 0 in"],
)  # fmt: skip
def test_what_is_no_angle(text: str) -> None:
    """Refused in one line that names the text and the cure."""
    with pytest.raises(Refused) as refused:
        angle_from_text(text)
    assert "\n" not in str(refused.value)


@given(st.text(max_size=70))
def test_any_text_is_an_angle_or_refused(text: str) -> None:
    """No text at all raises anything but Refused, and no angle is negative."""
    try:
        assert angle_from_text(text) >= 0
    except Refused as refused:
        assert len(str(refused).splitlines()) == 1


@given(st.integers(0, 359), st.integers(0, 59), st.integers(0, 59))
def test_degrees_minutes_seconds_come_back(d: int, m: int, s: int) -> None:
    """What is shown for an angle of whole seconds reads back as the same angle."""
    angle = Fraction(d * 3600 + m * 60 + s, 360 * 3600)
    assert angle_from_text(f"{d}d{m}m{s}s") == angle
    assert angle_from_text(degrees_text(angle)) == angle


@given(st.fractions(0, 1))
def test_shown_angles_are_rounded_to_a_hundredth_of_a_second(angle: Fraction) -> None:
    """Display is within half of a hundredth of a second."""
    off = angle_from_text(degrees_text(angle)) - angle
    assert abs(off) * 1296000 <= Fraction(1, 200)


def test_numbers() -> None:
    """Worm ratios as fractions and decimals are exact."""
    assert number_from_text("81/2") == number_from_text("40.5") == number_from_text("40 1/2")


@pytest.mark.parametrize(
    ("text", "arcsec"),
    [
        ("30", 30),
        ('30"', 30),
        ("30 arcsec", 30),
        ("1/2", Fraction(1, 2)),
        ("2m", 120),
        ("1.5", 1.5),
    ],
)
def test_tolerance_in_arc_seconds(text: str, arcsec: float) -> None:
    """A bare number is arc-seconds."""
    assert tolerance_from_text(text) * 1296000 == arcsec


@given(st.fractions(Fraction(1, 10000), 10), st.fractions(Fraction(1, 10), 1000))
def test_tolerance_as_a_length_never_grows(length: Fraction, radius: Fraction) -> None:
    """An arc of the tolerance is no longer than asked, and at most a millionth shorter."""
    turns = tolerance_from_text(f"{length} mm at {radius} mm")
    with mpmath.workdps(40):
        true = mpmath.mpf(length.numerator) / length.denominator
        made = 2 * mpmath.pi * radius.numerator / radius.denominator
        made = made * turns.numerator / turns.denominator
        assert made <= true
        assert made >= true * (1 - mpmath.mpf("1e-6"))


def test_pi_is_taken_a_little_too_large() -> None:
    """355/113 is above pi by less than 1e-7 of it (a convergent of its continued fraction)."""
    with mpmath.workdps(40):
        ratio = mpmath.mpf(PI_ABOVE.numerator) / PI_ABOVE.denominator / mpmath.pi
        assert 1 < ratio < 1 + mpmath.mpf("1e-7")


def test_units_of_length() -> None:
    """Inches and millimetres mix; an arc comes out in the radius's own unit."""
    in_mm = tolerance_from_text("0.0254 mm at 25.4 mm")
    assert tolerance_from_text("0.001 in at 1 in") == in_mm
    assert tolerance_from_text("0.001 in at 25.4 mm") == in_mm
    assert tolerance_from_text("0.001 in", radius_from_text("1 in")) == in_mm
    assert arc(in_mm, radius_from_text("1 in")) == (Fraction(1, 1000), "in")


@pytest.mark.parametrize("text", ["0.02 mm", "0.02 mm at 0 mm", "0.02 at 35 mm", "x", "-3", "3 cm"])
def test_what_is_no_tolerance(text: str) -> None:
    """A length without a radius, a radius of 0, an unknown unit: one line with the cure."""
    with pytest.raises(Refused) as refused:
        tolerance_from_text(text)
    assert "mm" in str(refused.value)


def test_an_arc_at_a_radius_is_an_angle() -> None:
    """Length / (2 pi r), against pi from mpmath; a thousandth of an inch is 0.0254 mm."""
    mpmath.mp.dps = 40
    for text, length, radius in (
        ("12 thou at 1.5 in", "0.012", "1.5"),
        ("0.5 mm at 35 mm", "0.5", "35"),
        ("20 thou at 40 mm", "0.508", "40"),
    ):
        true = mpmath.mpf(length) / (2 * mpmath.pi * mpmath.mpf(radius))
        found = angle_from_text(text)
        assert abs(mpmath.mpf(found.numerator) / found.denominator - true) < 1e-12


@pytest.mark.parametrize(
    ("text", "minutes"),
    [
        ("8.8333", 530), ("8.833", 530), ("8.6667", 520), ("8.6666", 520), ("22.1833 deg", 1331),
        ("8.5", None), ("8.83", None), ("8.8350", None), ("8.25", None), ("53/6", None),
        ("8d50m", None), ("8.8334", None), ("7.0588", None), ("8.830", None),
    ],
)  # fmt: skip
def test_a_decimal_that_is_surely_meant_as_minutes(text: str, minutes: int | None) -> None:
    """8.8333 degrees is 0.12 seconds short of 8 degrees 50 minutes (worked by hand)."""
    meant = meant_minutes(text)
    assert meant == (None if minutes is None else Fraction(minutes, 21600))
