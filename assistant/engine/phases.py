"""Where a session can stand. A step is what is being asked; several steps may share a phase."""

from __future__ import annotations

from enum import StrEnum

from assistant.engine.asked import Command
from assistant.engine.asked import Intent as Intent  # noqa: PLC0414  beside the steps


class Phase(StrEnum):
    """The phases that outside programs see."""

    SET_UP = "set-up"
    RELEASE = "release"
    INDEX = "index"
    LOCK = "lock"
    GUARD = "guard"
    CUT = "cut"
    MEASURE = "measure"
    CLOSING_CHECK = "closing-check"
    FINISHED = "finished"
    PAUSED = "paused"
    CHECK_POSITION = "check-position"


class Step(StrEnum):
    """One question to the person, and the rows of the transition table."""

    SET_UP = "set-up"
    RELEASE = "release"  # lock off, before a move
    TRIAL_CLEAR = "trial-clear"  # trial round: cutter stopped and clear, lock off
    TRIAL_MOVE = "trial-move"  # a move of the trial round, where nothing is cut
    INDEX = "index"  # the move itself
    AT_PIN = "at-pin"  # gone back to a move that counts as made: a look, and no turn
    FREE = "free"  # lock off again, since the hole was overshot
    BACK_OFF = "back-off"  # half a turn back past the hole
    COME_UP = "come-up"  # up to the hole again in the working direction
    LOCK = "lock"
    LEAVE_OFF = "leave-off"  # the lock stays off: the head is driven in the cut
    CALL = "call"  # lock off, move and lock in one call: three answers a cut, not five
    GUARD = "guard"
    CUT = "cut"
    MEASURE = "measure"  # a size is wanted
    READ_BACK = "read-back"  # the size that was given, read back
    UNDERSIZE = "undersize"  # confirmed, and below the finished size: the person decides
    CLOSING_CHECK = "closing-check"
    SPARE_PASS = "spare-pass"  # nothing is left for the next pass to cut
    FINISHED = "finished"
    PAUSED = "paused"
    CHECK_POSITION = "check-position"
    RECOUNT = "recount"  # the cut that the person says is next, asked back


_PHASES: dict[Step, Phase] = {
    Step.TRIAL_CLEAR: Phase.RELEASE,
    Step.TRIAL_MOVE: Phase.INDEX,
    Step.FREE: Phase.RELEASE,
    Step.AT_PIN: Phase.INDEX,
    Step.BACK_OFF: Phase.INDEX,
    Step.COME_UP: Phase.INDEX,
    Step.LEAVE_OFF: Phase.LOCK,
    Step.CALL: Phase.LOCK,  # the answer that it waits for is that the spindle is locked
    Step.READ_BACK: Phase.MEASURE,
    Step.UNDERSIZE: Phase.MEASURE,
    Step.SPARE_PASS: Phase.CLOSING_CHECK,
    Step.RECOUNT: Phase.CHECK_POSITION,
}
_PHASES |= {step: Phase(step.value) for step in Step if step not in _PHASES}


def phase_of(step: Step) -> Phase:
    """The phase that outside programs see for this step."""
    return _PHASES[step]


# The one spoken command that answers each step's question; a press of the pedal answers too.
ANSWERS: dict[Step, Command] = {
    Step.SET_UP: Command.CHECKED,
    Step.RELEASE: Command.RELEASED,
    Step.TRIAL_CLEAR: Command.RELEASED,
    Step.TRIAL_MOVE: Command.PINNED,
    Step.FREE: Command.RELEASED,
    Step.INDEX: Command.PINNED,
    Step.AT_PIN: Command.PINNED,
    Step.BACK_OFF: Command.BACKED_OFF,
    Step.COME_UP: Command.PINNED,
    Step.LOCK: Command.LOCKED,
    Step.LEAVE_OFF: Command.RELEASED,
    Step.CALL: Command.LOCKED,
    Step.GUARD: Command.GUARDED,
    Step.CUT: Command.CUT_DONE,
    Step.MEASURE: Command.UNMEASURED,
    Step.READ_BACK: Command.SIZE_RIGHT,
    Step.UNDERSIZE: Command.GO_BACK,  # a press too many asks for the size once more
    Step.CLOSING_CHECK: Command.CLOSED_UP,
    Step.SPARE_PASS: Command.CHECKED,
    Step.PAUSED: Command.CARRY_ON,
    Step.CHECK_POSITION: Command.PLACE_RIGHT,
    Step.RECOUNT: Command.PLACE_RIGHT,
}

# What a person used to five answers a cut may still say in the call: true, and on the way.
ON_THE_WAY: dict[Step, tuple[Command, ...]] = {Step.CALL: (Command.RELEASED, Command.PINNED)}
