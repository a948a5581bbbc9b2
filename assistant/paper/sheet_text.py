"""The written sheet of a job: everything that the machinist needs at the machine, in lines."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from itertools import groupby

from assistant.job import feeds
from assistant.job.compiler import Stage
from assistant.job.job_file import Job
from assistant.job.job_time import minutes_of, minutes_of_cut
from assistant.job.part import Part
from assistant.job.programme import runs
from assistant.words.moves import move_figures
from assistant.words.plain_text import plain
from solver import Head

_NO_DEPTH = 'not given (depth = "4.3 mm")'
_MOST_MOVES = 24
_MOST_LABELS = 12


def sheet_lines(job: Job, head: Head, stages: tuple[Stage, ...]) -> list[str]:
    """The job in plain lines."""
    lines = [plain(job.title), f"  head     {head.name}: {head.describe}"]
    for _, group in groupby(stages, key=lambda stage: id(stage.part)):
        lines += _work(job, list(group), len(job.works) > 1)
    return [*lines, *_batch(job, stages), *_feeds(job), f"  time     {_time(job, stages)}"]


def _batch(job: Job, stages: tuple[Stage, ...]) -> Iterator[str]:
    """How many parts, and what is set up again for each."""
    if job.batch == 1:
        return
    yield f"  batch    {job.batch} parts"
    yield "  set up for each part after the first"
    items = stages[0].programme.checklist_again
    yield from (f"    {n}. {item}" for n, item in enumerate(items, 1))


def _work(job: Job, stages: list[Stage], named: bool) -> Iterator[str]:
    part = stages[0].part
    if named:
        yield f"  {stages[0].work.name}: {stages[0].work.kind}"
    elif part.figures:
        yield f"  work     {stages[0].work.kind}"
    yield f"  plan     {part.plan}"
    yield from _figures(part)
    yield from (f"  look     {warning.text}" for warning in part.warnings)
    yield from (f"  measure  {line}" for line in _measure(stages, part))
    for stage in stages:
        yield from _stage(stage, len(stages) > 1)


def _figures(part: Part) -> Iterator[str]:
    wide = max((len(figure.name) for figure in part.figures), default=0)
    for figure in part.figures:
        yield f"    {figure.name:<{wide}}  {figure.shown}"


def _measure(stages: Iterable[Stage], part: Part) -> Iterator[str]:
    for stage in stages:
        for each in stage.measurements:
            cuts = "cut" if each.after == 1 else "cuts"
            when = f"pass {each.pass_number}, after {each.after} {cuts}"
            yield f"{when}: {each.sheet(part.unit)}"


def _stage(stage: Stage, named: bool) -> Iterator[str]:
    programme, setup = stage.programme, stage.setup
    passes = f", {programme.passes} passes" if programme.passes > 1 else ""
    if named and stage.name:
        yield f"  {stage.name}"
    yield f"  set-up   {setup.method}: {setup.why}"
    yield f"  cuts     {programme.cuts}{passes}"
    if not stage.part.figures:
        yield f"  depth    {programme.depth or _NO_DEPTH}"
    if stage.unlocked:
        yield "  lock     the spindle stays UNLOCKED while this cuts"
    yield from _labels(stage)
    yield "  moves"
    yield from _moves(stage)
    if not setup.exact:
        yield f"  error    at most {setup.worst_error_arcsec:.1f} arc-seconds"
    yield "  set up"
    yield from (f"    {n}. {item}" for n, item in enumerate(programme.checklist, 1))


def _labels(stage: Stage) -> Iterator[str]:
    if any(stage.labels):
        shown = ", ".join(stage.labels[:_MOST_LABELS])
        more = len(stage.labels) - _MOST_LABELS
        yield f"  called   {shown}" + (f", and {more} more" if more > 0 else "")


def _moves(stage: Stage) -> Iterator[str]:
    moves = stage.programme.moves if stage.closed else stage.programme.moves[:-1]
    found = runs(moves)
    for move, times in found[:_MOST_MOVES]:
        yield f"    {times:>5} x  {move_figures(move)}"
    if len(found) > _MOST_MOVES:
        yield f"          and {len(found) - _MOST_MOVES} more kinds of move: --json has them all"


def _feeds(job: Job) -> Iterator[str]:
    found = feeds.feeds(job.material, job.cutter, job.machine)
    if found is None:
        return
    for figure in feeds.feed_figures(found, job.unit):
        yield f"  {figure.name:<14} {figure.shown}"


def _time(job: Job, stages: tuple[Stage, ...]) -> str:
    total = minutes_of(job, stages)
    if total is None:
        return "not known (minutes_per_cut = 3)"
    first = minutes_of_cut(job, stages[0])
    each = " for each part" if job.batch > 1 else ""
    return f"about {float(total):.0f} minutes{each}, at {float(first or 0):.3g} a cut"
