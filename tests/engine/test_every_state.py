"""The rules hold in every state that any order of events can reach, for small jobs."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from functools import lru_cache

import pytest

from assistant.engine import state as changes
from assistant.engine.engine import Refuse, advance
from assistant.engine.events import Command, Gesture, PedalUsed, PhraseHeard
from assistant.engine.phases import Intent, Phase, Step, phase_of
from assistant.engine.transitions import TABLE, Row, Transitions
from assistant.job.programme import Programme
from tests.engine.jobs import MEASURED, batch, programme, size
from tests.engine.monitor import Broken
from tests.engine.walk import FEWER, Walked, bare, can_reach, sample, walk
from tests.lanes import in_full

SMALL_JOBS = [(1, 1, 1), (2, 1, 2), (3, 1, 1), (2, 2, 1), (3, 3, 2)]


@pytest.fixture(scope="module")
def three_cuts() -> Walked:
    return walk(programme(3))


@pytest.mark.slow(5)
@pytest.mark.parametrize(("cuts", "passes", "items"), SMALL_JOBS)
def test_no_order_of_events_breaks_a_rule(cuts: int, passes: int, items: int) -> None:
    """In no reachable state does any event break lock, guard, count or place."""
    walked = walk(programme(cuts, passes, items))
    phases = {phase_of(state.step) for state in walked.states}
    assert phases == set(Phase) - {Phase.MEASURE}
    assert walked.depth >= cuts * passes * 3  # in few words; whole sentences take five


OTHER_JOBS = {
    "measured": programme(3, 2, **MEASURED),
    "measured after the last cut": programme(2, 2, measurements=(size(2), size(2, 2))),
    "measured after the first cut": programme(2, 1, measurements=(size(1),)),
    "measured late, with a ring after it": programme(
        2, measurements=(size(2),), then=programme(2, name="the holes")
    ),
    "driven in the cut": programme(3, 2, unlocked=True),
    "along a rule": programme(3, closed=False),
    "along a rule, measured at the end": programme(2, closed=False, measurements=(size(2),)),
    "along a rule, twice": programme(2, 2, closed=False),
    "three answers after the first cut": programme(4, whole_cuts=1),
    "three answers after two cuts": programme(4, 2, whole_cuts=2),
    "three answers, measured": programme(4, 2, whole_cuts=1, **MEASURED),
    "three answers, measured, in one pass": programme(2, 1, whole_cuts=1, measurements=(size(1),)),
    "three answers along a rule": programme(3, closed=False, whole_cuts=1),
    "three answers, driven": programme(3, unlocked=True, whole_cuts=1),
    "three answers on two rings": programme(
        3, whole_cuts=1, then=programme(3, whole_cuts=1, name="the holes")
    ),
    "with the minutes of a cut": programme(2, 2, cut_minutes=Fraction(1), whole_cuts=1),
    "measured, with the minutes of a cut": programme(
        2, 1, cut_minutes=Fraction(1), measurements=(size(1),)
    ),
    "with a trial round": programme(3, 2, 2, trial_item=0),
    "with a trial round of one move": programme(1, 1, 2, trial_item=1),
    "with a trial round along a rule": programme(3, 1, 2, trial_item=0, closed=False),
    "with a trial round of a driven head": programme(
        2, 1, 2, trial_item=0, unlocked=True, whole_cuts=1
    ),
    "two parts": batch(2, 2),
    "two parts in three answers, with a trial round": batch(3, 1, 2, whole_cuts=1, trial_item=0),
    "two parts, measured": batch(1, 1, measurements=(size(1),)),
    "two parts along a rule": batch(2, closed=False),
    "two parts of two rings": batch(1, then=batch(1, name="the holes")),
    "two rings": programme(2, then=programme(3, 2, name="the holes")),
    "a driven ring after a measured one": programme(
        2, 2, **MEASURED, then=programme(2, unlocked=True, name="the flutes")
    ),
}


@lru_cache(1)  # the last one is looked at by two tests
def walked_other(name: str) -> Walked:
    """Every state of the job before a release, a hundred of them every day."""
    return walk(OTHER_JOBS[name]) if in_full() else sample(OTHER_JOBS[name], 100, FEWER)


@pytest.mark.longer
@pytest.mark.parametrize("name", OTHER_JOBS)
def test_no_order_of_events_breaks_a_rule_in_other_jobs(name: str) -> None:
    """Measuring, helical milling, flat rules, several rings: the rules hold there too."""
    walked = walked_other(name)
    finished = {node for node in walked.edges if node[0].step is Step.FINISHED}
    assert finished
    if in_full():
        assert can_reach(walked, finished) == set(walked.edges)


def test_a_driven_head_is_never_cut_with_the_lock_on() -> None:
    """In helical milling the lock must stay off in the cut, and only there."""
    for state in walked_other("a driven ring after a measured one").states:
        if state.step is Step.CUT:
            assert state.locked == (state.stage == 0)


def test_every_state_can_finish_and_can_pause(three_cuts: Walked) -> None:
    """From every reachable state there is a way to the end and, before it, to a pause."""
    nodes = set(three_cuts.edges)
    finished = {node for node in nodes if node[0].step is Step.FINISHED}
    paused = {node for node in nodes if node[0].step is Step.PAUSED}
    assert can_reach(three_cuts, finished) == nodes
    assert can_reach(three_cuts, paused) == nodes - finished


def test_back_then_forward_is_where_it_was() -> None:
    """Going back one step and saying again what led forward leads to the same state."""
    job = programme(3)
    press = PedalUsed(0.0, Gesture.PRESS)
    overshot = PhraseHeard(0.0, "went past the hole", Command.OVERSHOT)
    back = PhraseHeard(0.0, "go back one", Command.GO_BACK)
    looked_at = 0
    for state in walk(job).states:
        behind, effects = advance(job, state, back)
        if any(isinstance(effect, Refuse) for effect in effects):
            continue
        if state.step in (Step.AT_PIN, Step.RECOUNT, Step.CALL):
            continue  # what was said is undone: forward is through the check of the place
        reopened = behind.done < state.done
        if reopened:
            behind, _ = advance(job, advance(job, behind, press)[0], press)
        forward, _ = advance(job, behind, overshot if state.step is Step.BACK_OFF else press)
        if reopened:
            forward = replace(forward, locked=state.locked)  # after a doubt it was not
        if reopened and (state.step, forward.step) == (Step.RELEASE, Step.CALL):
            continue  # the same cut counted; the lock off and the next move are asked in one breath
        forward = replace(forward, steady=state.steady)  # words, not where the job stands
        assert bare(forward) == state, f"{state} -> {behind} -> {forward}"
        looked_at += 1
    assert looked_at >= 15


def planted(key: tuple[Step, Intent], *rows: Row) -> Transitions:
    return {**TABLE, key: rows}


def count_two(_: object, state: changes.State) -> changes.State:
    return replace(state, done=state.done + 2)


def _call_while_locked(job: Programme, state: changes.State) -> changes.State:
    return replace(changes.call_next(job, state), locked=True)


FAULTS = {
    "a size is asked for and nothing counted": planted(
        (Step.CUT, Intent.CONFIRM),
        Row(Step.MEASURE, changes.keep, changes.size_is_due),
        Row(Step.RELEASE, changes.count_cut),
    ),
    "the lock is skipped": planted((Step.INDEX, Intent.CONFIRM), Row(Step.GUARD, changes.settle)),
    "the lock of a call is skipped": planted(
        (Step.CALL, Intent.CONFIRM), Row(Step.GUARD, changes.settle)
    ),
    "the guard of a call is skipped": planted(
        (Step.CALL, Intent.CONFIRM), Row(Step.CUT, changes.settle_and_lock)
    ),
    "a call keeps the lock for on": planted(
        (Step.CUT, Intent.CONFIRM), Row(Step.CALL, _call_while_locked), Row(Step.RELEASE)
    ),
    "the guard is skipped": planted((Step.LOCK, Intent.CONFIRM), Row(Step.CUT, changes.lock)),
    "a cut is counted twice": planted((Step.CUT, Intent.CONFIRM), Row(Step.RELEASE, count_two)),
    "the cut is not counted": planted((Step.CUT, Intent.CONFIRM), Row(Step.RELEASE)),
    "the move comes while locked": planted(
        (Step.RELEASE, Intent.CONFIRM),
        Row(Step.INDEX, lambda job, state: replace(state, place=state.settled + 1)),
    ),
    "carry on goes straight to the cut": planted((Step.PAUSED, Intent.CONFIRM), Row(Step.CUT)),
    "a restart goes on in the cut": planted((Step.CUT, Intent.RESTART), Row(Step.CUT)),
    "a cut that is reopened keeps its lock": planted(
        (Step.RELEASE, Intent.GO_BACK),
        Row(Step.GUARD, lambda job, state: replace(state, done=state.done - 1)),
    ),
    "the cut before it is reopened": planted(
        (Step.MEASURE, Intent.GO_BACK),
        Row(Step.LOCK, lambda job, state: replace(changes.reopen(job, state), done=0)),
    ),
    "a cut is reopened after the next move": planted(
        (Step.INDEX, Intent.GO_BACK), Row(Step.LOCK, changes.reopen)
    ),
    "back un-counts a cut in passing": planted(
        (Step.GUARD, Intent.GO_BACK),
        Row(Step.LOCK, lambda job, state: replace(state, done=max(state.done - 1, 0))),
    ),
    "a part that is too small is scrapped by a press": planted(
        (Step.UNDERSIZE, Intent.CONFIRM), Row(Step.FINISHED, changes.give_up)
    ),
    "the next part of a batch before the last cut": planted(
        (Step.RELEASE, Intent.CONFIRM), Row(Step.SET_UP, changes.next_part)
    ),
    "a part of a batch given up by a press": planted(
        (Step.CHECK_POSITION, Intent.CONFIRM), Row(Step.SET_UP, changes.spoil_and_go_on)
    ),
    "the next part of a batch begins with cuts made": planted(
        (Step.CLOSING_CHECK, Intent.CONFIRM),
        Row(
            Step.SET_UP,
            lambda job, state: replace(changes.next_part(job, state), done=1),
            changes.parts_remain,
        ),
        Row(Step.FINISHED),
    ),
    "a batch is finished after one part": planted(
        (Step.CLOSING_CHECK, Intent.CONFIRM), Row(Step.FINISHED)
    ),
    "a pass is left out by a press": planted((Step.SPARE_PASS, Intent.CONFIRM), Row(Step.FINISHED)),
    "a cut that is said to be next is not asked back": planted(
        (Step.CHECK_POSITION, Intent.SIZE), Row(Step.LOCK, changes.take_claim)
    ),
    "it goes on where it stood, not where it was said": planted(
        (Step.RECOUNT, Intent.CONFIRM), Row(Step.LOCK, changes.drop_claim)
    ),
    "the trial round leads to the lock": planted(
        (Step.CLOSING_CHECK, Intent.CONFIRM),
        Row(Step.LOCK, changes.keep, changes.in_trial),
        *TABLE[Step.CLOSING_CHECK, Intent.CONFIRM],
    ),
    "the trial round leads to the guard": planted(
        (Step.TRIAL_MOVE, Intent.CONFIRM), Row(Step.GUARD, changes.settle_and_lock)
    ),
    "the trial round ends where it stands": planted(
        (Step.TRIAL_MOVE, Intent.CONFIRM),
        Row(Step.SET_UP, lambda job, state: replace(state, trial=False, settled=state.place)),
    ),
    "the trial round is left as if it stood in its first hole": planted(
        (Step.TRIAL_MOVE, Intent.TRIAL), Row(Step.SET_UP, changes.end_trial)
    ),
    "a trial round that was left leads to the lock": planted(
        (Step.SET_UP, Intent.CONFIRM), Row(Step.LOCK)
    ),
    "a trial round that was left is begun anew where it stands": planted(
        (Step.SET_UP, Intent.TRIAL), Row(Step.TRIAL_MOVE, changes.begin_trial)
    ),
    "places of the trial round are counted as cuts": planted(
        (Step.TRIAL_MOVE, Intent.CONFIRM),
        Row(Step.TRIAL_MOVE, lambda job, state: replace(state, done=state.done + 1)),
    ),
    "a place that is looked at in the trial round leads to the lock": planted(
        (Step.CHECK_POSITION, Intent.CONFIRM), Row(Step.LOCK)
    ),
    "it finishes early": planted((Step.CUT, Intent.CONFIRM), Row(Step.FINISHED, changes.count_cut)),
}


@pytest.mark.parametrize("name", FAULTS)
def test_a_planted_fault_is_caught(name: str) -> None:
    """The walk above is no formality: each of these wrong tables is found out."""
    words = set(name.split())
    more = {"items": 2, "trial_item": 0} if "trial" in words else MEASURED
    make = batch if "batch" in words else programme
    job = make(2, 2 if "pass" in words else 1, whole_cuts=1, **more)
    with pytest.raises(Broken):
        walk(job, FAULTS[name], FEWER)
