"""What is asked of every plate cam that rises evenly, milled by a lead or in steps."""

from __future__ import annotations

from assistant.job.kinds import ask
from assistant.job.question import Form, Question
from assistant.words.choice import Choice
from assistant.words.language import mark


def cam_questions(lobes: str) -> tuple[Question, ...]:
    """From the lobes, of which `lobes` are offered, to the way round in which one rises."""
    return (
        ask.whole("lobes", mark("How many lobes?"), mark("All the way round, all alike."), lobes),
        ask.length("outside", mark("Diameter over the points?"), mark("As the blank is turned.")),
        ask.length(
            "rise", mark("How far does a lobe rise?"), mark("From its low place to its point.")
        ),
        ask.angle_question(
            "over", mark("Over which angle does it rise?"), mark("What is left is for the drop.")
        ),
        Question(
            "work",
            "rises",
            mark("Which way round does it rise?"),
            mark("As you look at its face, from a low place to the point."),
            Form.CHOICE,
            (
                Choice("clockwise", mark("clockwise")),
                Choice("anticlockwise", mark("anticlockwise")),
            ),
            lambda _: "clockwise",
        ),
    )
