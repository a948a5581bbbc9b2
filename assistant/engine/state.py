"""The state of a session, and the small changes that the transition table makes to it.

Positions are counted, not measured: position 0 is where the first cut is made, position p
is reached by p moves, position `cuts` is the first hole again after the closing move. So
cut number p + 1 is made at position p.
"""

from __future__ import annotations

from dataclasses import dataclass, fields
from fractions import Fraction
from statistics import median
from typing import TYPE_CHECKING, Any

from assistant.engine.events import Device
from assistant.engine.phases import Step
from assistant.job.programme import Programme
from assistant.job.units import NO_LENGTH
from solver import Millimetres

_STEPS = {step.value: step for step in Step}  # sooner found than by the enum itself


@dataclass(frozen=True)  # without slots: see `replace`
class State:
    """Everything the engine remembers. `said` and `lost` are for the person, not for the count."""

    # where the session stands
    step: Step = Step.SET_UP
    back_to: Step | None = None  # the step that a pause interrupted
    item: int = 0  # set-up item being asked, from 0
    stage: int = 0  # of the job, from 0
    trial: bool = False  # in the trial round: nothing is cut, and nothing counted as cut
    astray: bool = False  # the trial round was left: the first hole has to be found again

    # the count
    place: int = 0  # position that the announced moves lead to
    settled: int = 0  # position that the person last confirmed
    done: int = 0  # cuts made in this pass
    pass_number: int = 1
    locked: bool = False  # confirmed on after the last move, and not yet confirmed off
    guarded: bool = False  # confirmed for this very cut
    doubted: bool = False  # the cut was so short that it was asked whether it was one
    claimed: int = 0  # the cut that the person says is next, not yet confirmed; 0: none
    notes: int = 0

    # the batch
    part: int = 1  # of the batch
    scraps: tuple[int, ...] = ()  # the parts of the batch that were given up
    scrapped: bool = False  # given up as too small

    # sizes, and cuts made again after them
    measured: int = 0  # measurements of this stage that are settled, with a size or without
    size: str = ""  # the size given and not yet confirmed, or last confirmed: exact mm
    sizes: tuple[str, ...] = ()  # those settled, exact mm, in order; "" where none was given
    recut: bool = False  # the cut last counted is being made again, deeper, after its size
    deeper: bool = False  # a cut of the last pass was: the cutter is set deeper than it began
    again: int = 0  # cuts made before that in the pass: due again when it has come round

    # times
    last_cut_at: float = 0.0  # when the last cut was counted; 0 after a break
    pace: tuple[float, ...] = ()  # seconds from cut to cut, the last few
    cut_times: tuple[float, ...] = ()  # seconds in the cut itself, the last few that are known
    answer_times: tuple[tuple[str, tuple[float, ...]], ...] = ()  # by step, seconds, the last few
    took: float = 0.0  # seconds in the present step, while its answer is looked at

    # words
    steady: int = 0  # cuts in a row that nothing came between, up to `settled_in`
    other_pace: bool = False  # fewer or more words than the job began with
    said: str = ""
    before: str = ""  # what of it was said before the question, where it ends with that

    # devices
    lost: tuple[Device, ...] = ()
    too_loud: bool = False  # to trust the ear: lock and guard are then not taken by voice
    deaf: bool = False  # no ear listens in this session: no phrase is named to the person
    foot: str = ""  # what of a pedal calls the trial round, as in `SessionStarted`

    def cut(self, programme: Programme) -> int:
        """The cut being worked on, 1 to `programme.cuts`; in the trial round, the place."""
        if self.trial:
            return min(self.place + 1, programme.cuts)
        return self.done if self.recut else min(self.done + 1, programme.cuts)

    def due(self, programme: Programme) -> int:
        """How many cuts this pass has: all, or those that come again after a size."""
        return self.again if self.pass_number > programme.passes else programme.cuts

    def made(self, programme: Programme) -> int:
        """How many cuts were made at least once in this pass or, where all are, before it."""
        return programme.cuts if self.pass_number > programme.passes else self.done

    @property
    def size_mm(self) -> Millimetres:
        """The size given and not yet confirmed, or last confirmed, mm. ValueError where none is."""
        return Millimetres(Fraction(self.size))

    def to_record(self) -> dict[str, Any]:
        """JSON-ready data for the journal."""
        return dict(self.__dict__)

    @classmethod
    def from_record(cls, record: dict[str, Any]) -> State:
        """The state that `to_record` wrote. Raises ValueError when it does not fit."""
        fields = dict(record)
        try:
            fields["step"] = _STEPS.get(fields["step"]) or Step(fields["step"])
            fields["back_to"] = Step(fields["back_to"]) if fields.get("back_to") else None
            fields["lost"] = tuple(Device(name) for name in fields.get("lost", ()))
            fields["pace"] = tuple(fields.get("pace", ()))
            fields["cut_times"] = tuple(fields.get("cut_times", ()))
            fields["sizes"] = tuple(fields.get("sizes", ()))
            fields["scraps"] = tuple(fields.get("scraps", ()))
            fields["answer_times"] = tuple(
                (step, tuple(times)) for step, times in fields.get("answer_times", ())
            )
            return cls(**fields)
        except (KeyError, TypeError, ValueError) as error:
            # A damaged record may hold anything, of any length.
            raise ValueError(f"state does not fit: {str(error)[:200]}") from error


FIELDS = tuple(field.name for field in fields(State))

if TYPE_CHECKING:
    from dataclasses import replace as replace  # noqa: PLC0414 - so each field is checked
else:

    def replace(state, /, **news):
        """The state with other values in some fields; TypeError where it has no such field.

        Twenty times as fast as `dataclasses.replace`, which sets all the others one by one: an
        answer makes three new states, and a look at a journal makes as many for each line.
        """
        new = object.__new__(State)
        held = new.__dict__
        held.update(state.__dict__)
        held.update(news)
        if len(held) != len(FIELDS):
            raise TypeError(f"a state has no {', '.join(news.keys() - set(FIELDS))}")
        return new


# --- conditions of the table ------------------------------------------------------------


def always(_: Programme, __: State) -> bool:
    """For a row that depends on nothing but step and event."""
    return True


def items_remain(programme: Programme, state: State) -> bool:
    """An item of the set-up comes after this one."""
    return state.item + 1 < len(programme.items(state.part))


def an_item_before(_: Programme, state: State) -> bool:
    """An item of the set-up came before this one."""
    return state.item > 0


def trial_offered(programme: Programme, state: State) -> bool:
    """The item being asked is the trial round: it can be called, from the first hole."""
    return state.part == 1 and state.item == programme.trial_item and not state.astray


def is_astray(_: Programme, state: State) -> bool:
    """The trial round was left on the way: the pin is in any hole."""
    return state.astray


def in_trial(_: Programme, state: State) -> bool:
    """The moves are those of the trial round: nothing is cut."""
    return state.trial


def cuts_are_counted(_: Programme, state: State) -> bool:
    """The moves lead to cuts that count."""
    return not state.trial


def trial_goes_on(programme: Programme, state: State) -> bool:
    """The trial round is not at its end: its closing check is still to come."""
    return state.trial and state.settled < programme.cuts


def trial_ends_open(programme: Programme, state: State) -> bool:
    """The last place of a trial round along a flat rule: no move leads back to the first."""
    return state.trial and not programme.closed and state.place == programme.cuts - 1


def at_first_cut(_: Programme, state: State) -> bool:
    """Nothing was moved in this job yet: the first cut is made where the head stands."""
    return state.place == 0 and state.pass_number == 1


def a_move_was_made(_: Programme, state: State) -> bool:
    """There is a move in this pass that could be taken back."""
    return state.place > 0


def a_move_to_mend(programme: Programme, state: State) -> bool:
    """A move led here, and the cut is not yet made in metal."""
    return a_move_was_made(programme, state) and not state.recut


def closing_move(programme: Programme, state: State) -> bool:
    """The move made last was the one that closes the round."""
    return state.place == programme.cuts


def passes_remain(programme: Programme, state: State) -> bool:
    """Another pass comes after this one."""
    return state.pass_number < programme.passes


def stages_remain(programme: Programme, _: State) -> bool:
    """Another setting of the work comes after this one."""
    return programme.then is not None


def parts_remain(programme: Programme, state: State) -> bool:
    """Another part of the batch is to be made."""
    return state.part < programme.parts


def part_is_made(programme: Programme, state: State) -> bool:
    """Nothing is left to be done on the part in hand, and another one is to come."""
    more = passes_remain(programme, state) or cuts_come_again(programme, state)
    open_ = state.trial or more or stages_remain(programme, state)
    return parts_remain(programme, state) and not open_


def more_follows(programme: Programme, state: State) -> bool:
    """Another setting, or another part, begins at the first hole."""
    return stages_remain(programme, state) or parts_remain(programme, state)


def spoilt_of_a_batch(programme: Programme, state: State) -> bool:
    """The part in hand can be given up, and the batch goes on or ends without it."""
    return programme.parts > 1 and not state.trial


def spoilt_before_another(programme: Programme, state: State) -> bool:
    """The part in hand can be given up, and another of the batch is to be made."""
    return spoilt_of_a_batch(programme, state) and parts_remain(programme, state)


def driven(programme: Programme, _: State) -> bool:
    """The head is driven in the cut: the lock must stay off."""
    return programme.unlocked


def came_round(programme: Programme, _: State) -> bool:
    """A closing move was made: along a flat rule there is none."""
    return programme.closed


def last_cut_of_open(programme: Programme, state: State) -> bool:
    """The cut just made was the last, and nothing leads back to the first."""
    return not programme.closed and state.done + 1 == programme.cuts


def open_end(programme: Programme, state: State) -> bool:
    """All cuts along a flat rule are counted: there is no closing move."""
    return not programme.closed and state.done == programme.cuts


def size_is_due(programme: Programme, state: State) -> bool:
    """After the cut just made a size is wanted."""
    return _due(programme, state, state.done + 1)


def size_still_due(programme: Programme, state: State) -> bool:
    """A size was wanted after the last cut counted, and none was settled."""
    return state.settled < state.done and _due(programme, state, state.done)


def _due(programme: Programme, state: State, cuts: int) -> bool:
    if state.measured >= len(programme.measurements):
        return False
    wanted = programme.measurements[state.measured]
    return (wanted.pass_number, wanted.after) == (state.pass_number, cuts)


def left_to_cut(programme: Programme, state: State) -> Millimetres:
    """By the size given: what no pass after this one would take off, mm. 0: nothing."""
    if state.pass_number < programme.passes or not programme.closed or not state.size:
        return NO_LENGTH
    return programme.measurements[state.measured].remaining(state.size_mm)


def size_is_under(programme: Programme, state: State) -> bool:
    """The size given is below the finished size, or its lower limit."""
    if not state.size:
        return False
    return programme.measurements[state.measured].is_under(state.size_mm)


def nothing_left_to_cut(programme: Programme, state: State) -> bool:
    """By the size taken in this pass the passes that are left have nothing to cut."""
    taken = programme.measurements[: state.measured][-1:]
    if not passes_remain(programme, state) or not taken or not state.size:
        return False
    now = taken[0].pass_number == state.pass_number and not taken[0].sideways
    return now and not taken[0].remaining(state.size_mm)


def stock_is_left(programme: Programme, state: State) -> bool:
    """The cut just measured can be made again at once: nothing was turned since."""
    return state.settled == state.done - 1 and left_to_cut(programme, state) > 0


def stock_is_left_locked(programme: Programme, state: State) -> bool:
    """The cut just measured can be made again at once, and the lock is still on."""
    return state.locked and stock_is_left(programme, state)


def recutting(_: Programme, state: State) -> bool:
    """The cut in hand is one that was made before and came out too shallow."""
    return state.recut


def recut_tells(programme: Programme, state: State) -> bool:
    """The size rests on this one cut, so that it can be measured anew at once.

    Over two opposite flats, or over teeth, the cut at the other end is still too shallow.
    """
    return state.recut and programme.measurements[state.measured].after == 1


def cuts_come_again(programme: Programme, state: State) -> bool:
    """The last pass was set deeper on the way: its first cuts are not deep enough."""
    return state.again > 0 and state.pass_number == programme.passes


def last_that_comes_again(programme: Programme, state: State) -> bool:
    """Nothing follows it, so that it need not be gone all the way round once more."""
    over = state.pass_number > programme.passes and not more_follows(programme, state)
    return over and state.done + 1 == state.again


def paused_measuring(_: Programme, state: State) -> bool:
    """It was paused where a size was asked for or read back."""
    return state.back_to in (Step.MEASURE, Step.READ_BACK, Step.UNDERSIZE)


def settled_in(programme: Programme) -> int:
    """How many cuts in a row are called in whole sentences before the short cycle."""
    return max(1, programme.pace.whole_cuts)


def short_wanted(programme: Programme, state: State) -> bool:
    """Few words and three answers a cut, once nothing comes between the cuts."""
    return (programme.pace.whole_cuts > 0) != state.other_pace


def short(programme: Programme, state: State) -> bool:
    """The present cut is called in few words."""
    return short_wanted(programme, state) and state.steady >= settled_in(programme)


def call_is_due(programme: Programme, state: State) -> bool:
    """The cut just made leads to the short call of the next: a move like the last one.

    The closing move, and a head that is driven in the cut, keep their whole sentences.
    """
    if driven(programme, state) or state.done + 1 >= programme.cuts:
        return False
    before, following = programme.moves[max(state.place - 1, 0)], programme.moves[state.place]
    same = (before.circle, before.plate_circle) == (following.circle, following.plate_circle)
    steady = state.steady + 1 >= settled_in(programme)
    return same and steady and short_wanted(programme, state)


FAR_SHORTER = 4
"""A cut that took so many times less than those before it was perhaps none. Judged: an eager
feed halves a cut, and does not quarter it."""
CUTS_TO_KNOW = 3
OF_THE_SHORTEST = 0.6
"""Who cuts evenly is not so much quicker than in the quickest of the last few. Judged: with a third
of spread one honest cut in two hundred is."""
LONG_CUT_S = 20.0
"""Seconds. Of a shorter cut the call is a good part, and in few words that is shorter too."""


def cut_was_short(programme: Programme, state: State) -> bool:
    """By the cuts before it, or by the job's own minutes as long as there are few of these."""
    if state.doubted or not state.took:
        return False
    if len(state.cut_times) < CUTS_TO_KNOW:
        return FAR_SHORTER * state.took < float(programme.cut_minutes * 60)
    quarter, shortest = median(state.cut_times) / FAR_SHORTER, min(state.cut_times)
    return state.took < quarter or (
        shortest >= LONG_CUT_S and state.took < OF_THE_SHORTEST * shortest
    )


def cut_is_due(programme: Programme, state: State) -> bool:
    """The spindle stands where the next cut is to be made."""
    return state.settled == state.done < programme.cuts


def all_closed(programme: Programme, state: State) -> bool:
    """The round is closed: the spindle stands again where it began."""
    return state.settled == programme.cuts


def paused_in_set_up(_: Programme, state: State) -> bool:
    """It was paused at an item of the set-up."""
    return state.back_to is Step.SET_UP


def paused_before_move(_: Programme, state: State) -> bool:
    """It was paused before the lock was off for a move."""
    return state.back_to is Step.RELEASE


def paused_at_cut(_: Programme, state: State) -> bool:
    """It was paused after a move, and before its cut was made."""
    return state.back_to in (Step.LOCK, Step.LEAVE_OFF, Step.GUARD, Step.CUT)


def paused_at_close(_: Programme, state: State) -> bool:
    """It was paused at the check of the finished round, or at the spare pass."""
    return state.back_to in (Step.CLOSING_CHECK, Step.SPARE_PASS)


# --- changes ----------------------------------------------------------------------------


def keep(_: Programme, state: State) -> State:
    """Nothing changes."""
    return state


def next_item(_: Programme, state: State) -> State:
    """The next item of the set-up."""
    return replace(state, item=state.item + 1)


def previous_item(_: Programme, state: State) -> State:
    """The item of the set-up before this one."""
    return replace(state, item=state.item - 1)


def begin_trial(programme: Programme, state: State) -> State:
    """The cutter stands still and clear, and the lock is off: the first move is announced."""
    return replace(begin_move(programme, state), trial=True)


def settle_and_move(programme: Programme, state: State) -> State:
    """One place further in the trial round: nothing comes between two moves."""
    return begin_move(programme, settle(programme, state))


def end_open_trial(programme: Programme, state: State) -> State:
    """The trial round ends at its last place: work that does not go all the way round
    is not closed.
    """
    return _at_open_end(programme, state)


def reopen_open_trial(programme: Programme, state: State) -> State:
    """Back to the last move along a flat rule, which counts as made until it is undone."""
    last = programme.cuts - 1
    return replace(state, place=last, settled=last - 1)


def end_trial(programme: Programme, state: State) -> State:
    """Back at the first hole: the set-up goes on, and no cut is counted. Where the round is its
    last item that is asked once more: no answer within the round leads to the first cut."""
    following = min(state.item + 1, len(programme.checklist) - 1)
    return replace(state, trial=False, place=0, settled=0, item=following)


def leave_trial(_: Programme, state: State) -> State:
    """At the first hole still, or again: its item is asked once more."""
    return replace(state, trial=False)


def break_off_trial(_: Programme, state: State) -> State:
    """Left where it stands. Its item is asked once more, behind the way back to the first hole."""
    at_first = state.step is Step.TRIAL_CLEAR and state.settled == 0
    return replace(
        state, trial=False, astray=not at_first, place=0, settled=0, back_to=None, locked=False
    )


def back_at_first(_: Programme, state: State) -> State:
    """The pin is in the first hole again."""
    return replace(state, astray=False)


def unlock(_: Programme, state: State) -> State:
    """The lock is off; whatever was said of the guard no longer counts."""
    return replace(state, locked=False, guarded=False)


def begin_move(_: Programme, state: State) -> State:
    """The lock is confirmed off: the next move may be announced."""
    return replace(state, locked=False, guarded=False, place=state.settled + 1)


def settle(_: Programme, state: State) -> State:
    """The pin is confirmed in the hole that the move leads to."""
    return replace(state, settled=state.place)


def doubt(_: Programme, state: State) -> State:
    """The hole was missed: the last certain place is the one before, lock and guard open."""
    before = state.place - 1
    return replace(state, settled=before, guarded=False)


def lock(_: Programme, state: State) -> State:
    """The lock is on; the guard has to be confirmed after it."""
    return replace(state, locked=True, guarded=False)


def guard(_: Programme, state: State) -> State:
    """Guard closed and hands clear, confirmed for this very cut."""
    return replace(state, guarded=True)


def doubt_cut(_: Programme, state: State) -> State:
    """Nothing is counted yet, and lock and guard stand as they were confirmed for this cut."""
    return replace(state, doubted=True)


def unguard(_: Programme, state: State) -> State:
    """The guard has to be confirmed anew."""
    return replace(state, guarded=False)


def count_cut(_: Programme, state: State) -> State:
    """The cut is made. The lock stays confirmed until the person says that it is off."""
    return replace(state, done=state.done + 1, guarded=False)


def call_next(programme: Programme, state: State) -> State:
    """The cut is made and the cutter clear. The lock is certain no more: the call begins with it,
    and the cut after it is entered only when it is confirmed on again."""
    return begin_move(programme, count_cut(programme, state))


def settle_and_lock(programme: Programme, state: State) -> State:
    """The answer to the call: the pin is in its hole, and the spindle locked there."""
    return lock(programme, settle(programme, state))


def reopen(programme: Programme, state: State) -> State:
    """The cut last counted was not made: it is due again, with lock and guard of its own."""
    due = replace(state, done=state.done - 1, locked=False, guarded=False)
    return _sizes_up_to_now(programme, due)


def reopen_at_end(programme: Programme, state: State) -> State:
    """The same for the last cut along a flat rule, which no move followed."""
    last = programme.cuts - 1
    return replace(reopen(programme, state), place=last, settled=last)


def reopen_in_call(programme: Programme, state: State) -> State:
    """The same once the next move is called: it may be half made, and the place is looked at."""
    return to_last_certain(programme, reopen(programme, state))


def _sizes_up_to_now(programme: Programme, state: State) -> State:
    """A size counts only while the cuts that it was taken after do."""
    taken = _reached(programme, state)
    if taken >= state.measured:
        return state
    sizes = state.sizes[:taken]
    return replace(state, measured=taken, sizes=sizes, size=sizes[-1] if sizes else "")


def _reached(programme: Programme, state: State) -> int:
    """How many measurements fell due by the cuts that are counted."""
    now = (state.pass_number, state.done)
    return sum((m.pass_number, m.after) <= now for m in programme.measurements)


def undo_move(_: Programme, state: State) -> State:
    """The move that was announced was not made: the spindle is where it was."""
    return replace(state, place=state.settled)


def unsettle(_: Programme, state: State) -> State:
    """The move that was made last has to be made, or found, again."""
    return replace(state, settled=state.place - 1)


def next_pass(_: Programme, state: State) -> State:
    """The next pass begins at the first place, with nothing cut in it and the lock off."""
    return replace(
        state, pass_number=state.pass_number + 1, done=0, place=0, settled=0, locked=False
    )


def finish_open(programme: Programme, state: State) -> State:
    """The last cut along a flat rule: there is no move back."""
    return _at_open_end(programme, count_cut(programme, state))


def _at_open_end(programme: Programme, state: State) -> State:
    return replace(state, place=programme.cuts, settled=programme.cuts, locked=False)


def _begun_anew(state: State) -> State:
    """Nothing is locked, set up or counted; what is known of the job and of the devices stays."""
    return State(
        part=state.part,
        scraps=state.scraps,
        notes=state.notes,
        said=state.said,
        lost=state.lost,
        too_loud=state.too_loud,
        deaf=state.deaf,
        foot=state.foot,
    )


def next_stage(_: Programme, state: State) -> State:
    """Another setting of the same job: its own set-up, its own count."""
    return replace(_begun_anew(state), stage=state.stage + 1)


def next_part(programme: Programme, state: State) -> State:
    """The next part of the batch: what it needs set up, and a count of its own. The person knows
    the job by now: its first cut alone has whole sentences, where there is only one setting."""
    return replace(
        _begun_anew(state),
        part=state.part + 1,
        other_pace=state.other_pace,
        steady=0 if state.stage else min(state.steady, settled_in(programme) - 1),
        pace=state.pace,
    )


def spoil(_: Programme, state: State) -> State:
    """The part in hand is given up, and is not counted with those that are made."""
    return replace(state, scraps=(*state.scraps, state.part), claimed=0)


def spoil_and_go_on(programme: Programme, state: State) -> State:
    """The part in hand is given up, and the next one begins."""
    return next_part(programme, spoil(programme, state))


def settle_size(_: Programme, state: State) -> State:
    """The size is confirmed as read back."""
    return replace(state, measured=state.measured + 1, sizes=(*_known_sizes(state), state.size))


def leave_unmeasured(_: Programme, state: State) -> State:
    """The size is left off: the place in the list of sizes stays empty."""
    return settle_size(_, replace(state, size=""))


def _known_sizes(state: State) -> tuple[str, ...]:
    """One for each measurement settled; a journal of an earlier form holds none."""
    return (*state.sizes, *[""] * (state.measured - len(state.sizes)))


def settle_size_at_end(programme: Programme, state: State) -> State:
    """The size of the last cut is confirmed, and the open work ends at its last place."""
    return _at_open_end(programme, settle_size(programme, state))


def leave_unmeasured_at_end(programme: Programme, state: State) -> State:
    """The size of the last cut is left off, and the open work ends at its last place."""
    return _at_open_end(programme, leave_unmeasured(programme, state))


def begin_recut(_: Programme, state: State) -> State:
    """The cutter is set deeper: lock and guard stand before this cut as before any."""
    return replace(state, recut=True, guarded=False)


def leave_recut(_: Programme, state: State) -> State:
    """It is near enough: back to the question for the size."""
    return replace(state, recut=False, guarded=False)


def end_recut_settled(programme: Programme, state: State) -> State:
    """Its size is not asked for anew: what it is measured against comes again later."""
    return settle_size(programme, end_recut(programme, state))


def end_recut(programme: Programme, state: State) -> State:
    """Deeper now, and counted before: its size is asked for anew."""
    wanted = programme.measurements[state.measured]
    again = max(state.again, wanted.after - 1)
    if wanted.after > 1 and more_follows(programme, state):
        again = programme.cuts  # what follows begins at the first hole: once more all round
    return replace(state, recut=False, guarded=False, deeper=True, again=again, size="")


def set_aside(_: Programme, state: State) -> State:
    """Pause: what was confirmed before the pause is not certain after it."""
    return replace(state, back_to=state.step, locked=False, guarded=False)


def take_up(_: Programme, state: State) -> State:
    """The pause is over."""
    return replace(state, back_to=None)


def to_last_certain(_: Programme, state: State) -> State:
    """Only the last confirmed position counts; a half-made move is forgotten."""
    return replace(
        state,
        place=state.settled,
        locked=False,
        guarded=False,
        back_to=None,
        recut=False,
        claimed=0,
    )


def to_last_cut(programme: Programme, state: State) -> State:
    """Count lost: what was confirmed since the last cut is in doubt, the cut itself is metal."""
    certain = to_last_certain(programme, state)
    back = min(certain.settled, max(state.done - 1, 0))
    return replace(certain, place=back, settled=back)


def fewer_words(programme: Programme, state: State) -> State:
    """At once: whoever asks for it has heard enough."""
    return replace(state, other_pace=programme.pace.whole_cuts == 0, steady=settled_in(programme))


def more_words(programme: Programme, state: State) -> State:
    """Whole sentences, and five answers a cut, from here on."""
    return replace(state, other_pace=programme.pace.whole_cuts > 0, steady=0)


def drop_claim(_: Programme, state: State) -> State:
    """The cut that was claimed to be next is forgotten."""
    return replace(state, claimed=0)


def take_claim(programme: Programme, state: State) -> State:
    """The person looked: the spindle stands where that cut is to be made, all before it are made.

    Sizes that were to be taken on the way are not asked for any more.
    """
    before = state.claimed - 1
    counted = replace(state, done=before, place=before, settled=before, claimed=0)
    known = _sizes_up_to_now(programme, counted)
    passed = _reached(programme, known)
    skipped = [""] * (passed - len(known.sizes))
    if passed <= known.measured:
        return known
    return replace(known, measured=passed, sizes=(*known.sizes, *skipped), size="")


def give_up(programme: Programme, state: State) -> State:
    """The size stays on record, the part is scrap; of a batch this part alone."""
    known = settle_size(programme, state)
    return spoil(programme, known) if programme.parts > 1 else replace(known, scrapped=True)


def add_note(_: Programme, state: State) -> State:
    """One note more."""
    return replace(state, notes=state.notes + 1)
