"""How long a job will take, before the first cut tells."""

from __future__ import annotations

from fractions import Fraction

from assistant.job import feeds
from assistant.job.compiler import Stage
from assistant.job.job_file import Job


def minutes_of(job: Job, stages: tuple[Stage, ...]) -> Fraction | None:
    """Time at the machine, in minutes; None where a stage's is not known."""
    each = [minutes_of_cut(job, stage) for stage in stages]
    total = Fraction(0)
    for minutes, stage in zip(each, stages, strict=True):
        if minutes is None:
            return None
        total += minutes * stage.programme.cuts * stage.programme.passes
    return total


def minutes_of_cut(job: Job, stage: Stage) -> Fraction | None:
    """From the job's minutes_per_cut, else from length of cut and feed; None without either."""
    if stage.work.minutes_per_cut is not None:
        return stage.work.minutes_per_cut
    cutter = job.cutter
    found = feeds.feeds(job.material, cutter, job.machine)
    if found is None:
        return None
    depth = stage.passes[-1].depth
    guess = feeds.minutes_by_feed(stage.work.cut_length, depth, cutter, found.advised_feed)
    return None if guess is None else Fraction(guess).limit_denominator(1000)
