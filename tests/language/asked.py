"""What `job new` speaks in a language: every question of every kind, and how to answer."""

from __future__ import annotations

from assistant.asking import of_every_job
from assistant.job.kinds.by_name import KINDS
from assistant.setup.answers_aloud import how
from assistant.words.language import say, speaking
from tests.engine.everything_said import in_sentences


def questions(language: str) -> list[str]:
    """Sentences, each once."""
    every = [
        *of_every_job.questions_before("mm"),
        *(question for kind in KINDS.values() for question in kind.questions),
        *of_every_job.after("three-plate-40"),
    ]
    with speaking(language):
        return sorted({*in_sentences(how()), *(say(question.ask) for question in every)})
