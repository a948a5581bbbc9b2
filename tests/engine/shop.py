"""What ought to follow what, told as a foreman would tell it; it knows nothing of the table.

`wanted` is the second account that the table is held against, in every state that any order
of intents can reach.
"""

from __future__ import annotations

from collections import deque
from collections.abc import Iterator
from dataclasses import replace

from assistant.phases import Intent, Step
from assistant.programme import Programme
from assistant.state import State

_ASKING = (Intent.WHAT_NEXT, Intent.SAY_AGAIN, Intent.WHERE_AM_I, Intent.HOW_MANY_LEFT)
_BEFORE_OR_AFTER = (Step.SET_UP, Step.FINISHED)


def wanted(job: Programme, now: State, intent: Intent) -> State | None:
    """The state that ought to follow, or None where the person is to be refused."""
    if intent in _ASKING:
        return now
    if intent is Intent.NOTE:
        return replace(now, notes=now.notes + 1)
    if intent in (Intent.PAUSE, Intent.PAUSE_AND_WHERE):
        return _set_aside(now, intent)
    if intent in (Intent.LOST_COUNT, Intent.RESTART):
        return _unsure(now, intent)
    if intent is Intent.GO_BACK:
        return _back(now)
    if intent is Intent.OVERSHOT:
        return _missed_the_hole(now)
    return _answered(job, now)


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
    return _look(now)


def _look(now: State) -> State:
    step = Step.CHECK_POSITION
    return replace(
        now, step=step, place=now.settled, locked=False, guarded=False, back_to=None
    )  # a move begun but not confirmed is as good as not begun


def _back(now: State) -> State | None:
    match now.step:
        case Step.SET_UP if now.item:
            return replace(now, item=now.item - 1)
        case Step.INDEX:
            return replace(now, step=Step.RELEASE, place=now.settled)
        case Step.BACK_OFF:
            return replace(now, step=Step.INDEX)
        case Step.COME_UP:
            return replace(now, step=Step.BACK_OFF)
        case Step.LOCK | Step.CLOSING_CHECK if now.place:
            return replace(now, step=Step.INDEX, settled=now.place - 1)
        case Step.LOCK if now.pass_number == 1:
            return replace(now, step=Step.SET_UP)
    return _back_to_lock_or_guard(now)


def _back_to_lock_or_guard(now: State) -> State | None:
    if now.step is Step.GUARD:
        return replace(now, step=Step.LOCK, locked=False, guarded=False)
    if now.step is Step.CUT:
        return replace(now, step=Step.GUARD, guarded=False)
    return None


def _missed_the_hole(now: State) -> State | None:
    """The crank goes back half a turn; with the lock on, the lock comes off before that."""
    if now.step in (Step.INDEX, Step.COME_UP):
        return replace(now, step=Step.BACK_OFF)
    if not now.place:
        return None
    uncertain = replace(now, settled=now.place - 1, guarded=False)
    if now.step in (Step.LOCK, Step.CLOSING_CHECK):
        return replace(uncertain, step=Step.BACK_OFF)
    if now.step in (Step.GUARD, Step.CUT):
        return replace(uncertain, step=Step.FREE)
    return None


def _answered(job: Programme, now: State) -> State | None:
    match now.step:
        case Step.SET_UP:
            more = now.item + 1 < len(job.checklist)
            return replace(now, item=now.item + 1) if more else replace(now, step=Step.LOCK)
        case Step.LOCK:
            return replace(now, step=Step.GUARD, locked=True, guarded=False)
        case Step.GUARD:
            return replace(now, step=Step.CUT, guarded=True)
        case Step.CUT:
            return replace(now, step=Step.RELEASE, done=now.done + 1, guarded=False)
        case Step.RELEASE:
            turned = replace(now, place=now.settled + 1, locked=False, guarded=False)
            return replace(turned, step=Step.INDEX)
        case Step.INDEX | Step.COME_UP:
            round_again = now.place == job.cuts
            step = Step.CLOSING_CHECK if round_again else Step.LOCK
            return replace(now, step=step, settled=now.place)
    return _answered_late(job, now)


def _answered_late(job: Programme, now: State) -> State | None:
    """The answers that end an overshoot, a pass, a pause or a doubt."""
    if now.step is Step.FREE:
        return replace(now, step=Step.BACK_OFF, locked=False, guarded=False)
    if now.step is Step.BACK_OFF:
        return replace(now, step=Step.COME_UP)
    if now.step is Step.CLOSING_CHECK:
        if now.pass_number == job.passes:
            return replace(now, step=Step.FINISHED)
        fresh = replace(now, done=0, place=0, settled=0, locked=False)
        return replace(fresh, step=Step.LOCK, pass_number=now.pass_number + 1)
    if now.step is Step.PAUSED:
        return _back_from_pause(now)
    if now.step is Step.CHECK_POSITION:
        if now.settled == job.cuts:
            return replace(now, step=Step.CLOSING_CHECK)
        return replace(now, step=Step.LOCK if now.settled == now.done else Step.RELEASE)
    return None


def _back_from_pause(now: State) -> State:
    """Lock and guard are asked for anew; a move that was under way is looked at."""
    if now.back_to in (Step.LOCK, Step.GUARD, Step.CUT):
        return replace(now, step=Step.LOCK, back_to=None)
    if now.back_to in (Step.SET_UP, Step.RELEASE, Step.CLOSING_CHECK):
        return replace(now, step=now.back_to, back_to=None)
    return _look(now)


def reachable(job: Programme) -> Iterator[State]:
    """Every state that any order of intents leads to; notes are not counted."""
    seen, queue = {State()}, deque([State()])
    while queue:
        now = queue.popleft()
        yield now
        for intent in Intent:
            after = wanted(job, now, intent)
            if after is not None and (after := replace(after, notes=0)) not in seen:
                seen.add(after)
                queue.append(after)
