"""What is answered to what a job leaves out or gets wrong: beside the tables of the pages."""

from __future__ import annotations

import re
from fractions import Fraction
from math import pi, radians, sin

import pytest

from assistant.job import feeds
from assistant.job.compiler import head_of, stages_of
from assistant.job.job_file import job_from_text
from assistant.job.part import Cutter, Machine
from assistant.paper.sheet_text import sheet_lines
from tests.work.pages import PAGES, answers, changed, read

JOB = {path.stem: read(path).job for path in PAGES}
TOO_MUCH = 'passes = 2; finish = "9 mm"'
NO_FINISH = "finish 9 mm is not less than the whole depth: give less than "


@pytest.mark.parametrize(
    ("kind", "change", "answer"),
    [
        # The whole depth is worked out for each kind in its own way.
        ("bevel-gear", TOO_MUCH, f"{NO_FINISH}6.75 mm"),  # 2.25 m, m = 3
        ("helical-gear", TOO_MUCH, f"{NO_FINISH}4.5 mm"),  # 2.25 m, m = 2
        ("clutch", TOO_MUCH, f"{NO_FINISH}6 mm"),
        ("flutes", TOO_MUCH, f"{NO_FINISH}4 mm"),
        ("keyways", TOO_MUCH, f"{NO_FINISH}5 mm"),
        ("splines", TOO_MUCH, f"{NO_FINISH}2.938 mm"),
        ("ratchet", 'finish = "9 mm"', f"{NO_FINISH}5.171 mm"),
        ("keyways", "no keyways", "keyways is missing: give a whole number, 2 to 60"),
        ("keyways", 'keyways = "two"', "keyways = 'two': give a whole number, 2 to 60"),
        ("keyways", "keyways = true", "keyways = True: give a whole number, 2 to 60"),
        ("keyways", "no width", "width is missing: write a number and mm, in or thou"),
        ("ratchet", "no cutter_angle",
         'cutter_angle is missing: write it as text, like "8d50m"'),
        ("spur-gear", 'module = "two"', "module = 'two': give a number, 0.1 to 400"),
        ("spur-gear", "no module", "module or diametral_pitch is missing: give one of them"),
        ("spur-gear", "special_cutter = 1", "special_cutter = 1: write true or false"),
        ("angles", "no angles", 'angles are missing: give angles = ["0", "30", "75d30m"]'),
        ("angles", 'angle = "5d"', "angle and angles: give one of the two"),
        ("angles", 'no angles; angle = "90d"; count = 6',
         "6 cuts of 90d pass a full turn: fewer cuts"),
        ("angles", 'no angles; angle = "steep"; count = 3',
         "'steep' is no angle: write it as 8d50m, 8°50', 8:50:00, 8.8333, 2/3 "
         "(degrees) or 7/51 turn"),
    ],
)  # fmt: skip
def test_a_fault_gets_its_cure(kind: str, change: str, answer: str) -> None:
    """One refusal, which names what is wrong and what would do."""
    job = changed(JOB[kind], change)
    assert job != JOB[kind]
    assert answers(job) == [("refused", answer)]


PATTERN = """title = "Scale of the press"
head = "three-plate-40"
[work]
kind = "graduations"
lines = 100
on = "collar"
diameter = "60 mm"
face = "15 mm"
pattern = {pattern}
line_length = "4 mm"
depth = "0.2 mm"
"""


@pytest.mark.parametrize(
    ("pattern", "verdict", "words"),
    [
        ('[{ every = 10, name = "long", length = "8 mm", colour = "red" }]', "refused",
         "unknown key 'colour' in pattern: known here: every, length, name"),
        ('"long"', "refused",
         'pattern: give a list of tables, like [{ every = 10, name = "long" }]'),
        ('[{ every = 200, name = "long", length = "8 mm" }]', "questioned",
         "every 200 lines: there are only 100"),
    ],
)  # fmt: skip
def test_a_pattern_of_lines(pattern: str, verdict: str, words: str) -> None:
    """What a pattern of long and short lines can't be, or hardly means."""
    assert (verdict, words) in answers(PATTERN.replace("{pattern}", pattern))


def printed(kind: str, change: str) -> str:
    job = job_from_text(changed(JOB[kind], change), "job.toml")
    head = head_of(job)
    return "\n".join(sheet_lines(job, head, stages_of(job, head)))


def test_a_raked_flute_is_cut_past_the_axis() -> None:
    """5 degrees on 32 mm: the face lies 16 sin 5 = 1.394 mm past the axis (trigonometry)."""
    assert round(16 * sin(radians(5)), 3) == 1.394
    found = printed("flutes", 'rake = "5d"')
    assert re.search(r"offset of the cutting face +1.394 mm", found)
    assert "The upright side is one point three nine millimetres past the axis" in found
    assert "past the axis" not in printed("flutes", 'rake = "0d"')


def test_left_and_right_hand_swing_the_table_the_other_way() -> None:
    """A left-hand helix: everything that is turned for it is turned the other way."""
    right = printed("helical-gear", 'face = "25 mm"')
    left = printed("helical-gear", 'hand = "left"')
    assert "20° anticlockwise seen from above: its right end goes away from you" in right
    assert "20° clockwise seen from above: its left end goes away from you" in left
    assert "must turn as a left-hand screw" in left


def test_without_a_face_no_error_over_it_is_told() -> None:
    """How far a flank is off depends on the face: without one nothing is made up."""
    assert "flank off over a face" in printed("helical-gear", 'face = "25 mm"')
    assert "flank off over a face" not in printed("helical-gear", "no face")


def test_fewer_teeth_than_any_form_cutter_is_made_for() -> None:
    """Form cutters begin at 12 teeth (the set of eight); a special one is named."""
    found = printed("spur-gear", "teeth = 8; special_cutter = true")
    assert "cutter                   none: form cutters begin at 12 teeth" in found
    assert "Your special cutter on the arbor" in found


def test_the_cutter_makers_figures_come_first() -> None:
    """A speed and a chip that the job names stand: n = 1000 v / (pi d), f = n z c (standard)."""
    cutter = Cutter(Fraction(100), None, 10, speed=Fraction(25), chip=Fraction("0.1"))
    found = feeds.feeds("brass", cutter, Machine())
    assert found is not None
    turns = 1000 * 25 / (pi * 100)
    assert found.speed == pytest.approx((turns, turns))
    assert found.feed == pytest.approx((turns * 10 * 0.1,) * 2)


def test_no_time_without_length_feed_or_cutter() -> None:
    """Nothing is made up where a figure is missing; a longer cut takes longer."""
    cutter, short, long = Cutter(Fraction(100)), Fraction(10), Fraction(110)
    assert feeds.minutes_by_feed(None, Fraction(5), cutter, 100.0) is None
    assert feeds.minutes_by_feed(short, Fraction(5), cutter, None) is None
    assert feeds.minutes_by_feed(short, Fraction(5), Cutter(), 100.0) is None
    times = [feeds.minutes_by_feed(each, Fraction(5), cutter, 100.0) for each in (short, long)]
    assert times[0] and times[1] and times[1] - times[0] == pytest.approx(1.0)
