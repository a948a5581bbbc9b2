"""What each step asks of the person's hands, as the eyes get it: an order, in capitals.

A fact stands beside it in other words and another form (`lock_is`, `View.guarded`). Read from
afar "Spindle locked" is a fact; who is asked for it sees "LOCK THE SPINDLE".
"""

from __future__ import annotations

from assistant.engine.block_words import by_block
from assistant.engine.calling import begins_off_mark, by_handwheel, marks_anew
from assistant.engine.phases import Step
from assistant.engine.state import State
from assistant.job.programme import Programme
from assistant.words.language import mark, say

REQUESTS = {
    Step.RELEASE: mark("CUTTER CLEAR, THEN LOCK OFF"),
    Step.TRIAL_CLEAR: mark("STOP THE CUTTER, CLEAR, LOCK OFF"),
    Step.TRIAL_MOVE: mark("TURN, PIN IN, MARK"),
    Step.FREE: mark("CUTTER CLEAR, THEN LOCK OFF"),
    Step.INDEX: mark("TURN, PIN IN"),
    Step.AT_PIN: mark("DON'T TURN. LOOK AT THE PIN"),
    Step.BACK_OFF: mark("TURN BACK HALF A TURN"),
    Step.COME_UP: mark("COME UP TO THE HOLE, PIN IN"),
    Step.LOCK: mark("LOCK THE SPINDLE"),
    Step.LEAVE_OFF: mark("LEAVE THE LOCK OFF"),
    Step.CALL: mark("LOCK OFF, TURN, LOCK"),
    Step.GUARD: mark("SHUT THE GUARD, HANDS CLEAR"),
    Step.CUT: mark("CUT, THEN CLEAR THE CUTTER"),
    Step.MEASURE: mark("STOP THE CUTTER"),
    Step.READ_BACK: mark("IS THAT THE SIZE?"),
    Step.UNDERSIZE: mark("TOO SMALL. DECIDE"),
    Step.CLOSING_CHECK: mark("LOOK: PIN IN ITS FIRST HOLE?"),
    Step.SPARE_PASS: mark("ROUND AGAIN? DECIDE"),
    Step.FINISHED: mark("STOP THE CUTTER"),
    Step.PAUSED: mark("PRESS TO CARRY ON"),
    Step.CHECK_POSITION: mark("PIN TO THE LAST CERTAIN HOLE"),
    Step.RECOUNT: mark("IS THAT THE NEXT CUT?"),
}
_ON_A_DIAL = {
    Step.TRIAL_MOVE: mark("TURN TO THE READING, MARK"),
    Step.INDEX: mark("TURN TO THE READING"),
    Step.AT_PIN: mark("DON'T TURN. LOOK AT THE DIAL"),
    Step.COME_UP: mark("COME UP TO THE READING"),
    Step.CLOSING_CHECK: mark("LOOK: DIAL BACK AT NOUGHT?"),
    Step.CHECK_POSITION: mark("DIAL TO THE LAST CERTAIN READING"),
}
_ANOTHER_HOLE = {Step.CLOSING_CHECK: mark("LOOK: IS THE PIN IN PLACE?")}
_BY_A_BLOCK = {
    Step.TRIAL_CLEAR: mark("STOP THE CUTTER, OPEN THE VICE"),
    Step.TRIAL_MOVE: mark("TURN THE BLOCK, MARK"),
    Step.RELEASE: mark("STOP THE CUTTER, OPEN THE VICE"),
    Step.FREE: mark("STOP THE CUTTER, OPEN THE VICE"),
    Step.INDEX: mark("TURN THE BLOCK TO ITS FACE"),
    Step.AT_PIN: mark("DON'T TURN. LOOK AT THE BLOCK"),
    Step.BACK_OFF: mark("LIFT THE BLOCK"),
    Step.COME_UP: mark("TURN THE BLOCK TO ITS FACE"),
    Step.LOCK: mark("VICE TIGHT"),
    Step.CALL: mark("STOP, TURN THE BLOCK, VICE"),
    Step.CLOSING_CHECK: mark("LOOK: FACE ONE UP?"),
    Step.CHECK_POSITION: mark("BLOCK TO THE LAST CERTAIN FACE"),
}


def request(programme: Programme, state: State) -> str:
    """What is asked now; "" in the set-up, whose item says it."""
    dial = _ON_A_DIAL if by_handwheel(programme) else {}
    if marks_anew(programme) or begins_off_mark(programme):
        dial = _ANOTHER_HOLE
    if by_block(programme):
        dial = _BY_A_BLOCK
    words = dial.get(state.step) or REQUESTS.get(state.step, "")
    return say(words) if words else ""


_TURNING = (Step.TRIAL_MOVE, Step.INDEX, Step.BACK_OFF, Step.COME_UP)


def lock_is(programme: Programme, state: State) -> str:
    """The spindle lock as the person last confirmed it: "locked", "off", or "" where nothing
    certain is known, as after a break."""
    if state.locked:
        return "locked"
    in_a_driven_cut = programme.unlocked and state.step in (Step.GUARD, Step.CUT)
    return "off" if state.step in _TURNING or in_a_driven_cut else ""
