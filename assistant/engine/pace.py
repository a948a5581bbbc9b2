"""How many words a cut gets: whole sentences at first and after what comes between, then few."""

from __future__ import annotations

from assistant.engine.phases import Step
from assistant.engine.state import State, replace, settled_in, short, short_wanted
from assistant.job.programme import Programme

# After one of these the next cut is called in whole sentences: what was known by rote before it
# may not be true any more.
_BETWEEN = (
    Step.RELEASE,  # and not the call: another circle, or the closing move
    Step.PAUSED,
    Step.CHECK_POSITION,
    Step.BACK_OFF,
    Step.FREE,
    Step.COME_UP,
    Step.MEASURE,
    Step.CLOSING_CHECK,
)


def with_pace(programme: Programme, old: State, new: State) -> State:
    """The state with its count of steady cuts. `programme` is the stage of `new`."""
    if new.stage != old.stage:
        # Another plate, another circle: all is as at the first cuts, but for the person's choice.
        return replace(new, other_pace=old.other_pace)
    if not short_wanted(programme, new):
        return new
    made = old.step is Step.CUT and new.done == old.done + 1
    steady = min(new.steady + made, settled_in(programme) - (new.step in _BETWEEN))
    return new if steady == new.steady else replace(new, steady=steady)


KNOWN_CUTS = 5  # the time of a cut is judged by so many before it


def cut_timed(old: State, new: State) -> State:
    """The state with how long its cuts took, and with no doubt left over from another step."""
    counted = old.step is Step.CUT and new.done == old.done + 1 and new.stage == old.stage
    times = old.cut_times if new.stage == old.stage else ()
    if counted and new.took:
        times = (*times, round(new.took, 1))[-KNOWN_CUTS:]
    if new.pass_number != old.pass_number:
        times = ()  # another depth, another time
    doubted = new.doubted and new.step is Step.CUT
    if (times, doubted, 0.0) == (new.cut_times, new.doubted, new.took):
        return new
    return replace(new, cut_times=times, doubted=doubted, took=0.0)


def is_reminder(programme: Programme, state: State) -> bool:
    """In the short cycle, a cut at which what does not change is said once more."""
    return bool(programme.pace.remind_every) and state.done % programme.pace.remind_every == 0


def is_brief(programme: Programme, state: State) -> bool:
    """The question is one of the few words that a cut gets once it is known by rote."""
    if state.recut or state.doubted or is_reminder(programme, state):
        return False
    in_it = state.step in (Step.GUARD, Step.CUT) and short(programme, state)
    return state.step is Step.CALL or in_it
