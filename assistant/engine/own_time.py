"""How long a person's own answers take where hands have to do something: far sooner is no answer.

A foot that answers by habit is quicker than hands are. What others need is not known; what this
person needed the last few times for the same question is.
"""

from __future__ import annotations

from statistics import median

from assistant.engine.answers import said_s, usually_said_s
from assistant.engine.events import Event, PedalUsed, PhraseHeard
from assistant.engine.phases import Step
from assistant.engine.state import State, cut_was_short, replace
from assistant.job.programme import Programme

# Each with the steps that follow its answer: whatever else leaves it is none.
_BY_HAND = {
    Step.INDEX: (Step.LOCK, Step.LEAVE_OFF, Step.CLOSING_CHECK),
    Step.CALL: (Step.GUARD,),
    Step.LOCK: (Step.GUARD,),
    Step.GUARD: (Step.CUT,),
}
KEPT = 5  # an answer is judged by so many before it
TO_KNOW = 3
TO_THINK_S = 10.0
"""A press that says "it was a cut", of one that was far too short, comes after so long: another
answer than the one before it, and no contact that comes oftener gives it by chance."""
TO_BEGIN_S = 1.0
"""A question begins to sound so soon after its step has."""
SHARE = 0.5
"""Of what the hands usually take once the question has been said. Judged: with a third of spread
either way one honest answer in some hundreds comes sooner, and is asked once more."""


Times = tuple[tuple[str, tuple[float, ...]], ...]
"""By step, seconds, the last few."""


def with_own_time(programme: Programme, old: State, new: State, event: Event) -> State:
    """The state with how long the hands took, beside what the question takes to say, seconds.
    `programme` is the stage of `old`, `event` what led to `new`."""
    if not is_answered(old, new, new.took) or _was_asked_again(event):
        return new
    hands = new.took - usually_said_s(programme, old)
    return replace(new, answer_times=noted(new.answer_times, old.step, hands))


def _was_asked_again(event: Event) -> bool:
    """It was said once more in between: who was told "that was quick" would seem slow by that, and
    be told so at every cut."""
    if not isinstance(event, PedalUsed | PhraseHeard):
        return False
    return event.took - event.waited > TO_BEGIN_S


def is_answered(old: State, new: State, took: float) -> bool:
    """The question of `old` was answered, by hands that are known to have taken so long."""
    return took > 0 and new.stage == old.stage and new.step in _BY_HAND.get(old.step, ())


def noted(times: Times, step: Step, hands: float) -> Times:
    """With one more: so many seconds of the hands for that step."""
    known = dict(times)
    known[step.value] = (*known.get(step.value, ()), max(0.0, round(hands, 1)))[-KEPT:]
    return tuple(sorted(known.items()))


def least(programme: Programme, state: State) -> float:
    """Seconds from the question until an answer can be one of this person, 0: nothing known."""
    times = dict(state.answer_times).get(state.step.value, ())
    if len(times) < TO_KNOW or _another_move(programme, state):
        return 0.0
    return said_s(programme, state) + SHARE * median(times)


def is_too_quick(programme: Programme, state: State, took: float) -> bool:
    """`took` is in seconds since the question was first put, 0 where that is not known: who did it
    and was asked once more has that time behind him."""
    return 0 < took < least(programme, state)


def is_in_cut(programme: Programme, state: State, event: PedalUsed) -> bool | None:
    """The press came while the cut can't have been made yet; None: no cut is, or it was asked
    about, and this is the answer to that."""
    if state.step is not Step.CUT:
        return None
    if state.doubted:
        return True if is_hurried(event) else None
    return cut_was_short(programme, replace(state, took=event.took))


def is_hurried(event: PedalUsed) -> bool:
    """No answer to "Was it a cut?": the next contact, or a foot that did not think."""
    return min(event.waited, event.still) < TO_THINK_S


def _another_move(programme: Programme, state: State) -> bool:
    """How long the last moves took is no measure for this one."""
    if state.step not in (Step.INDEX, Step.CALL):
        return False
    return state.place < 2 or programme.moves[state.place - 1] != programme.moves[state.place - 2]
