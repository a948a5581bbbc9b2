"""What has to be set before the guard is closed is told with the move, not after it."""

from __future__ import annotations

import re
from fractions import Fraction

import pytest

from assistant.engine import wording
from assistant.engine.phases import Step
from assistant.engine.state import State
from assistant.job.compiler import head_of, programme_of, setups_of
from assistant.job.job_file import job_from_text, read_job
from assistant.job.programme import Programme
from tests.commands import JOBS


def _of(text: str) -> Programme:
    job = job_from_text(text, "job.toml")
    head = head_of(job)
    return programme_of(job, head, setups_of(job, head)[0])


def _called(programme: Programme, place: int) -> str:
    """What is said when the move to this place is called."""
    step = Step.INDEX if place else Step.LOCK
    done = min(place, programme.cuts)
    return wording.question(programme, State(step=step, place=place, done=done))


@pytest.mark.parametrize("name", ["press-collar", "cask-rule"])
def test_the_lines_length_is_told_with_the_move(name: str) -> None:
    """Every tenth line long, every other fifth middle, the rest short (as the jobs say)."""
    job = read_job(JOBS / f"{name}.toml")
    head = head_of(job)
    programme = programme_of(job, head, setups_of(job, head)[0])
    for place in range(programme.cuts):
        wanted = "long" if place % 10 == 0 else "middle" if place % 5 == 0 else "short"
        assert f"Set the stop: {wanted} line." in _called(programme, place)
    if programme.closed:
        assert "Set the stop" not in _called(programme, programme.cuts)


def test_lines_all_alike_need_no_word() -> None:
    """One setting of the stop serves them all: nothing is told with the move."""
    text = 'title = "t"\nhead = "three-plate-40"\n[work]\nkind = "graduations"\nlines = 40\n'
    assert "stop" not in _called(_of(text), 3)


DIAL = 'title = "t"\nhead = "rotary-60-handwheel"\n[work]\nkind = "divisions"\ncount = {}\n'


@pytest.mark.parametrize(
    ("count", "place", "words"),
    [
        # 60 to 1: a turn of the handwheel is 6 degrees. 360/48 = 7 degrees 30 minutes.
        (48, 1, "To six degrees, dial at one degree thirty minutes."),
        (48, 2, "To twelve degrees, dial at three degrees."),
        (48, 4, "To thirty degrees, dial at nought."),
        (48, 48, "To nought, dial at nought."),
        # 360/7 = 51 degrees 25.7 minutes, to the nearest minute: 48 and 3 degrees 26 minutes.
        (7, 1, "To forty-eight degrees, dial at three degrees twenty-six minutes."),
    ],
)
def test_a_handwheel_is_called_by_its_reading(count: int, place: int, words: str) -> None:
    """The reading beside the step, so that no minutes are added in the head (by hand)."""
    assert _called(_of(DIAL.format(count)), place).endswith(words)


def test_readings_and_steps_of_a_handwheel_agree() -> None:
    """Each step, added to the reading before it, is the reading that is called."""
    programme = _of(DIAL.format(11))
    stands = Fraction(0)
    for place in range(1, programme.cuts + 1):
        move = programme.moves[place - 1]
        stands = (stands + move.turns * 360 + Fraction(move.minutes or 0)) % 21600
        table, dial = divmod(stands, 360)
        words = f"{wording.arc_words(table * 360)}, dial at {wording.arc_words(dial)}"
        assert wording.place_words(programme, place) == words


def test_a_handwheel_is_never_told_of_a_pin_or_a_hole() -> None:
    """It has neither (a head file with [handwheel] has no plate): from the first cut to the
    closing check, past an overshoot and a lost place, readings are told."""
    programme = _of(DIAL.format(7))
    asked = [
        (Step.LOCK, 0, 0), (Step.BACK_OFF, 2, 2), (Step.COME_UP, 2, 2), (Step.CHECK_POSITION, 2, 2),
        (Step.RELEASE, 0, 1), (Step.RELEASE, 6, 7), (Step.INDEX, 7, 7), (Step.CLOSING_CHECK, 7, 7),
    ]  # fmt: skip
    for step, place, done in asked:
        words = wording.question(programme, State(step=step, place=place, settled=place, done=done))
        words += wording.waiting(programme, step)
        words = words.replace("pin is home", "")  # what is said for it, whatever the head
        assert not {"pin", "hole"} & set(re.findall(r"[a-z]+", words.lower())), words
