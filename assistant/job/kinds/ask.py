"""What is asked of several kinds, and short ways to write a question."""

from __future__ import annotations

from assistant.job.question import Form, Question
from assistant.words.choice import Choice
from assistant.words.language import mark


def whole(key: str, ask: str, means: str, default: str = "") -> Question:
    """A question for a whole number, with what it means; `default` is offered."""
    return Question("work", key, ask, means, Form.WHOLE, default=lambda _: default)


def length(key: str, ask: str, means: str, needed: bool = True) -> Question:
    """A question for a length in the job's lengths; not `needed`: it may be left open."""
    return Question("work", key, ask, means, Form.LENGTH, needed=needed)


def angle_question(key: str, ask: str, means: str, default: str = "") -> Question:
    """A question for an angle in degrees; `default` is offered."""
    return Question("work", key, ask, means, Form.ANGLE, default=lambda _: default)


PASSES = Question(
    "work", "passes", mark("In how many passes?"),
    mark("Times round the work: two, where the last is to be a light one by the size measured."),
    Form.WHOLE, default=lambda _: "1",
)  # fmt: skip
FINISH = Question(
    "work", "finish", mark("How much is left for the last pass?"),
    mark("On the depth. Custom leaves a quarter of a millimetre, or ten thou."), Form.LENGTH,
    default=lambda a: "0.25 mm" if a.unit == "mm" else "10 thou",
    when=lambda a: (a.whole("passes") or 1) > 1,
)  # fmt: skip
HANDS = (Choice("right", mark("right hand")), Choice("left", mark("left hand")))
TABLE_SCREW = Question(
    "machine", "table_screw", mark("Lead of the table screw?"),
    mark("How far one turn of its handle moves the table."), Form.LENGTH,
    default=lambda a: "5 mm" if a.unit == "mm" else "1/4 in",
)  # fmt: skip
