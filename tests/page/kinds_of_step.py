"""A view of every kind of step, from real jobs: what the eyes' tests and pictures look at."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from functools import cache

from assistant.bench.session import view_of
from assistant.engine import wording
from assistant.engine.phases import Step
from assistant.engine.state import State
from assistant.engine.view import LastInput, Verdict, View
from assistant.job.compiler import head_of, stages_of
from assistant.job.job_file import read_job
from assistant.job.programme import Programme
from tests.commands import JOBS

# name: job of config/jobs, state of the session
_STEPS: dict[str, tuple[str, State]] = {
    "set-up, first item": ("pinion", State()),
    "set-up, the arms": ("pinion", State(item=-1)),
    "lock, first cut": ("pinion", State(step=Step.LOCK)),
    "lock, after a move": ("pinion", State(step=Step.LOCK, place=2, settled=2, done=2)),
    "guard": ("pinion", State(step=Step.GUARD, place=2, settled=2, done=2, locked=True)),
    "cut": (
        "pinion",
        State(step=Step.CUT, place=2, settled=2, done=2, locked=True, guarded=True),
    ),
    "lock off": ("pinion", State(step=Step.RELEASE, place=2, settled=2, done=3, locked=True)),
    "the move": ("pinion", State(step=Step.INDEX, place=3, settled=2, done=3)),
    "the call": ("pinion", State(step=Step.CALL, place=3, settled=2, done=3)),
    "half a turn back": ("pinion", State(step=Step.BACK_OFF, place=3, settled=2, done=3)),
    "closing check": ("pinion", State(step=Step.CLOSING_CHECK, place=21, settled=21, done=21)),
    "finished": ("pinion", State(step=Step.FINISHED, place=21, settled=21, done=21)),
    "paused": (
        "pinion",
        State(step=Step.PAUSED, back_to=Step.LOCK, place=2, settled=2, done=2),
    ),
    "check place": ("pinion", State(step=Step.CHECK_POSITION, place=2, settled=2, done=2)),
    "a line's move": ("press-collar", State(step=Step.INDEX, place=15, settled=14, done=15)),
    "a line's guard": (
        "press-collar",
        State(step=Step.GUARD, place=15, settled=15, done=15, locked=True),
    ),
    "a line": (
        "press-collar",
        State(step=Step.CUT, place=15, settled=15, done=15, locked=True, guarded=True),
    ),
    "measure": ("hexagon-plug", State(step=Step.MEASURE, place=3, settled=3, done=4, locked=True)),
    "size read back": (
        "hexagon-plug",
        State(step=Step.READ_BACK, place=3, settled=3, done=4, locked=True, size="24.48"),
    ),
    "too small": (
        "hexagon-plug",
        State(step=Step.UNDERSIZE, place=3, settled=3, done=4, locked=True, size="23.48"),
    ),
    "leave the lock off": ("pump-helical", State(step=Step.LEAVE_OFF, place=2, settled=2, done=2)),
}  # fmt: skip
KINDS = tuple(_STEPS)


@cache
def programme(name: str) -> Programme:
    job = read_job(JOBS / f"{name}.toml")
    stage = stages_of(job, head_of(job))[0]
    return replace(stage.programme, labels=stage.labels if any(stage.labels) else ())


PRESSED = LastInput("pedal: press, taken", Verdict.TAKEN)


def view(kind: str, heard: LastInput = PRESSED) -> View:
    """The view of that kind of step, as the bench shows it."""
    job, state = _STEPS[kind]
    work = programme(job)
    if state.item < 0:
        state = replace(state, item=_arms_item(work))
    return view_of(work, state, wording.question(work, state), heard)


def _arms_item(work: Programme) -> int:
    return next(n for n, item in enumerate(work.checklist) if "arm" in item)


def views() -> Iterator[tuple[str, View]]:
    for kind in KINDS:
        yield kind, view(kind)
