"""A view of every kind of step, from real jobs: what the eyes' tests and pictures look at."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace
from functools import cache

from assistant.bench import language_files
from assistant.bench.session import view_of
from assistant.engine import wording
from assistant.engine.events import Device
from assistant.engine.phases import Step
from assistant.engine.state import State
from assistant.engine.view import LastInput, Verdict, View
from assistant.job.compiler import head_of, stages_of
from assistant.job.job_file import read_job
from assistant.job.programme import Programme
from assistant.words.language import say, speaking
from tests.commands import JOBS

# name: job of config/jobs, state of the session
_STEPS: dict[str, tuple[str, State]] = {
    "set-up, first item": ("pinion", State()),
    "set-up, the plate": ("pinion", State(item=4)),
    "set-up, the arms": ("pinion", State(item=-1)),
    "set-up, the longest item": ("pump-helical", State(item=7)),
    "trial round offered": ("hexagon-plug", State(item=9)),
    "trial, cutter clear": ("press-collar", State(step=Step.TRIAL_CLEAR, trial=True)),
    "trial, a move": (
        "press-collar",
        State(step=Step.TRIAL_MOVE, trial=True, place=15, settled=14),
    ),
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
    "gone back to a move": ("pinion", State(step=Step.AT_PIN, place=3, settled=2, done=3)),
    "overshot, lock off": (
        "pinion",
        State(step=Step.FREE, place=3, settled=2, done=3, locked=True),
    ),
    "half a turn back": ("pinion", State(step=Step.BACK_OFF, place=3, settled=2, done=3)),
    "up to the hole again": ("pinion", State(step=Step.COME_UP, place=3, settled=2, done=3)),
    "closing check": ("pinion", State(step=Step.CLOSING_CHECK, place=21, settled=21, done=21)),
    "finished": ("pinion", State(step=Step.FINISHED, place=21, settled=21, done=21)),
    "paused": (
        "pinion",
        State(step=Step.PAUSED, back_to=Step.LOCK, place=2, settled=2, done=2),
    ),
    "check place": ("pinion", State(step=Step.CHECK_POSITION, place=2, settled=2, done=2)),
    "which cut is next": (
        "pinion",
        State(step=Step.RECOUNT, place=2, settled=2, done=2, claimed=5),
    ),
    "the next part": (
        "press-pins",
        State(step=Step.CLOSING_CHECK, place=4, settled=4, done=4, measured=1, sizes=("",)),
    ),
    "set-up of the next part": ("press-pins", State(part=2)),
    "pedal away": (
        "pinion",
        State(step=Step.LOCK, place=2, settled=2, done=2, lost=(Device.PEDAL,)),
    ),
    "pedal not believed": ("pinion", State(step=Step.LOCK, place=2, settled=2, done=2)),
    "disk full": (
        "pinion",
        State(step=Step.GUARD, place=2, settled=2, done=2, locked=True),
    ),
    "too loud for the ear": (
        "pinion",
        State(step=Step.LOCK, place=2, settled=2, done=2, too_loud=True),
    ),
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
    "nothing left to cut": (
        "hexagon-plug",
        State(step=Step.SPARE_PASS, place=6, settled=6, done=6, measured=1, size="24"),
    ),
    "a block's move": ("clamp-screw", State(step=Step.INDEX, place=1, settled=0, done=1)),
    "leave the lock off": ("pump-helical", State(step=Step.LEAVE_OFF, place=2, settled=2, done=2)),
}  # fmt: skip
KINDS = tuple(_STEPS)


@cache
def programme(name: str, language: str = "en") -> Programme:
    language_files.load_language(language)
    with speaking(language):
        job = read_job(JOBS / f"{name}.toml")
        stage = stages_of(job, head_of(job))[0]
        return replace(stage.programme, labels=stage.labels if any(stage.labels) else ())


PRESSED = LastInput("pedal: press, taken", Verdict.TAKEN)
_SAID_INSTEAD: dict[str, Callable[[], str]] = {
    "pedal not believed": wording.not_believed,
    "disk full": lambda: wording.cannot_write(programme("pinion"), _STEPS["disk full"][1]),
    "too loud for the ear": lambda: say(wording.TOO_LOUD),
}


def view(kind: str, heard: LastInput = PRESSED, language: str = "en") -> View:
    """The view of that kind of step, as the bench shows it."""
    job, state = _STEPS[kind]
    work = programme(job, language)
    if state.item < 0:
        state = replace(state, item=_arms_item(job))
    with speaking(work.language):
        if kind == "pedal not believed":
            heard = LastInput("pedal: press, refused", Verdict.REFUSED, say(wording.NOT_BELIEVED))
        if kind == "disk full":
            heard = LastInput(
                "disk is full: free some space", Verdict.OTHER, say(wording.UNWRITTEN)
            )
        said = _SAID_INSTEAD.get(kind, lambda: wording.question(work, state))()
    return view_of(work, state, said, heard)


def _arms_item(job: str) -> int:
    return next(n for n, item in enumerate(programme(job).checklist) if "Sector arms" in item)


def views() -> Iterator[tuple[str, View]]:
    for kind in KINDS:
        yield kind, view(kind)
