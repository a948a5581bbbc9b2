"""Sizes in the course of the work: what is left, what is doubted, what can't be."""

from __future__ import annotations

import re
from dataclasses import replace
from fractions import Fraction
from math import cos, pi, radians, tan
from pathlib import Path

import pytest

from assistant.bench.language_files import choose
from assistant.job.compiler import Stage, _sizes, head_of, stages_of
from assistant.job.job_file import job_from_text
from assistant.job.kinds.gear_teeth import Tooth
from assistant.job.kinds.spur_gear import SpurGear
from assistant.job.measuring import Measurement, SizeVerdict
from assistant.job.part import Part, Passes
from assistant.words.language import speaking
from solver import Millimetres
from tests.work.shops import shop

# A hexagon of 19 mm on a 22 mm bar, roughed to 19.5.
FLATS = Measurement(
    "across flats one and four", 0, 1, 2, Fraction(22), Fraction("19.5"), Fraction(19), Fraction(2)
)


def test_limits_are_shown_in_the_unit_of_the_job_and_in_its_language() -> None:
    """Half an inch is 12.7 mm (international inch, 1959)."""
    wanted = replace(FLATS, low=Millimetres(Fraction("12.7")), high=Millimetres(Fraction("25.4")))
    assert wanted.limit_figures("mm") == "12.7 to 25.4"
    assert wanted.limits_shown("mm") == "12.7 to 25.4 mm"
    assert wanted.limits_shown("in") == "0.5 to 1 in"
    with speaking(choose("de", Path("tallyhand.toml")).code):
        assert wanted.limits_shown("mm") == "12.7 bis 25.4 mm"
    assert FLATS.limits_shown("mm") == FLATS.limit_figures("mm") == ""


@pytest.mark.parametrize(
    ("size", "verdict", "words"),
    [
        ("19.5", SizeVerdict.LEFT, "Zero point two five millimetres left to cut."),
        ("19.62", SizeVerdict.LEFT, "Zero point three one millimetres left to cut."),
        ("19", SizeVerdict.REACHED, "That is the finished size."),
        ("22.3", SizeVerdict.IMPOSSIBLE,
         "It was twenty-two millimetres before the cut. Measure again."),
        ("18.9", SizeVerdict.UNDER,
         "That is zero point one millimetres under the finished size. Measure again."),
        ("21.5", SizeVerdict.DOUBTED,
         "I expected about nineteen point five millimetres. Measure again."),
    ],
)  # fmt: skip
def test_what_a_size_means(size: str, verdict: SizeVerdict, words: str) -> None:
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


def _gear(teeth: int) -> Stage:
    text = (
        'title = "t"\nhead = "three-plate-40-geared"\n[work]\nkind = "spur-gear"\n'
        f"teeth = {teeth}\nmodule = 1.5\npasses = 2\n"
    )
    job = job_from_text(text, "job.toml")
    (stage,) = stages_of(job, head_of(job))
    return stage


def test_several_at_a_time_a_size_is_asked_for_when_its_teeth_stand() -> None:
    """383 teeth go four at a time: the two spaces that bound the span are cut when it is asked
    for, they stand that many teeth apart, and its size is that of so many teeth (the base
    tangent, m cos a (pi (k - 1/2) + z inv a); Elements of Metric Gear Technology, section 10)."""
    stage = _gear(383)
    assert stage.setup.every == 4
    assert [m.pass_number for m in stage.measurements] == [1, 2]
    for wanted in stage.measurements:
        spoken = re.findall(r"tooth space ([a-z-]+(?: [a-z-]+)*?)(?: on|$)", wanted.what)
        names = [f"tooth space {name}" for name in spoken]
        cut = stage.labels[: wanted.after]
        assert len(names) == 2 and set(names) <= set(cut)
        # Only the question can know over how many teeth: the plan must not name another count.
        assert "size over teeth" in stage.part.plan
        assert not set(names) <= set(cut[:-1])
        first, last = (stage.order[stage.labels.index(name)] for name in names)
        teeth = (last - first) % 383
        assert teeth in (42, 43, 44)
        spans = [each.name for each in stage.part.figures if each.name.startswith("span over")]
        assert spans in ([], [f"span over {teeth} teeth"])
        pressure = radians(20)
        size = 1.5 * cos(pressure) * (pi * (teeth - 0.5) + 383 * (tan(pressure) - pressure))
        assert float(wanted.target) == pytest.approx(size, abs=1e-5)


def test_one_at_a_time_the_first_spaces_bound_the_span() -> None:
    """k teeth between k + 1 spaces, and no word on where they are."""
    (first, _) = _gear(40).measurements
    assert (first.what, first.after) == ("over five teeth", 6)


def test_other_sizes_wait_for_their_cuts_too() -> None:
    """A size over the first five cuts waits for all of them, in whatever order they come."""
    part = Part("t", "mm", measurements=(size_over(5),))
    assert _sizes(part, 0, (0, 3, 6, 2, 5, 1, 4))[0].after == 7
    assert _sizes(part, 0, tuple(range(7)))[0].after == 5


def size_over(cuts: int) -> Measurement:
    return Measurement("over it", 0, 1, cuts, *(Fraction(n) for n in (9, 8, 7, 2)))


@pytest.mark.parametrize("sideways", [False, True])
def test_which_way_is_left_outlasts_the_journal(sideways: bool) -> None:
    """A depth, or a move across; older journals keep words for it."""
    kept = replace(FLATS, sideways=sideways).to_record()
    assert Measurement.from_record(kept).sideways is sideways
    del kept["sideways"]
    kept["remainder"] = "to move across" if sideways else "left to cut"
    assert Measurement.from_record(kept) == replace(FLATS, sideways=sideways)
    words = replace(FLATS, sideways=sideways).answer(Fraction("19.5"), "mm").text
    assert words.endswith("to move across." if sideways else "left to cut.")
