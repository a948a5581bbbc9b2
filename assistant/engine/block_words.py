"""What is said where the work is held in a collet block in a vice: no head, no pin, no holes.

Faces are numbered, and each is called by its number: a face that was passed by mistake shows at
the next call. The vice is the spindle lock. Hands go under the cutter to turn a block, so it is
called to be stopped before each move, which on a head it need not be.
"""

from __future__ import annotations

from assistant.engine.phases import Step
from assistant.job.programme import Programme
from assistant.words.language import mark, say
from assistant.words.spoken import number


def by_block(programme: Programme) -> bool:
    """The faces of a collet block index the work."""
    return programme.moves[0].block


def face_number(programme: Programme, place: int) -> int:
    """The face that lies up at this place, the first one 1."""
    faces = programme.moves[0].direct_circle or 1
    return int(programme.positions[place] * faces) + 1


def face_words(programme: Programme, place: int) -> str:
    """The place, by the face that lies up there."""
    return say("face {n} up", n=number(face_number(programme, place)))


def turn_words(programme: Programme, place: int) -> str:
    """The move to this place: the face, and how it is set down."""
    return say("Face {n} up, end to the stop.", n=number(face_number(programme, place)))


def release_asked() -> str:
    """Asked before each move: a hand goes under the cutter."""
    return say("Stop the cutter, then vice open.")


def freed_again() -> str:
    """The same, where a face was passed by mistake."""
    return say("Stop the cutter. Vice open first.")


def tighten() -> str:
    """Asked after each move."""
    return say("Block down hard. Vice tight.")


def vice() -> str:
    """The same within a call of few words."""
    return say("Vice tight.")


AWAITED = {
    Step.TRIAL_CLEAR: mark("the cutter stopped, and the vice open"),
    Step.TRIAL_MOVE: mark("the next face of the trial round"),
    Step.RELEASE: mark("the cutter stopped, and the vice open"),
    Step.FREE: mark("the cutter stopped, and the vice open"),
    Step.INDEX: mark("the called face up, end to the stop"),
    Step.AT_PIN: mark("a look at the block: it is turned"),
    Step.BACK_OFF: mark("the block lifted off its parallel"),
    Step.COME_UP: mark("the called face up, end to the stop"),
    Step.LOCK: mark("the vice tight"),
    Step.CALL: mark("the face, then the vice tight"),
    Step.CLOSING_CHECK: mark("face one up again"),
}
"""What is awaited, in a few words; where a step is not here, as on a head."""
