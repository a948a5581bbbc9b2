"""“What is next” and “where am I” at every moment: no answer leads a hand astray.

A spindle stays locked while its cut is measured; a collet block and a driven head have no lock to
take off between cuts; a place whose move is called may be left already (all: common practice).
"""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from assistant.engine.phases import Step
from assistant.engine.state import State
from assistant.engine.wording import question, what_next, where_it_stands
from assistant.job.compiler import head_of, stages_of
from assistant.job.job_file import read_job
from assistant.job.programme import Programme
from tests.commands import JOBS


def job(name: str) -> Programme:
    read = read_job(Path(JOBS) / f"{name}.toml")
    return stages_of(read, head_of(read))[0].programme


KEYWAYS, PINION, GROOVES = job("mill-keyways"), job("pinion"), job("press-auger")


def at(step: Step, **other: Any) -> State:
    return replace(State(), step=step, **other)


@pytest.mark.parametrize("made", [KEYWAYS, PINION, GROOVES], ids=lambda made: made.title)
@pytest.mark.parametrize("place", [0, 1, -1])
def test_what_comes_behind_a_cut(made: Programme, place: int) -> None:
    """The size where one is due, and the lock off only where it was on."""
    place %= made.cuts
    due = any(each.pass_number == 1 and each.after == place + 1 for each in made.measurements)
    told = what_next(made, at(Step.CUT, place=place, settled=place, done=place))
    assert ("then the size" in told) is due
    assert ("the lock comes off" in told) is not (due or made.unlocked)


def test_a_size_is_due_after_the_first_keyway() -> None:
    assert "then the size" in what_next(KEYWAYS, at(Step.CUT))


@pytest.mark.parametrize("step", [Step.INDEX, Step.AT_PIN, Step.COME_UP])
def test_behind_the_closing_move_nothing_is_locked(step: Step) -> None:
    assert "then the lock" in what_next(PINION, at(step, place=1))
    assert "the round came out" in what_next(PINION, at(step, place=21, settled=20, done=21))
    assert "lock" not in what_next(PINION, at(step, place=1, trial=True))


@pytest.mark.parametrize("step", [Step.INDEX, Step.CALL, Step.BACK_OFF, Step.COME_UP])
def test_a_place_that_is_being_left_has_its_reading_there(step: Step) -> None:
    """Who has turned already sees another: he must not turn back to it."""
    told = where_it_stands(PINION, at(step, place=2, settled=1, done=2))
    assert "the hole of cut two. There the scale reads seventeen point one." in told
    assert "should" not in told
    told = where_it_stands(PINION, at(step, place=1, settled=0, done=1))
    assert "There the scale is at its first reading." in told


def test_at_the_place_itself_the_scale_should_read_it() -> None:
    told = where_it_stands(PINION, at(Step.GUARD, place=1, settled=1, done=1))
    assert "The scale should read seventeen point one degrees." in told


def test_in_the_set_up_no_place_is_certain_and_no_depth_holds() -> None:
    told = where_it_stands(PINION, at(Step.SET_UP, item=3))
    assert told.startswith("In the set-up, item four of nine. ")
    assert PINION.checklist[3] in told
    assert "Depth dial to" not in told and "certain" not in told
    paused = at(Step.PAUSED, back_to=Step.SET_UP, item=3)
    assert "In the set-up" in where_it_stands(PINION, paused)
    assert "Paused in the set-up, item four." in question(PINION, paused)
