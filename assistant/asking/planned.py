"""The plan at the end of the questions: set-up, time, risk, and what is not exact."""

from __future__ import annotations

from collections.abc import Iterator

from assistant.files.settings import Settings
from assistant.job.compiler import Stage, head_of, stages_of
from assistant.job.from_drawer import drawer_lines
from assistant.job.job_file import Job
from assistant.job.job_time import minutes_of
from assistant.job.programme import runs
from assistant.paper.plan_text import chance, title
from assistant.words.language import say
from assistant.words.moves import move_figures

_MOST_MOVES = 4


def plan_of(job: Job, settings: Settings | None = None) -> list[str]:
    """In lines, with what the drawer of the settings has or lacks. Raises Refusal, JobFaults or
    Refused where the job can't be done."""
    stages = stages_of(job, head_of(job))
    drawer = drawer_lines(job, settings, stages) if settings else []
    return [*_lines(job, stages), *_looks(stages), *(_row(say("drawer"), each) for each in drawer)]


def _lines(job: Job, stages: tuple[Stage, ...]) -> Iterator[str]:
    for stage in stages:
        if stage.name and len(stages) > 1:
            yield f"  {stage.name}"
        yield _row(say("set-up"), f"{title(stage.setup)}: {stage.setup.why}")
        for move, times in runs(stage.programme.moves)[:_MOST_MOVES]:
            yield _row(say("move"), f"{times} x {move_figures(move)}")
        if stage.depths and all(stage.depths):
            depths = [f"{float(each.depth):g} mm" for each in stage.passes if each.depth]
            yield _row(say("depth"), ", ".join(depths))
        yield _row(say("cuts"), f"{stage.programme.cuts} x {stage.programme.passes}")
    if job.batch > 1:
        yield _row(say("batch"), say("{n} parts, one after the other", n=job.batch))
    minutes = minutes_of(job, stages)
    known = say("not known") if minutes is None else say("about {n} minutes", n=round(minutes))
    if minutes is not None and job.batch > 1:
        known = say("about {n} minutes for each part", n=round(minutes))
    yield _row(say("time"), known)
    yield _row(say("risk"), _risk(stages))


def _risk(stages: tuple[Stage, ...]) -> str:
    slips = [stage.setup.reckoning.slips for stage in stages if stage.setup.reckoning]
    if not slips:
        return say("not known")
    return say("{chance} that a slip spoils the blank", chance=chance(max(slips)))


def _looks(stages: tuple[Stage, ...]) -> Iterator[str]:
    """What is not exact, and what was questioned."""
    off = [stage.setup.worst_error_arcsec for stage in stages if not stage.setup.exact]
    told = say("at most {n} arc-seconds off", n=f"{max(off):.1f}") if off else say("nothing")
    yield _row(say("not exact"), told)
    parts = {id(stage.part): stage.part for stage in stages}.values()
    yield from (_row(say("look"), warning.text) for part in parts for warning in part.warnings)


def _row(name: str, text: str) -> str:
    return f"  {name:<12} {text}"
