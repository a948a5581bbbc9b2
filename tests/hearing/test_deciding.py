"""How sure the ear must be, and when an answer may come before the silence has run out."""

from __future__ import annotations

import pytest

from assistant.hearing.thresholds import certain, in_this_step


def test_the_sooner_the_surer() -> None:
    """What is hardly in doubt is answered while the silence still lasts; what is not, later."""
    assert certain(0.96, 0.064, strict=False)
    assert not certain(0.9, 0.064, strict=False)
    assert certain(0.85, 0.13, strict=False)
    assert not certain(0.65, 0.19, strict=False)
    assert certain(0.65, 0.26, strict=False)
    assert not certain(0.55, 0.35, strict=False)
    assert not certain(1.0, 0.03, strict=False)


def test_lock_and_guard_wait_longer_and_need_more() -> None:
    """What lets the cutter near the work is answered early only when nearly beyond doubt."""
    assert certain(0.99, 0.13, strict=True)
    assert not certain(0.999, 0.064, strict=True)
    assert not certain(0.97, 0.13, strict=True)
    assert not certain(0.92, 0.3, strict=True)


def test_doubt_about_what_makes_no_sense_now_counts_little() -> None:
    """By Bayes' rule: 0.5 for what is expected, 0.4 for what is twenty times less likely, and 0.1
    for neither make 0.5 / (0.5 + 0.02 + 0.1)."""
    sure = in_this_step("cut", 0.5, {"lock": 0.4}, {"cut", "again"})
    assert sure == pytest.approx(0.5 / 0.62)


def test_nothing_is_put_in_the_place_of_the_winner() -> None:
    """Doubt between two that make sense stays, and so does a winner that makes none."""
    assert in_this_step("cut", 0.5, {"again": 0.4}, {"cut", "again"}) == 0.5
    assert in_this_step("lock", 0.5, {"cut": 0.4}, {"cut", "again"}) == 0.5


def test_confidence_never_passes_one() -> None:
    """Shares that add up to more than one, as they do after rounding, do no harm."""
    assert in_this_step("cut", 0.9, {"lock": 0.1001}, {"cut"}) <= 1.0
