"""Which jobs of a log are meant: by words, part, head and days."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path

from assistant.journal.index import Listed


@dataclass(frozen=True, slots=True)
class Search:
    """All that is given must hold. `words` may stand in name, title, part, drawing, head, operator
    or machine; `since` and `until` are days, as 2026-05-02, or the beginning of one."""

    words: Sequence[str] = ()
    part: str = ""
    head: str = ""
    since: str = ""
    until: str = ""

    def __bool__(self) -> bool:
        return bool(self.words or self.part or self.head or self.since or self.until)


def found(jobs: Iterable[Listed], wanted: Search) -> list[Listed]:
    """Those that fit, in the same order; capital letters don't count."""
    words = [word.lower() for word in wanted.words]
    part, head = wanted.part.lower(), wanted.head.lower()
    return [
        job
        for job in jobs
        if _in_time(job, wanted)
        and part in job.part.lower()
        and head in job.head.lower()
        and (not words or _has(job, words))
    ]


def _in_time(job: Listed, wanted: Search) -> bool:
    if wanted.since and job.started < wanted.since:
        return False
    return not wanted.until or job.started[: len(wanted.until)] <= wanted.until


def _has(job: Listed, words: list[str]) -> bool:
    everything = " ".join(
        (Path(job.name).stem, job.title, job.part, job.drawing, job.head, job.operator, job.machine)
    ).lower()
    return all(word in everything for word in words)
