"""What an earlier session of the same job has to say, at the moment that it was said about.

A moment is pass, cuts made, and how far the cut has come: in the short cycle some questions are
not asked, so that what belongs to them is told when their place is passed.
"""

from __future__ import annotations

from assistant.engine.phases import Step
from assistant.engine.state import State
from assistant.job.programme import Programme
from assistant.words.language import say
from assistant.words.spoken import sentences

Moment = tuple[int, ...]

_ON_THE_WAY = {
    Step.MEASURE: 1, Step.READ_BACK: 1, Step.UNDERSIZE: 1, Step.RELEASE: 2, Step.INDEX: 3,
    Step.AT_PIN: 3, Step.FREE: 3, Step.BACK_OFF: 3, Step.COME_UP: 3, Step.CALL: 3, Step.LOCK: 4,
    Step.LEAVE_OFF: 4, Step.GUARD: 5, Step.CUT: 6, Step.CLOSING_CHECK: 7, Step.SPARE_PASS: 7,
    Step.FINISHED: 8,
}  # fmt: skip
BEFORE_ALL: Moment = (0,)


def moment_of(state: State) -> Moment:
    """Where a state stands: later ones compare greater. A look at the place counts as before the
    move, a pause as the step that it broke into."""
    step = state.back_to or state.step if state.step is Step.PAUSED else state.step
    if step is Step.SET_UP or state.trial:
        return (1, -1, state.item)
    return (state.pass_number, state.done, _ON_THE_WAY.get(step, 2))


def falls_due(programme: Programme, old: State | None, new: State) -> str:
    """What falls due between two states of this stage, or at the first; "" for nothing."""
    if not programme.recalls or (new.part > 1 and new.step is Step.SET_UP):
        return ""  # a part after the first has other items than those that it was said about
    before = moment_of(old) if old is not None and old.stage == new.stage else BEFORE_ALL
    due = (each.text for each in programme.recalls if before < each.at <= moment_of(new))
    return sentences(*(say("Last time, here: {note}.", note=text) for text in due))
