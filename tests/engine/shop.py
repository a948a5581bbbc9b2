"""What ought to follow what, told as a foreman would tell it; it knows nothing of the table.

`wanted` is the second account that the table is held against, in every state that any order
of intents can reach.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Iterator
from fractions import Fraction

from assistant.engine.asked import INTENTS, Use, used_as
from assistant.engine.phases import Intent, Step
from assistant.engine.state import State, replace
from assistant.job.programme import Programme

_TRIAL = (Step.TRIAL_CLEAR, Step.TRIAL_MOVE)
_ASKING = tuple(INTENTS[command] for command in used_as(Use.QUESTION))
_MEASURING = (Step.MEASURE, Step.READ_BACK, Step.UNDERSIZE)
_LOCKING = (Step.LOCK, Step.LEAVE_OFF)
_BEFORE_OR_AFTER = (Step.SET_UP, Step.FINISHED)


SIZE = "19.05"  # the size that is given wherever one is
UNDER = "17.5"  # one that is too small already
CUT = "2"  # the cut that is said to be next
FIGURES = (SIZE, UNDER, CUT)


def wanted(
    whole: Programme, now: State, intent: Intent, figure: str = SIZE, hurried: bool = False
) -> State | None:
    """The state that ought to follow, or None where the person is to be refused.

    `figure` is what is given with Intent.SIZE. `hurried`: it came in a second.
    """
    job = whole.stage(now.stage)
    made = now.step is Step.CUT and intent is Intent.CONFIRM
    if made and hurried and job.cut_minutes and not now.doubted:
        return replace(now, doubted=True)
    asked_for = _other_words(job, now, intent)
    after = asked_for or _wanted(whole, now, intent, figure)
    if after and after.step is not Step.CUT:
        after = replace(after, doubted=False)
    return after and _in_rhythm(whole.stage(after.stage), now, after)


_RHYTHM_LOST = {
    Step.RELEASE,
    Step.PAUSED,
    Step.CHECK_POSITION,
    Step.BACK_OFF,
    Step.COME_UP,
    Step.FREE,
    Step.MEASURE,
    Step.CLOSING_CHECK,
}


def _other_words(job: Programme, now: State, intent: Intent) -> State | None:
    if intent is Intent.FEWER_WORDS:
        return replace(now, other_pace=not job.pace.whole_cuts, steady=job.pace.whole_cuts or 1)
    if intent is Intent.MORE_WORDS:
        return replace(now, other_pace=bool(job.pace.whole_cuts), steady=0)
    return None


def _few_words(job: Programme, now: State) -> bool:
    """The person gets few words by the job, or against it by his own asking."""
    return bool(job.pace.whole_cuts) is not now.other_pace


def _in_rhythm(job: Programme, before: State, after: State) -> State:
    """Whole sentences until so many cuts went by with nothing between; one such cut, once lost."""
    if before.stage != after.stage:
        return replace(after, other_pace=before.other_pace, steady=0)
    if not _few_words(job, after):
        return after
    needed = job.pace.whole_cuts or 1
    one_more = before.step is Step.CUT and after.done - before.done == 1
    steady = min(needed, after.steady + one_more)
    return replace(after, steady=min(needed - 1, steady) if after.step in _RHYTHM_LOST else steady)


def _wanted(whole: Programme, now: State, intent: Intent, figure: str) -> State | None:
    job = whole.stage(now.stage)
    if intent in _ASKING:
        return now
    if intent is Intent.NOTE:
        return replace(now, notes=now.notes + 1)
    if intent in (Intent.PAUSE, Intent.PAUSE_AND_WHERE):
        return _set_aside(now, intent)
    if intent in (Intent.LOST_COUNT, Intent.RESTART):
        return _unsure(now, intent)
    if intent in (Intent.SIZE, Intent.CARRY_ON, Intent.SCRAP, Intent.TRIAL, Intent.NEXT_PART):
        return _decided(job, now, intent, figure)
    if intent is Intent.GO_BACK:
        return _gone_back(job, now)
    if intent is Intent.OVERSHOT:
        return _missed_the_hole(job, now)
    return _answered(job, now)


def _gone_back(job: Programme, now: State) -> State | None:
    if now.trial and now.step in (*_TRIAL, Step.CLOSING_CHECK):
        return _back_in_the_trial_round(job, now)
    leave = now.recut and now.step in (*_LOCKING, Step.GUARD)
    return _near_enough(now) if leave else _back(job, now)


def _decided(job: Programme, now: State, intent: Intent, figure: str) -> State | None:
    """A figure; on all the same; the trial round called; or the part is given up, its size on
    record."""
    if intent is Intent.SIZE:
        return _given(job, now, figure)
    if intent is Intent.CARRY_ON:
        return _all_the_same(job, now)
    if intent is Intent.NEXT_PART:
        return _on_to_the_next_part(job, now)
    if intent is Intent.TRIAL:
        if now.trial:
            return _round_left(now)
        here = now.step is Step.SET_UP and now.item == job.trial_item and now.part == 1
        offered = here and not now.astray
        return replace(now, step=Step.TRIAL_MOVE, trial=True, place=1) if offered else None
    return _thrown_away(job, now)


def _round_left(now: State) -> State:
    """Back at its item; unless the pin never left the first hole, that is asked for before."""
    astray = now.step is not Step.TRIAL_CLEAR or now.settled > 0
    return replace(
        now, step=Step.SET_UP, trial=False, astray=astray, place=0, settled=0, back_to=None
    )


def _thrown_away(job: Programme, now: State) -> State | None:
    """Too small; or of a batch, spoilt in whatever way, once the place is looked at. Of a batch
    the others are still to be made."""
    batch = job.parts > 1
    if now.step is Step.CHECK_POSITION and batch and not now.trial:
        lost = replace(now, scraps=(*now.scraps, now.part), claimed=0)
        return _next_blank(job, lost) or _to(lost, Step.FINISHED)
    if now.step is not Step.UNDERSIZE:
        return None
    if batch and (fresh := _next_blank(job, now)):
        return replace(fresh, scraps=(*now.scraps, now.part))
    known = replace(now, measured=now.measured + 1, sizes=(*now.sizes, now.size))
    if batch:
        return replace(known, step=Step.FINISHED, scraps=(*now.scraps, now.part))
    return replace(known, step=Step.FINISHED, scrapped=True)


def _next_blank(job: Programme, now: State) -> State | None:
    """Begun from the job's first setting; what was said about the words stays so. None: no more."""
    if now.part == job.parts:
        return None
    by_rote = min(now.steady, (job.pace.whole_cuts or 1) - 1) if now.stage == 0 else 0
    return State(
        part=now.part + 1,
        scraps=now.scraps,
        notes=now.notes,
        other_pace=now.other_pace,
        steady=by_rote,
    )


def _on_to_the_next_part(job: Programme, now: State) -> State | None:
    """Said where all of this one is made and was seen to close."""
    over = now.pass_number > job.passes or (now.pass_number == job.passes and not now.again)
    if now.step is not Step.CLOSING_CHECK or now.trial or job.then or not over:
        return None
    return _next_blank(job, now)


def _given(job: Programme, now: State, figure: str) -> State | None:
    """A size where one is measured, the number of a cut where the place is looked at."""
    if now.step in _MEASURING:
        cuts_nothing = Fraction(figure) > job.measurements[now.measured].before
        size = str(Fraction(figure))
        return None if cuts_nothing else replace(now, step=Step.READ_BACK, size=size)
    if now.step not in (Step.CHECK_POSITION, Step.RECOUNT) or now.trial:
        return None  # in the trial round no cut can be next
    cuts = now.again if now.pass_number > job.passes else job.cuts
    if "." in figure or int(figure) > cuts:
        return None
    return replace(now, step=Step.RECOUNT, claimed=int(figure))


def _all_the_same(job: Programme, now: State) -> State | None:
    """On with a part that is too small; or the passes that have nothing to cut are left out."""
    if now.step is Step.UNDERSIZE:
        return _measured(job, now)
    if now.step is Step.SPARE_PASS:
        return _stage_made(job, now)
    return None


def _before_guard(job: Programme) -> Step:
    """The lock is put on for every cut, but where the head is driven in it."""
    return Step.LEAVE_OFF if job.unlocked else Step.LOCK


def _set_aside(now: State, intent: Intent) -> State | None:
    """A pause takes lock and guard for open: anybody may have touched them meanwhile."""
    if now.step is Step.PAUSED:
        return now if intent is Intent.PAUSE_AND_WHERE else None
    if now.step is Step.FINISHED:
        return None
    return replace(now, step=Step.PAUSED, back_to=now.step, locked=False, guarded=False)


def _unsure(now: State, intent: Intent) -> State | None:
    """Nobody is sure of the place: back to the last confirmed one, and look."""
    if now.step in _BEFORE_OR_AFTER:
        return now if intent is Intent.RESTART else None
    if now.step is Step.PAUSED and now.back_to is Step.SET_UP:
        return replace(now, step=Step.SET_UP, back_to=None)
    looked = _look(now)
    if intent is Intent.LOST_COUNT and now.trial:
        return replace(looked, place=0, settled=0)  # nothing is cut: gone round anew
    if intent is Intent.LOST_COUNT and now.done and looked.settled >= now.done:
        # What was answered since the last cut is in doubt; the cut can be looked at.
        return replace(looked, place=now.done - 1, settled=now.done - 1)
    return looked


def _look(now: State) -> State:
    step = Step.CHECK_POSITION
    return replace(
        now,
        step=step,
        place=now.settled,
        locked=False,
        guarded=False,
        back_to=None,
        recut=False,
        claimed=0,
    )  # a move begun but not confirmed is as good as not begun


def _back(job: Programme, now: State) -> State | None:
    match now.step:
        case Step.SET_UP if now.item:
            return replace(now, item=now.item - 1)
        case Step.INDEX | Step.AT_PIN | Step.BACK_OFF | Step.COME_UP:
            return _back_in_a_move(now)
        case Step.RELEASE | Step.MEASURE:
            return replace(_not_cut(job, now), step=_before_guard(job))
        case Step.CALL:
            return _look(_not_cut(job, now))  # the crank may have been turned since
        case Step.CLOSING_CHECK if not job.closed:
            last = job.cuts - 1  # no move led here: the last cut stands open again, to be looked at
            return replace(_look(_not_cut(job, now)), place=last, settled=last)
        case Step.LOCK | Step.LEAVE_OFF | Step.CLOSING_CHECK if now.place:
            return replace(now, step=Step.AT_PIN, settled=now.place - 1)
        case Step.LOCK | Step.LEAVE_OFF if now.pass_number == 1:
            return replace(now, step=Step.SET_UP)
    return _back_to_the_question_before(job, now)


def _back_in_the_trial_round(job: Programme, now: State) -> State:
    """A move that counts as made is looked at; at the first hole the item is asked once more."""
    if now.step is Step.TRIAL_MOVE:
        return replace(now, step=Step.TRIAL_CLEAR, place=now.settled)
    if not now.place:
        return replace(now, step=Step.SET_UP, trial=False)
    to = now.place if job.closed or now.step is Step.TRIAL_CLEAR else job.cuts - 1
    return replace(now, step=Step.AT_PIN, place=to, settled=to - 1)


def _back_in_a_move(now: State) -> State:
    """A move that was called is looked at before anything turns; undone, so is the place."""
    if now.step is Step.AT_PIN:
        return _look(now)
    if now.step is Step.INDEX:
        return replace(now, step=Step.RELEASE, place=now.settled)
    return replace(now, step=Step.AT_PIN if now.step is Step.BACK_OFF else Step.BACK_OFF)


def _not_cut(job: Programme, now: State) -> State:
    """The last cut was counted too soon. A size taken after it can't have been of it."""
    open_again = replace(now, done=now.done - 1, locked=False, guarded=False)
    last = job.measurements[now.measured - 1] if now.measured else None
    if last and (last.pass_number, last.after) == (now.pass_number, now.done):
        kept = now.sizes[:-1]
        size = kept[-1] if kept else ""
        open_again = replace(open_again, measured=now.measured - 1, sizes=kept, size=size)
    return open_again


def _near_enough(now: State) -> State:
    return replace(now, step=Step.MEASURE, recut=False, guarded=False)


def _back_to_the_question_before(job: Programme, now: State) -> State | None:
    if now.step is Step.GUARD:
        return replace(now, step=_before_guard(job), locked=False, guarded=False)
    if now.step is Step.CUT:
        return replace(now, step=Step.GUARD, guarded=False)
    if now.step in (Step.READ_BACK, Step.UNDERSIZE):
        return replace(now, step=Step.MEASURE)
    if now.step is Step.SPARE_PASS:
        return replace(now, step=Step.CLOSING_CHECK)
    if now.step is Step.RECOUNT:
        return replace(now, step=Step.CHECK_POSITION, claimed=0)
    return None


def _missed_the_hole(job: Programme, now: State) -> State | None:
    """The crank goes back half a turn; with the lock on, the lock comes off before that."""
    if now.step in (Step.INDEX, Step.AT_PIN, Step.COME_UP, Step.CALL, Step.TRIAL_MOVE):
        return replace(now, step=Step.BACK_OFF)
    if not now.place or (now.step is Step.CLOSING_CHECK and not job.closed):
        return None
    if now.recut:
        return None  # the cut stands where it was made
    uncertain = replace(now, settled=now.place - 1, guarded=False)
    if now.step in (Step.LOCK, Step.LEAVE_OFF, Step.CLOSING_CHECK):
        return replace(uncertain, step=Step.BACK_OFF)
    if now.step in (Step.GUARD, Step.CUT):
        return replace(uncertain, step=Step.FREE)
    return None


def _answered(job: Programme, now: State) -> State | None:
    if now.step is Step.CALL:
        return replace(now, step=Step.GUARD, settled=now.place, locked=True)
    if now.trial:
        return _answered_in_the_trial_round(job, now)
    if now.astray and now.step is Step.SET_UP:
        return replace(now, astray=False)
    return _answered_one_by_one(job, now)


def _answered_in_the_trial_round(job: Programme, now: State) -> State | None:
    """Move after move with nothing between, and a look at the first hole in the end."""
    match now.step:
        case Step.TRIAL_CLEAR:
            return replace(now, step=Step.TRIAL_MOVE, place=now.settled + 1)
        case Step.TRIAL_MOVE | Step.AT_PIN | Step.COME_UP:
            return _next_in_the_trial_round(job, now)
        case Step.CHECK_POSITION:
            ended = now.settled == job.cuts
            return _to(now, Step.CLOSING_CHECK if ended else Step.TRIAL_CLEAR)
        case Step.CLOSING_CHECK:
            start = replace(now, trial=False, place=0, settled=0)
            last = len(job.checklist) == now.item + 1  # there is no round for a later part
            return replace(start, step=Step.SET_UP, item=now.item + (not last))
    return _answered_one_by_one(job, now)


def _next_in_the_trial_round(job: Programme, now: State) -> State:
    """The last move closes the circle; along a rule it leads to the last place."""
    last = job.cuts if job.closed else job.cuts - 1
    if now.place == last:
        return replace(now, step=Step.CLOSING_CHECK, place=job.cuts, settled=job.cuts)
    return replace(now, step=Step.TRIAL_MOVE, settled=now.place, place=now.place + 1)


def _answered_one_by_one(job: Programme, now: State) -> State | None:
    match now.step:
        case Step.SET_UP:
            more = now.item + 1 < len(job.checklist_again if now.part > 1 else job.checklist)
            return replace(now, item=now.item + 1) if more else _to(now, _before_guard(job))
        case Step.LOCK:
            return replace(now, step=Step.GUARD, locked=True, guarded=False)
        case Step.LEAVE_OFF:
            return _to(now, Step.GUARD)
        case Step.GUARD:
            return replace(now, step=Step.CUT, guarded=True)
        case Step.CUT:
            return _cut_made(job, now)
        case Step.RELEASE:
            turned = replace(now, place=now.settled + 1, locked=False, guarded=False)
            return replace(turned, step=Step.INDEX)
        case Step.INDEX | Step.AT_PIN | Step.COME_UP:
            round_again = now.place == job.cuts
            step = Step.CLOSING_CHECK if round_again else _before_guard(job)
            return replace(now, step=step, settled=now.place)
    return _answered_late(job, now)


def _to(now: State, step: Step) -> State:
    return replace(now, step=step)


def _cut_made(job: Programme, now: State) -> State:
    """Measured where that is due; along a rule the last cut ends the pass with no move back."""
    if now.recut:
        return _deeper(job, now)
    now = replace(now, done=now.done + 1, guarded=False)
    if now.pass_number > job.passes and now.done == now.again and not _more(job, now):
        return _to(now, Step.FINISHED)
    if _wants_a_size(job, now):
        return _to(now, Step.MEASURE)
    if not job.closed and now.done == job.cuts:
        there = replace(now, place=job.cuts, settled=job.cuts, locked=False)
        return _to(there, Step.CLOSING_CHECK)
    if _by_rote(job, now):
        return replace(now, step=Step.CALL, place=now.done, locked=False)
    return _to(now, Step.RELEASE)


def _by_rote(job: Programme, now: State) -> bool:
    """The next cut is called in three answers: not the last move round, no other circle, and the
    person in the rhythm of it. A driven head keeps its own questions."""
    if job.unlocked or now.done == job.cuts or not _few_words(job, now):
        return False
    last, following = job.moves[max(now.done - 2, 0)], job.moves[now.done - 1]
    return last.circle == following.circle and now.steady + 1 >= (job.pace.whole_cuts or 1)


def _wants_a_size(job: Programme, now: State) -> bool:
    left = job.measurements[now.measured :]
    return bool(left) and (left[0].pass_number, left[0].after) == (now.pass_number, now.done)


def _answered_late(job: Programme, now: State) -> State | None:
    """The answers that end an overshoot, a measurement, a pass, a pause or a doubt."""
    match now.step:
        case Step.FREE:
            return replace(now, step=Step.BACK_OFF, locked=False, guarded=False)
        case Step.BACK_OFF:
            return _to(now, Step.COME_UP)
        case Step.MEASURE:
            return _measured(job, replace(now, size=""))
        case Step.READ_BACK:
            return _size_taken(job, now)
        case Step.CLOSING_CHECK:
            spare = now.pass_number < job.passes and _nothing_left(job, now)
            return _to(now, Step.SPARE_PASS) if spare else _pass_made(job, now)
        case Step.PAUSED:
            return _back_from_pause(job, now)
        case Step.CHECK_POSITION:
            return _place_is_certain(job, now)
    return _answered_to_a_doubt(job, now)


def _answered_to_a_doubt(job: Programme, now: State) -> State | None:
    match now.step:
        case Step.UNDERSIZE:
            return _to(now, Step.MEASURE)
        case Step.SPARE_PASS:
            return _pass_made(job, now)
        case Step.RECOUNT:
            return _counted_anew(job, now)
    return None


def _nothing_left(job: Programme, now: State) -> bool:
    """The last size of this pass was the finished one, or less."""
    taken = job.measurements[now.measured - 1] if now.measured and now.size else None
    this_pass = taken is not None and taken.pass_number == now.pass_number
    return this_pass and taken is not None and Fraction(now.size) <= taken.target


def _counted_anew(job: Programme, now: State) -> State:
    """All cuts before that one are made, and no other; sizes go with the cuts they were of."""
    made = now.claimed - 1
    known = [m for m in job.measurements if (m.pass_number, m.after) <= (now.pass_number, made)]
    at = replace(now, step=_before_guard(job), done=made, place=made, settled=made, claimed=0)
    if len(known) == now.measured:
        return at
    sizes = (*now.sizes, *[""] * len(known))[: len(known)]
    size = sizes[-1] if sizes else ""
    return replace(at, measured=len(known), sizes=sizes, size=size)


def _size_taken(job: Programme, now: State) -> State:
    if Fraction(now.size) < job.measurements[now.measured].target:
        return _to(now, Step.UNDERSIZE)
    if not _stock_left(job, now):
        return _measured(job, now)
    ready = Step.GUARD if now.locked else _before_guard(job)
    return replace(now, step=ready, recut=True, guarded=False)


def _stock_left(job: Programme, now: State) -> bool:
    """No pass comes after this one to take off what the size shows; it is taken off now."""
    last = now.pass_number >= job.passes and job.closed
    size = job.measurements[now.measured]
    return last and Fraction(now.size) > size.target and now.settled == now.done - 1


def _deeper(job: Programme, now: State) -> State:
    """The cuts made before it in this pass come again, as deep; with none, it is measured anew."""
    before = now.done - 1
    again = job.cuts if before and _more(job, now) else before
    cut = replace(
        now, recut=False, guarded=False, deeper=True, size="", again=max(now.again, again)
    )
    return _measured(job, cut) if before else _to(cut, Step.MEASURE)


def _measured(job: Programme, now: State) -> State:
    """On to the next move; along a flat rule there is none after the last cut."""
    settled = replace(now, measured=now.measured + 1, sizes=(*now.sizes, now.size))
    if not job.closed and now.done == job.cuts:
        ended = replace(settled, place=job.cuts, settled=job.cuts, locked=False)
        return _to(ended, Step.CLOSING_CHECK)
    return _to(settled, Step.RELEASE)


def _pass_made(job: Programme, now: State) -> State:
    if now.pass_number < job.passes:
        fresh = replace(now, done=0, place=0, settled=0, locked=False)
        return replace(fresh, step=_before_guard(job), pass_number=now.pass_number + 1)
    if now.again and now.pass_number == job.passes:
        fresh = replace(now, done=0, place=0, settled=0, locked=False)
        return replace(fresh, step=_before_guard(job), pass_number=now.pass_number + 1)
    return _stage_made(job, now)


def _stage_made(job: Programme, now: State) -> State:
    if job.then:
        return State(stage=now.stage + 1, part=now.part, scraps=now.scraps, notes=now.notes)
    return _next_blank(job, now) or _to(now, Step.FINISHED)


def _more(job: Programme, now: State) -> bool:
    """Something begins at the first hole after this: another setting, or another part."""
    return bool(job.then) or now.part < job.parts


def _back_from_pause(job: Programme, now: State) -> State:
    """Lock and guard are asked for anew; a move that was under way is looked at."""
    if now.back_to in (Step.LOCK, Step.LEAVE_OFF, Step.GUARD, Step.CUT):
        return replace(now, step=_before_guard(job), back_to=None)
    if now.back_to in _MEASURING:
        return replace(now, step=Step.MEASURE, back_to=None)
    if now.back_to is Step.SPARE_PASS:
        return replace(now, step=Step.CLOSING_CHECK, back_to=None)
    if now.back_to in (Step.SET_UP, Step.RELEASE, Step.CLOSING_CHECK):
        return replace(now, step=now.back_to, back_to=None)
    return _look(now)


def _place_is_certain(job: Programme, now: State) -> State:
    if now.settled == job.cuts:
        return _to(now, Step.CLOSING_CHECK)
    if now.settled == now.done:
        return _to(now, _before_guard(job))
    return _to(now, Step.MEASURE if _wants_a_size(job, now) else Step.RELEASE)


def reachable(job: Programme) -> Iterator[State]:
    """Every state that any order of intents leads to; notes are not counted."""
    seen, queue = {State()}, deque([State()])
    while queue:
        now = queue.popleft()
        yield now
        for intent in Intent:
            given = [(each, False) for each in FIGURES if intent is Intent.SIZE or each == SIZE]
            for figure, hurried in [*given, (SIZE, True)]:
                after = wanted(job, now, intent, figure, hurried)
                if after is not None and (after := replace(after, notes=0)) not in seen:
                    seen.add(after)
                    queue.append(after)
