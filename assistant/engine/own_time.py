"""How long a person's own answers take where hands have to do something: far sooner is no answer.

A foot that answers by habit is quicker than hands are. What others need is not known; what this
person needed the last few times for the same question is.
"""

from __future__ import annotations

from statistics import median

from assistant.engine.answers import said_s
from assistant.engine.phases import Step
from assistant.engine.state import State, replace
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
SHARE = 0.5
"""Of what the hands usually take once the question has been said. Judged: with a third of spread
either way one honest answer in some hundreds comes sooner, and is asked once more."""


Times = tuple[tuple[str, tuple[float, ...]], ...]
"""By step, seconds, the last few."""


def with_own_time(programme: Programme, old: State, new: State) -> State:
    """The state with how long the hands took, beside what the question takes to say, seconds.
    `programme` is the stage of `old`."""
    if not is_answered(old, new, new.took):
        return new
    hands = new.took - said_s(programme, old)
    return replace(new, answer_times=noted(new.answer_times, old.step, hands))


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


def _another_move(programme: Programme, state: State) -> bool:
    """How long the last moves took is no measure for this one."""
    if state.step not in (Step.INDEX, Step.CALL):
        return False
    return state.place < 2 or programme.moves[state.place - 1] != programme.moves[state.place - 2]
