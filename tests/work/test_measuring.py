"""Sizes in the course of the work: what is left, what is doubted, what can't be."""

from __future__ import annotations

from fractions import Fraction

import pytest

from assistant.job.kinds.gear_teeth import Tooth
from assistant.job.kinds.spur_gear import SpurGear
from assistant.job.measuring import Measurement, Verdict
from assistant.job.part import Passes
from tests.work.shops import shop

# A hexagon of 19 mm on a 22 mm bar, roughed to 19.5.
FLATS = Measurement(
    "across flats one and four", 0, 1, 2, Fraction(22), Fraction("19.5"), Fraction(19), Fraction(2)
)


@pytest.mark.parametrize(
    ("size", "verdict", "words"),
    [
        ("19.5", Verdict.LEFT, "Zero point two five millimetres left to cut."),
        ("19.62", Verdict.LEFT, "Zero point three one millimetres left to cut."),
        ("19", Verdict.REACHED, "That is the finished size."),
        ("22.3", Verdict.IMPOSSIBLE,
         "It was twenty-two millimetres before the cut. Measure again."),
        ("18.9", Verdict.UNDER,
         "That is zero point one millimetres under the finished size. Measure again."),
        ("21.5", Verdict.DOUBTED,
         "I expected about nineteen point five millimetres. Measure again."),
    ],
)  # fmt: skip
def test_what_a_size_means(size: str, verdict: Verdict, words: str) -> None:
    """Honest sizes give the depth left; impossible and doubtful ones are questioned."""
    answer = FLATS.answer(Fraction(size), "mm")
    assert (answer.verdict, answer.text) == (verdict, words)


def test_a_size_that_is_repeated_can_be_taken() -> None:
    """What was doubted still gives a depth once the person stands by it."""
    assert FLATS.left(Fraction("21.5"), "mm").depth == Fraction("1.25")


def test_in_inches_the_answer_is_in_thou() -> None:
    """A job in inches is answered in thou."""
    inch = Fraction(254, 10)
    flats = Measurement(
        "across flats one and four", 0, 1, 2, inch, inch * Fraction("0.77"),
        inch * Fraction("0.75"),
        Fraction(2),
    )  # fmt: skip
    assert flats.answer(inch * Fraction("0.77"), "in").text == "Ten thou left to cut."


def test_the_question_stops_the_cutter_first() -> None:
    """Nobody is asked to measure beside a turning cutter."""
    assert FLATS.question().startswith("Stop the cutter")


def test_a_gear_is_measured_when_its_span_is_bounded() -> None:
    """Over k teeth can be measured once k + 1 spaces are cut, in each pass."""
    part = SpurGear(21, Tooth(Fraction(5, 2)), passes=Passes(2)).work_out(shop())
    assert [(m.pass_number, m.after) for m in part.measurements] == [(1, 4), (2, 4)]
    rough, finish = part.measurements
    assert rough.expected > finish.expected == finish.target
