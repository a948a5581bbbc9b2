"""Which head a job is worked out for: its own, another that was named, or the person's."""

from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path

from assistant.errors import Refusal, WrongUse
from assistant.files.places import head_path
from assistant.job.job_file import Job
from assistant.job.programme import Programme
from solver import Head, Refused, load_head


def on_head(job: Job, name: str) -> Job:
    """The job for another head, by name or file: worked out anew, and kept so in the log.

    `fitted` is dropped: it names a plate of the head that the job was written for.
    Raises WrongUse for an unknown head.
    """
    path = head_path(name)
    head = str(Path(path).resolve()) if name.endswith(".toml") else name
    text = re.sub(r"(?m)^(\s*head\s*=\s*).*$", lambda m: f'{m[1]}"{head}"', job.text, count=1)
    text = re.sub(r"(?m)^\s*fitted\s*=.*$", "", text, count=1)
    return replace(job, head=head, fitted=None, text=text)


def with_other_head(programme: Programme, head: Head, own: str) -> Programme:
    """The programme, its greeting naming the head where it is not the one of the settings."""
    if not own:
        return programme
    try:
        mine = load_head(head_path(own))
    except (Refused, Refusal, WrongUse):
        return programme  # doctor tells of a head that can't be read
    if mine == head:
        return programme
    return replace(programme, other_head=head.describe or head.name)
