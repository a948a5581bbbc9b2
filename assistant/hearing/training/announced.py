"""What the program itself says over the jobs that come with it, written down for training:
`python -m assistant.hearing.training.announced`."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import suppress
from dataclasses import replace
from pathlib import Path

from assistant.engine import wording
from assistant.engine.phases import Step
from assistant.engine.state import State
from assistant.errors import Refusal
from assistant.files.places import config_folder
from assistant.job.compiler import head_of, programme_of, setups_of
from assistant.job.job_file import read_job
from assistant.job.programme import Programme

FILE = Path(__file__).parent / "announced.txt"


def announced() -> list[str]:
    """Every sentence, in alphabetical order."""
    return sorted({piece for text in _announced() for piece in _sentences(text)})


def _announced() -> Iterator[str]:
    yield wording.SAFETY
    for file in sorted((config_folder() / "jobs").glob("*.toml")):
        with suppress(Refusal):  # a job that a session can't talk through has nothing to say
            yield from _over_job(file)


def _over_job(file: Path) -> Iterator[str]:
    job = read_job(file)
    head = head_of(job)
    programme = programme_of(job, head, setups_of(job, head)[0])
    yield wording.greeting(programme)
    for step in Step:
        for done in range(0, programme.cuts - 1, 3):
            state = State(step, place=done + 1, settled=done, done=done)
            yield from _at(programme, state, step in (Step.MEASURE, Step.READ_BACK))


def _at(programme: Programme, state: State, sizes: bool) -> Iterator[str]:
    measured = range(len(programme.measurements)) if sizes else (0,)
    for number in measured:
        asked = replace(state, measured=number, size="12.5" if sizes else "")
        for answer in (
            wording.question,
            wording.where_it_stands,
            wording.what_next,
            wording.not_now,
        ):
            yield answer(programme, asked)


def _sentences(text: str) -> list[str]:
    return [s.strip() for s in text.replace("?", ".").split(".") if len(s.split()) > 1]


if __name__ == "__main__":
    FILE.write_text("\n".join(announced()) + "\n", "utf-8")
