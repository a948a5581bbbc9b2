"""Lengths and angles: exact on the way in, as a machinist reads and hears them on the way out."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from assistant.job import units
from solver import Refused


@pytest.mark.parametrize(
    ("text", "mm", "system"),
    [
        ("19.05 mm", Fraction("19.05"), "mm"),
        ("750 thou", Fraction("19.05"), "in"),
        ("0.75 in", Fraction("19.05"), "in"),
        ("3/4 in", Fraction("19.05"), "in"),
        ('1 3/8"', Fraction("34.925"), "in"),
        ("1 3/8 inch", Fraction("34.925"), "in"),
    ],
)
def test_lengths_are_exact(text: str, mm: Fraction, system: str) -> None:
    """An inch is 25.4 mm exactly (international inch, 1959); no float comes in between."""
    assert units.millimetres_from_text(text) == (mm, system)


@pytest.mark.parametrize("text", ["", "9", "wide", "0 mm", "-3 mm", "20000 mm", "3 cm", "1/0 in"])
def test_what_is_no_length(text: str) -> None:
    """Refused with the cure, never a traceback."""
    with pytest.raises(Refused):
        units.millimetres_from_text(text)


@pytest.mark.parametrize(
    ("mm", "unit", "words"),
    [
        ("19.05", "mm", "nineteen point zero five millimetres"),
        ("5.625", "mm", "five point six three millimetres"),
        ("0.125", "mm", "zero point one two five millimetres"),
        ("1", "mm", "one millimetre"),
        ("19.05", "in", "seven hundred fifty thou"),
        ("5.4864", "in", "two hundred sixteen thou"),
        ("82.55", "in", "three point two five inches"),
    ],
)
def test_lengths_as_they_are_said(mm: str, unit: str, words: str) -> None:
    """Places digit by digit; under two inches in thou."""
    assert units.said(Fraction(mm), unit) == words


@settings(deadline=None)
@given(st.fractions(0, 5000))
def test_what_is_shown_is_within_a_micrometre(mm: Fraction) -> None:
    """Half a micrometre or half a tenth of a thou is the most that is lost to the eye."""
    assert abs(float(units.shown(mm, "mm").split()[0]) - mm) <= 0.00051
    assert abs(float(units.shown(mm, "in").split()[0]) * 25.4 - mm) <= 0.0013


@pytest.mark.parametrize(
    ("degrees", "shown", "said"),
    [
        ("26.565", "26°34'", "twenty-six degrees thirty-four minutes"),
        ("45", "45°", "forty-five degrees"),
        ("0.5", "0°30'", "thirty minutes"),
        ("59.9999", "60°", "sixty degrees"),
    ],
)
def test_angles(degrees: str, shown: str, said: str) -> None:
    """To the nearest minute, and never sixty minutes."""
    assert units.angle_shown(float(degrees)) == shown
    assert units.angle_said(float(degrees)) == said
