"""What is said where the plate has turned with the work: its first hole is elsewhere then.

53 teeth by 32 holes on 43: 53 x 32 = 1696 = 39 x 43 + 19, so the pin comes back nineteen holes past
the hole that it began in (arithmetic).
"""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from assistant.engine.phases import Step
from assistant.engine.requests import request
from assistant.engine.state import State
from assistant.engine.wording import awaited_words, place_words, question
from assistant.job.compiler import head_of, stages_of
from assistant.job.job_file import read_job
from assistant.paper.sheet_facts import habits
from tests.commands import JOBS
from tests.sheet.on_paper import divisions, made

GEARED = made(divisions(53, "three-plate-40-geared"))[0]
PLAIN = made(divisions(49, "three-plate-40-geared"))[0]


def at(step: Step, **other: Any) -> State:
    return replace(State(), step=step, **other)


ROUND: dict[str, Any] = {"place": 53, "settled": 53, "done": 53}


LEADING_BACK = (Step.RELEASE, Step.INDEX, Step.AT_PIN, Step.BACK_OFF, Step.COME_UP, Step.PAUSED,
                Step.TRIAL_MOVE, Step.TRIAL_CLEAR, Step.CLOSING_CHECK)  # fmt: skip


@pytest.mark.parametrize("step", LEADING_BACK)
def test_nothing_leads_back_to_a_first_hole(step: Step) -> None:
    """Not the last move, no overshoot in it, no going back, and not what the eyes see."""
    programme = GEARED.programme
    told = {
        question(programme, at(step, **ROUND)),
        place_words(programme, 53),
        awaited_words(programme, step),
        request(programme, at(step)),
    }
    assert "first hole" not in " ".join(told).lower()


def test_a_plate_that_stood_still_has_its_first_hole() -> None:
    programme = PLAIN.programme
    closing = at(Step.CLOSING_CHECK, place=49, settled=49, done=49)
    assert "The pin should be in its first hole." in question(programme, closing)
    assert request(programme, closing) == "LOOK: PIN IN ITS FIRST HOLE?"


def test_each_round_begins_with_a_mark_of_its_own() -> None:
    """Also the trial round, of which a second may be called."""
    programme = GEARED.programme
    anew = "Mark the hole that the pin is in, and wipe off every other mark."
    assert anew in question(programme, at(Step.LOCK))
    assert anew in question(programme, at(Step.LOCK, pass_number=2))
    assert anew in question(programme, at(Step.TRIAL_MOVE, place=1, trial=True))
    assert anew not in question(programme, at(Step.LOCK, place=1, settled=1, done=1))


def test_before_the_first_cut_of_a_later_pass_no_mark_is_trusted() -> None:
    """The one that is there may be that of the pass before, and leads to a wrong cut."""
    programme = replace(GEARED.programme, passes=2)
    lost = question(programme, at(Step.CHECK_POSITION, pass_number=2))
    assert "mark" not in lost
    assert "The stopped cutter must drop into the cut of the pass before." in lost
    before = question(programme, at(Step.CHECK_POSITION))
    assert "Pin in the marked hole." in before


def test_the_sheet_tells_it_too() -> None:
    assert any("The plate turns too" in each for each in habits(GEARED))
    assert not any("The plate turns too" in each for each in habits(PLAIN))


def test_a_setting_that_begins_elsewhere_means_no_marked_hole() -> None:
    """The root of splines begins beside spline one: the first hole is the one that was marked."""
    read = read_job(Path(JOBS) / "gate-splines.toml")
    sides, _, root = (each.programme for each in stages_of(read, head_of(read)))
    done = {"place": root.cuts, "settled": root.cuts, "done": root.cuts}
    told = question(root, at(Step.LOCK)) + question(root, at(Step.CLOSING_CHECK, **done))
    assert "First cut, no move yet." in told
    assert "The pin should be in the hole of cut one." in told and "first hole" not in told
    assert place_words(root, root.cuts) == "the hole of cut one"
    assert "First hole, no move yet." in question(sides, at(Step.LOCK))
