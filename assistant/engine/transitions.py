"""The one table that decides what follows what. Nothing else in the program does.

A row reads: in `step`, on `intent`, if `when`, go to `to` and change the state by `do`.
Each programme has one step at the lock: rows name `Step.LOCK`, and a head that is driven in the
cut comes to `Step.LEAVE_OFF` by them. The first row whose condition holds is taken; where no
row holds the event is refused and changes nothing. docs/session.md is made from this table.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

from assistant.engine import state as s
from assistant.engine.asked import INTENTS, Use, used_as
from assistant.engine.phases import Intent, Step
from assistant.engine.state import State
from assistant.job.programme import Programme

# The number of these rules, kept in every journal: raise it by one with each change that gives
# another state for the same facts, here or in `state`. tests/journal/test_replay.py finds out.
RULES = 12


@dataclass(frozen=True, slots=True)
class Row:
    """One line of the table."""

    to: Step
    do: Callable[[Programme, State], State] = s.keep
    when: Callable[[Programme, State], bool] = s.always

    def leads_to(self, programme: Programme) -> Step:
        """`to`; and where the head is driven in the cut, the lock left off in place of the lock."""
        driven = self.to is Step.LOCK and programme.unlocked
        return Step.LEAVE_OFF if driven else self.to


Transitions = Mapping[tuple[Step, Intent], tuple[Row, ...]]

_WORKING = (
    Step.TRIAL_CLEAR,
    Step.TRIAL_MOVE,
    Step.RELEASE,
    Step.INDEX,
    Step.AT_PIN,
    Step.FREE,
    Step.BACK_OFF,
    Step.COME_UP,
    Step.LOCK,
    Step.LEAVE_OFF,
    Step.CALL,
    Step.GUARD,
    Step.CUT,
    Step.MEASURE,
    Step.READ_BACK,
    Step.UNDERSIZE,
    Step.CLOSING_CHECK,
    Step.SPARE_PASS,
    Step.CHECK_POSITION,
    Step.RECOUNT,
)
_LOCKING = (Step.LOCK, Step.LEAVE_OFF)
_ALSO_IN_A_TRIAL = (
    Step.AT_PIN,
    Step.BACK_OFF,
    Step.COME_UP,
    Step.CLOSING_CHECK,
    Step.CHECK_POSITION,
    Step.PAUSED,
)
_QUESTIONS = tuple(INTENTS[command] for command in used_as(Use.QUESTION))

_THE_JOB: Transitions = {
    (Step.SET_UP, Intent.CONFIRM): (
        Row(Step.SET_UP, s.back_at_first, s.is_astray),
        Row(Step.SET_UP, s.next_item, s.items_remain),
        Row(Step.LOCK),
    ),
    (Step.RELEASE, Intent.CONFIRM): (Row(Step.INDEX, s.begin_move),),
    (Step.INDEX, Intent.CONFIRM): (
        Row(Step.CLOSING_CHECK, s.settle, s.closing_move),
        Row(Step.LOCK, s.settle),
    ),
    (Step.AT_PIN, Intent.CONFIRM): (
        Row(Step.CLOSING_CHECK, s.settle, s.closing_move),
        Row(Step.CLOSING_CHECK, s.end_open_trial, s.trial_ends_open),
        Row(Step.TRIAL_MOVE, s.settle_and_move, s.in_trial),
        Row(Step.LOCK, s.settle),
    ),
    (Step.LOCK, Intent.CONFIRM): (Row(Step.GUARD, s.lock),),
    (Step.LEAVE_OFF, Intent.CONFIRM): (Row(Step.GUARD),),
    (Step.CALL, Intent.CONFIRM): (Row(Step.GUARD, s.settle_and_lock),),
    (Step.GUARD, Intent.CONFIRM): (Row(Step.CUT, s.guard),),
    (Step.CUT, Intent.CONFIRM): (
        Row(Step.CUT, s.doubt_cut, s.cut_was_short),
        Row(Step.MEASURE, s.end_recut, s.recut_tells),
        Row(Step.RELEASE, s.end_recut_settled, s.recutting),
        Row(Step.FINISHED, s.count_cut, s.last_that_comes_again),
        Row(Step.MEASURE, s.count_cut, s.size_is_due),
        Row(Step.CLOSING_CHECK, s.finish_open, s.last_cut_of_open),
        Row(Step.CALL, s.call_next, s.call_is_due),
        Row(Step.RELEASE, s.count_cut),
    ),
    (Step.CLOSING_CHECK, Intent.CONFIRM): (
        Row(Step.SET_UP, s.end_trial, s.in_trial),
        Row(Step.SPARE_PASS, s.keep, s.nothing_left_to_cut),
        Row(Step.LOCK, s.next_pass, s.passes_remain),
        Row(Step.LOCK, s.next_pass, s.cuts_come_again),
        Row(Step.SET_UP, s.next_stage, s.stages_remain),
        Row(Step.SET_UP, s.next_part, s.parts_remain),
        Row(Step.FINISHED),
    ),
    (Step.CLOSING_CHECK, Intent.NEXT_PART): (Row(Step.SET_UP, s.next_part, s.part_is_made),),
    # Once round at the same dial, or the passes that are left are left out: the person chooses.
    (Step.SPARE_PASS, Intent.CONFIRM): (Row(Step.LOCK, s.next_pass),),
    (Step.SPARE_PASS, Intent.CARRY_ON): (
        Row(Step.SET_UP, s.next_stage, s.stages_remain),
        Row(Step.SET_UP, s.next_part, s.parts_remain),
        Row(Step.FINISHED),
    ),
}

# Gone round before the first cut, the cutter stopped: moves alone, so that lock and guard are not
# asked for. No row leads from it to a cut: it begins in the set-up, and ends there.
_TRIAL: Transitions = {
    (Step.SET_UP, Intent.TRIAL): (Row(Step.TRIAL_MOVE, s.begin_trial, s.trial_offered),),
    (Step.TRIAL_CLEAR, Intent.CONFIRM): (Row(Step.TRIAL_MOVE, s.begin_move),),
    (Step.TRIAL_MOVE, Intent.CONFIRM): (
        Row(Step.CLOSING_CHECK, s.settle, s.closing_move),
        Row(Step.CLOSING_CHECK, s.end_open_trial, s.trial_ends_open),
        Row(Step.TRIAL_MOVE, s.settle_and_move),
    ),
    (Step.TRIAL_MOVE, Intent.OVERSHOT): (Row(Step.BACK_OFF),),
    (Step.TRIAL_MOVE, Intent.GO_BACK): (Row(Step.TRIAL_CLEAR, s.undo_move),),
    (Step.TRIAL_CLEAR, Intent.GO_BACK): (
        Row(Step.AT_PIN, s.unsettle, s.a_move_was_made),
        Row(Step.SET_UP, s.leave_trial),
    ),
    # Left by one answer, wherever it stands.
    (Step.TRIAL_CLEAR, Intent.TRIAL): (Row(Step.SET_UP, s.break_off_trial),),
    (Step.TRIAL_MOVE, Intent.TRIAL): (Row(Step.SET_UP, s.break_off_trial),),
    **{
        (step, Intent.TRIAL): (Row(Step.SET_UP, s.break_off_trial, s.in_trial),)
        for step in _ALSO_IN_A_TRIAL
    },
}

# A size is taken with the spindle still locked at its cut. It is read back before it counts.
# In the last pass, what it leaves to cut is cut at once, behind the guard; where the size rests
# on that cut alone, it is measured anew.
_SIZES: Transitions = {
    (Step.MEASURE, Intent.SIZE): (Row(Step.READ_BACK),),
    (Step.MEASURE, Intent.CONFIRM): (
        Row(Step.CLOSING_CHECK, s.leave_unmeasured_at_end, s.open_end),
        Row(Step.RELEASE, s.leave_unmeasured),
    ),
    (Step.READ_BACK, Intent.SIZE): (Row(Step.READ_BACK),),
    (Step.READ_BACK, Intent.CONFIRM): (
        Row(Step.UNDERSIZE, s.keep, s.size_is_under),
        Row(Step.GUARD, s.begin_recut, s.stock_is_left_locked),
        Row(Step.LOCK, s.begin_recut, s.stock_is_left),
        Row(Step.CLOSING_CHECK, s.settle_size_at_end, s.open_end),
        Row(Step.RELEASE, s.settle_size),
    ),
    (Step.READ_BACK, Intent.GO_BACK): (Row(Step.MEASURE),),
    # No cut puts metal back. A press too many asks for the size once more and decides nothing.
    (Step.UNDERSIZE, Intent.SIZE): (Row(Step.READ_BACK),),
    (Step.UNDERSIZE, Intent.CONFIRM): (Row(Step.MEASURE),),
    (Step.UNDERSIZE, Intent.CARRY_ON): (
        Row(Step.CLOSING_CHECK, s.settle_size_at_end, s.open_end),
        Row(Step.RELEASE, s.settle_size),
    ),
    (Step.UNDERSIZE, Intent.SCRAP): (
        Row(Step.SET_UP, s.spoil_and_go_on, s.parts_remain),
        Row(Step.FINISHED, s.give_up),
    ),
}

# A blank of a batch that was spoilt on the way need not be cut to its end: it is given up where the
# place is looked at, and so never by a single slip.
_BATCH: Transitions = {
    (Step.CHECK_POSITION, Intent.SCRAP): (
        Row(Step.SET_UP, s.spoil_and_go_on, s.spoilt_before_another),
        Row(Step.FINISHED, s.spoil, s.spoilt_of_a_batch),
    ),
}

# After an overshoot: lock off, half a turn back, and up again in the working direction, so
# that the slack of the worm always lies on the same side.
_OVERSHOOT: Transitions = {
    (Step.INDEX, Intent.OVERSHOT): (Row(Step.BACK_OFF),),
    (Step.AT_PIN, Intent.OVERSHOT): (Row(Step.BACK_OFF),),
    (Step.COME_UP, Intent.OVERSHOT): (Row(Step.BACK_OFF),),
    (Step.CALL, Intent.OVERSHOT): (Row(Step.BACK_OFF),),
    **{
        (step, Intent.OVERSHOT): (Row(Step.BACK_OFF, s.doubt, s.a_move_to_mend),)
        for step in _LOCKING
    },
    (Step.CLOSING_CHECK, Intent.OVERSHOT): (Row(Step.BACK_OFF, s.doubt, s.came_round),),
    (Step.GUARD, Intent.OVERSHOT): (Row(Step.FREE, s.doubt, s.a_move_to_mend),),
    (Step.CUT, Intent.OVERSHOT): (Row(Step.FREE, s.doubt, s.a_move_to_mend),),
    (Step.FREE, Intent.CONFIRM): (Row(Step.BACK_OFF, s.unlock),),
    (Step.BACK_OFF, Intent.CONFIRM): (Row(Step.COME_UP),),
    (Step.COME_UP, Intent.CONFIRM): (
        Row(Step.CLOSING_CHECK, s.settle, s.closing_move),
        Row(Step.CLOSING_CHECK, s.end_open_trial, s.trial_ends_open),
        Row(Step.TRIAL_MOVE, s.settle_and_move, s.in_trial),
        Row(Step.LOCK, s.settle),
    ),
}

# A move that counts as made is never called anew: it is looked at, or undone and looked at.
# A cut that was counted too soon is reopened where it stands, and its lock and guard with it.
_BACK: Transitions = {
    (Step.SET_UP, Intent.GO_BACK): (Row(Step.SET_UP, s.previous_item, s.an_item_before),),
    (Step.INDEX, Intent.GO_BACK): (Row(Step.RELEASE, s.undo_move),),
    (Step.AT_PIN, Intent.GO_BACK): (Row(Step.CHECK_POSITION, s.to_last_certain),),
    (Step.BACK_OFF, Intent.GO_BACK): (Row(Step.AT_PIN),),
    (Step.COME_UP, Intent.GO_BACK): (Row(Step.BACK_OFF),),
    **{
        (step, Intent.GO_BACK): (
            Row(Step.MEASURE, s.leave_recut, s.recutting),
            Row(Step.AT_PIN, s.unsettle, s.a_move_was_made),
            Row(Step.SET_UP, s.keep, s.at_first_cut),
        )
        for step in _LOCKING
    },
    (Step.GUARD, Intent.GO_BACK): (
        Row(Step.MEASURE, s.leave_recut, s.recutting),
        Row(Step.LOCK, s.unlock),
    ),
    (Step.CUT, Intent.GO_BACK): (Row(Step.GUARD, s.unguard),),
    (Step.RELEASE, Intent.GO_BACK): (Row(Step.LOCK, s.reopen),),
    (Step.MEASURE, Intent.GO_BACK): (Row(Step.LOCK, s.reopen),),
    (Step.CALL, Intent.GO_BACK): (Row(Step.CHECK_POSITION, s.reopen_in_call),),
    (Step.SPARE_PASS, Intent.GO_BACK): (Row(Step.CLOSING_CHECK),),
    (Step.RECOUNT, Intent.GO_BACK): (Row(Step.CHECK_POSITION, s.drop_claim),),
    (Step.CLOSING_CHECK, Intent.GO_BACK): (
        Row(Step.AT_PIN, s.unsettle, s.came_round),
        Row(Step.AT_PIN, s.reopen_open_trial, s.in_trial),
        Row(Step.CHECK_POSITION, s.reopen_at_end),
    ),
}

_PAUSED: Transitions = {
    (Step.PAUSED, Intent.CONFIRM): (
        Row(Step.SET_UP, s.take_up, s.paused_in_set_up),
        Row(Step.RELEASE, s.take_up, s.paused_before_move),
        Row(Step.LOCK, s.take_up, s.paused_at_cut),
        Row(Step.MEASURE, s.take_up, s.paused_measuring),
        Row(Step.CLOSING_CHECK, s.take_up, s.paused_at_close),
        Row(Step.CHECK_POSITION, s.to_last_certain),
    ),
    **{
        (step, intent): (Row(Step.PAUSED, s.set_aside),)
        for step in (Step.SET_UP, *_WORKING)
        for intent in (Intent.PAUSE, Intent.PAUSE_AND_WHERE)
    },
    (Step.PAUSED, Intent.PAUSE_AND_WHERE): (Row(Step.PAUSED),),
}

_PLACE: Transitions = {
    (Step.CHECK_POSITION, Intent.CONFIRM): (
        Row(Step.TRIAL_CLEAR, s.keep, s.trial_goes_on),
        Row(Step.LOCK, s.keep, s.cut_is_due),
        Row(Step.CLOSING_CHECK, s.keep, s.all_closed),
        Row(Step.MEASURE, s.keep, s.size_still_due),
        Row(Step.RELEASE),
    ),
    # "I am really at cut N": asked back, looked at, and only then counted from.
    (Step.CHECK_POSITION, Intent.SIZE): (Row(Step.RECOUNT, s.keep, s.cuts_are_counted),),
    (Step.RECOUNT, Intent.SIZE): (Row(Step.RECOUNT),),
    (Step.RECOUNT, Intent.CONFIRM): (Row(Step.LOCK, s.take_claim),),
    **{(step, Intent.LOST_COUNT): (Row(Step.CHECK_POSITION, s.to_last_cut),) for step in _WORKING},
    (Step.PAUSED, Intent.LOST_COUNT): (
        Row(Step.SET_UP, s.take_up, s.paused_in_set_up),
        Row(Step.CHECK_POSITION, s.to_last_cut),
    ),
    # The journal can't know what the metal did while the program was away.
    **{(step, Intent.RESTART): (Row(Step.CHECK_POSITION, s.to_last_certain),) for step in _WORKING},
    (Step.PAUSED, Intent.RESTART): (
        Row(Step.SET_UP, s.take_up, s.paused_in_set_up),
        Row(Step.CHECK_POSITION, s.to_last_certain),
    ),
    (Step.SET_UP, Intent.RESTART): (Row(Step.SET_UP),),
    (Step.FINISHED, Intent.RESTART): (Row(Step.FINISHED),),
}

_ALWAYS: Transitions = {
    **{(step, intent): (Row(step),) for step in Step for intent in _QUESTIONS},
    **{(step, Intent.NOTE): (Row(step, s.add_note),) for step in Step},
    **{(step, Intent.FEWER_WORDS): (Row(step, s.fewer_words),) for step in Step},
    **{(step, Intent.MORE_WORDS): (Row(step, s.more_words),) for step in Step},
}

TABLE: Transitions = {
    **_THE_JOB,
    **_TRIAL,
    **_SIZES,
    **_BATCH,
    **_OVERSHOOT,
    **_BACK,
    **_PAUSED,
    **_PLACE,
    **_ALWAYS,
}


def row_for(table: Transitions, programme: Programme, state: State, intent: Intent) -> Row | None:
    """The row that holds now, or None: then the event is refused and changes nothing."""
    for row in table.get((state.step, intent), ()):
        if row.when(programme, state):
            return row
    return None
