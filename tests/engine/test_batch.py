"""A batch: the same job part by part, with a short set-up between and the parts kept apart.

That each blank is clamped, run true and touched off anew, and that plate, pin and arms stay: common
practice.
"""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from pathlib import Path

import pytest

from assistant.engine.engine import Refuse, Say, advance, expected_commands
from assistant.engine.events import (
    Command,
    Event,
    Gesture,
    PartScrapped,
    PedalUsed,
    SessionResumed,
    SizeGiven,
)
from assistant.engine.phases import Step
from assistant.engine.presenting import acts
from assistant.engine.state import State
from assistant.job.compiler import head_of, programme_of, setups_of, stages_of
from assistant.job.job_file import JobFaults, job_from_text
from assistant.job.programme import Programme, heeding
from assistant.journal.writing import Journal, read_journal
from assistant.paper.history import Account, told_from
from tests.commands import JOBS
from tests.engine.jobs import batch, programme, size
from tests.engine.test_words import Played, say
from tests.journal.played import made

PRESS = PedalUsed(0.0, Gesture.PRESS)
NEXT = say(Command.NEXT_PART)


def closed(job: Programme) -> Played:
    """Pressed through to the closing check of the first part."""
    return Played(job).to(Step.CLOSING_CHECK)


def job_text(work: str, parts: int = 3) -> str:
    return f'title = "Pegs"\nhead = "three-plate-40"\nbatch = {parts}\n[work]\n{work}'


HEXAGON = 'kind = "polygon"\nsides = 6\nacross_flats = "24 mm"\nbar = "27 mm"\n'


def example(name: str) -> str:
    return (JOBS / f"{name}.toml").read_text("utf-8").replace("[work]", "batch = 3\n[work]")


def programme_for(text: str) -> Programme:
    job = job_from_text(text, "job.toml")
    head = head_of(job)
    return programme_of(job, head, setups_of(job, head)[0])


@pytest.mark.parametrize("answer", [PRESS, NEXT, say(Command.CLOSED_UP)], ids=str)
def test_the_closing_check_leads_to_the_next_part(answer: Event) -> None:
    """By pedal, by the phrase that names it, and by that of the check itself."""
    at = closed(batch(2, items=3))
    assert "Then part two of two." in at.said[-1]
    assert Command.NEXT_PART in expected_commands(at.state, programme=at.job)
    asked = at.feed(answer)
    assert asked == "Part two of two. Item one of two. Item 0 looked at again."
    state = at.state
    assert (state.step, state.part, state.done, state.place) == (Step.SET_UP, 2, 0, 0)
    assert not (state.locked or state.guarded or state.scraps)


def test_each_part_has_all_its_cuts_and_the_last_ends_the_job() -> None:
    """Three parts of four cuts in two passes are twenty-four cuts, each with lock and guard."""
    job, state, cuts = batch(4, 2, parts=3, checklist_again=("Next in.",)), State(), []
    while state.step is not Step.FINISHED:
        new, effects = advance(job, state, PRESS)
        if state.step is Step.CUT:
            assert state.locked and state.guarded
            cuts.append((state.part, state.pass_number, state.done + 1))
        state = new
    assert cuts == [(n, p, c) for n in (1, 2, 3) for p in (1, 2) for c in (1, 2, 3, 4)]
    said = next(e.text for e in effects if isinstance(e, Say))
    assert said == "Finished. Three parts made. Stop the cutter before you reach for the work."


def test_next_part_counts_only_where_the_part_is_made() -> None:
    """In the set-up, in a cut, before the last pass, in a job of one part it is refused."""
    first = closed(batch(3, 2)).state
    held = [
        (batch(3, 2), first),
        (batch(3), State()),
        (batch(3), State(step=Step.CUT, locked=True, guarded=True)),
        (programme(3), closed(programme(3)).state),
        (batch(3), replace(closed(batch(3)).state, part=2)),
        (batch(3, items=2, trial_item=0), State(step=Step.CLOSING_CHECK, trial=True, place=3)),
    ]
    for job, state in held:
        after, effects = advance(job, state, NEXT)
        assert after == state and any(isinstance(effect, Refuse) for effect in effects)
        assert Command.NEXT_PART not in expected_commands(state, programme=job)


def test_after_the_last_stage_the_next_part_begins_at_the_first() -> None:
    """Two rings: its words and moves are those of the first ring again."""
    job = batch(2, name="the lines", then=batch(3, name="the holes"))
    at = Played(job).to(Step.CLOSING_CHECK)
    at.feed(PRESS)
    assert (at.state.stage, at.state.part) == (1, 1)
    asked = at.to(Step.CLOSING_CHECK).feed(PRESS)
    assert (at.state.stage, at.state.part, at.state.step) == (0, 2, Step.SET_UP)
    assert asked == "Part two of two. Item one of one. Item 0 looked at again."


def test_a_part_that_is_too_small_is_given_up_and_the_batch_goes_on() -> None:
    """17.5 mm where 18 are wanted: of two parts one is made."""
    at = Played(batch(2, measurements=(size(2),))).to(Step.MEASURE)
    at.feed(SizeGiven(0.0, "17.5"), PRESS, PartScrapped(0.0))
    assert (at.state.step, at.state.part, at.state.scraps) == (Step.SET_UP, 2, (1,))
    assert not at.state.scrapped and not at.state.locked
    at.to(Step.FINISHED)
    assert at.said[-1].startswith("Finished. One part made. One was given up.")


def test_a_spoilt_part_is_given_up_where_the_place_is_looked_at() -> None:
    """Key s, which the question names; nowhere else in the cuts, and in no job of a single part."""
    at = Played(batch(4)).to(Step.CUT)
    assert "scrap" not in acts(at.job, at.state)
    assert any(isinstance(e, Refuse) for e in advance(at.job, at.state, PartScrapped(0.0))[1])
    asked = at.feed(say(Command.LOST_COUNT))
    assert asked.endswith("If this part is spoilt, give it up with key s.")
    assert "scrap" in acts(at.job, at.state)
    at.feed(PartScrapped(0.0))
    assert (at.state.step, at.state.part, at.state.scraps) == (Step.SET_UP, 2, (1,))
    alone = Played(programme(4)).to(Step.CUT)
    assert "spoilt" not in alone.feed(say(Command.LOST_COUNT))
    assert any(isinstance(e, Refuse) for e in advance(alone.job, alone.state, PartScrapped(0.0))[1])


def test_where_and_how_many_name_the_part() -> None:
    """The person who comes back from the phone hears which part it is."""
    at = Played(batch(3, parts=5, checklist_again=("Next in.",))).to(Step.CUT)
    assert at.feed(say(Command.WHERE_AM_I)).startswith("Part one of five. Cut one of three.")
    assert at.feed(say(Command.HOW_MANY_LEFT)).endswith("Then four more parts.")
    at.to(Step.CLOSING_CHECK).feed(PRESS)
    at.to(Step.CUT).feed(SessionResumed(0.0))
    assert at.state.part == 2 and at.state.step is Step.CHECK_POSITION
    assert at.feed(say(Command.WHERE_AM_I)).startswith("Part two of five.")


def test_few_words_stay_with_the_person_from_part_to_part() -> None:
    """The first cut of a part in whole sentences, the others in three answers; no answers told."""
    job = heeding(batch(6), whole_cuts=3, remind_every=25)
    at = closed(job)
    at.feed(PRESS)
    began = len(at.said)
    at.to(Step.CUT)
    assert "Press" not in " ".join(at.said[began:])
    at.feed(PRESS)
    assert at.state.step is Step.CALL and at.state.done == 1


def test_the_trial_round_is_for_the_first_part_alone() -> None:
    """The count of moves was proven."""
    job = batch(3, items=2, trial_item=0)
    second = replace(State(), part=2)
    assert "trial" in acts(job, State()) and "trial" not in acts(job, second)


def test_the_short_set_up_keeps_plate_pin_and_arms() -> None:
    """Work, guard, touch and depth, first hole: nothing of plate, arms and trial is in them."""
    whole = programme_for(example("press-collar"))
    again = " ".join(whole.checklist_again)
    assert len(whole.checklist_again) < len(whole.checklist) - 4
    for part in ("next blank in", "running true", "Guard works", "Touch the top", "Line depth",
                 "the marked hole"):  # fmt: skip
        assert part in again, part
    for part in ("Plate ", "Crank pin", "Head bolted", "Trial", "Set stops"):
        assert part not in again, part


def test_where_the_cutter_moves_behind_the_touch_all_steps_come_again() -> None:
    """The crown must be under the cutter to be touched: it is brought there and across anew."""
    whole = programme_for(example("press-ratchet"))
    again = " ".join(whole.checklist_again)
    assert "Touch the rising side" in again and "Move on across" in again
    assert "Plate " not in again and "Trial" not in again


def test_between_two_parts_of_several_settings_stays_what_no_setting_changed() -> None:
    """Splines: plate, circle, worm and head stay, arms and cutter were changed for the root, and
    cutter and table are set anew. Each later setting tells only what changes, as the first time."""
    job = job_from_text(example("gate-splines"), "job.toml")
    stages = stages_of(job, head_of(job))
    assert len(stages) == 3
    again = stages[0].programme.checklist_again
    text = " ".join(again)
    for part in ("next blank in", "cutter of the first setting on again", "Guard works", "Depth: ",
                 "Touch the top", "Sector arms", "mark that hole", "Degree scale"):  # fmt: skip
        assert part in text, part
    for part in ("Head bolted", "Plate C", "Crank pin", "Trial", "on the height of the head's"):
        assert part not in text, part
    for stage in stages[1:]:
        assert stage.programme.checklist_again == stage.programme.checklist


def test_another_plate_comes_off_between_two_parts() -> None:
    """Two rings on two plates of the head: the first plate goes on again for each part."""
    text = job_text("").replace("[work]\n", RINGS)
    job = job_from_text(text, "job.toml")
    stages = stages_of(job, head_of(job))
    plates = [stage.setup.plate for stage in stages]
    assert len(set(plates)) == 2
    for n, stage in enumerate(stages):
        again = " ".join(stage.programme.checklist_again)
        assert f"plate {plates[n - 1]} off, plate {plates[n]} on" in again
        assert "Crank pin set to the" in again and "Sector arms" in again


RINGS = """[[ring]]
name = "inner"
kind = "divisions"
count = 17
depth = "1 mm"
[[ring]]
name = "outer"
kind = "divisions"
count = 49
depth = "1 mm"
"""


def test_there_is_no_way_back_to_a_part_that_is_over() -> None:
    """Its answer says so, and what to do with a part that is not good; nothing changes."""
    at = closed(batch(2, items=3))
    at.feed(PRESS)
    before = at.state
    after, effects = advance(at.job, before, say(Command.GO_BACK))
    told = next(e for e in effects if isinstance(e, Refuse)).reason
    assert told.startswith("Part one is over, and there is no way back to it. If it is not good,")
    assert after == before


@pytest.mark.parametrize(
    ("value", "why"),
    [("0", "1 to 1000"), ("1001", "1 to 1000"), ('"12"', "whole number"), ("true", "whole")],
)
def test_a_wrong_batch_is_one_clear_line(value: str, why: str) -> None:
    """What, where, the cure."""
    text = job_text(HEXAGON).replace("batch = 3", f"batch = {value}")
    with pytest.raises(JobFaults, match=f"line 3: batch = .*{why}"):
        job_from_text(text, "job.toml")


def test_a_job_of_one_part_is_written_as_before() -> None:
    """Journals of single parts hold nothing new in their programme, and read back the same."""
    record = programme(3).to_record()
    assert "parts" not in record and "checklist_again" not in record
    twelve = batch(3, parts=12)
    assert Programme.from_record(twelve.to_record()) == twelve
    old = {name: value for name, value in State().to_record().items()
           if name not in ("part", "scraps")}  # fmt: skip
    assert State.from_record(old) == State()


def played_through(folder: Path, job: Programme, presses: int) -> Account:
    journal: Journal = made(folder, presses, job)
    journal.close()
    return told_from(read_journal(journal.path))


def test_the_log_keeps_the_parts_apart(tmp_path: Path) -> None:
    """Each cut with its part; a part that is over with the count of its cuts and its time."""
    told = played_through(tmp_path, batch(3, parts=3, checklist_again=("Next in.",)), 60)
    assert [(cut.part, cut.number) for cut in told.cuts] == [(p, c) for p in (1, 2, 3)
                                                             for c in (1, 2, 3)]  # fmt: skip
    assert told.finished
    over = [(each.number, each.given_up, each.cuts) for each in told.parts]
    assert over == [(1, False, 3), (2, False, 3), (3, False, 3)]
    assert {(item.part, item.text) for item in told.set_up} >= {(1, "Item 0 looked at."),
                                                                (3, "Next in.")}  # fmt: skip
    assert Fraction(0) < Fraction(told.parts[0].at) < Fraction(told.parts[1].at)
