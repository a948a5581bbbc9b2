"""Speeds, feeds and times: the trade's formulae, and what is learned from cuts made."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from assistant.job import feeds
from assistant.job.part import Cutter, Machine


def test_spindle_speed_of_the_worked_example() -> None:
    """25 m/min on a 100 mm cutter: 79.6 turns a minute (1000 v / (pi d), standard formula)."""
    assert feeds.spindle_speed(25, 100) == pytest.approx(79.58, abs=0.005)


def test_imperial_rule_of_thumb_agrees() -> None:
    """4 x feet a minute / inches (common practice) is within 5 per cent of it: pi/12 for 1/4."""
    feet, inches = 80.0, 3.0
    by_thumb = 4 * feet / inches
    assert feeds.spindle_speed(feet * 0.3048, inches * 25.4) == pytest.approx(by_thumb, rel=0.05)


def test_table_feed() -> None:
    """80 turns, 14 teeth, 0.05 mm a tooth: 56 mm a minute (n z f, standard formula)."""
    assert feeds.table_feed(80, 14, 0.05) == pytest.approx(56)


@settings(deadline=None)
@given(
    speeds=st.lists(st.integers(20, 2000), max_size=12), slow=st.floats(20, 500),
    width=st.floats(1, 2),
)  # fmt: skip
def test_a_geared_speed_is_never_faster_while_there_is_a_choice(
    speeds: list[int], slow: float, width: float
) -> None:
    """The machine's own speeds are kept to, and the range is not passed upwards."""
    fast = slow * width
    found = feeds.geared_speed(speeds, slow, fast)
    if speeds:
        assert found in speeds
        assert found <= fast or min(speeds) > fast
    else:
        assert slow <= found <= fast


def test_unknown_cutters_give_no_figure() -> None:
    """Without a diameter nothing is made up."""
    assert feeds.feeds("brass", Cutter(), Machine()) is None
    assert feeds.feeds("", Cutter(diameter=Fraction(60)), Machine()) is None
    known = feeds.feeds("brass", Cutter(diameter=Fraction(60)), Machine())
    assert known is not None and known.feed is None


def test_the_reminder_is_always_there() -> None:
    """Figures never come without saying whose come first."""
    found = feeds.feeds("brass", Cutter(diameter=Fraction(60), teeth=12), Machine())
    assert found is not None
    assert feeds.feed_figures(found, "mm")[-1].shown == feeds.REMINDER
