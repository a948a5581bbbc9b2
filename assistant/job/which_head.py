"""Which head a job is worked out for: its own, another that was named, or the person's."""

from __future__ import annotations

import re
from dataclasses import replace
from fractions import Fraction
from pathlib import Path

from assistant.errors import Refusal, WrongUse
from assistant.files import settings
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


def as_set(job: Job, usual: settings.JobSettings) -> Job:
    """The job with what the settings say and it does not: the plate on their head, what a blank
    costs. Raises Refusal for a plate that their head has not."""
    worth = None if usual.blank_minutes == settings.USUAL_BLANK else Fraction(usual.blank_minutes)
    found = replace(job, blank_minutes=worth) if job.blank_minutes is None else job
    if job.fitted is not None or not usual.fitted or not same_head(job, usual.head):
        return found
    plates = [plate.name for plate in load_head(head_path(usual.head)).plates]
    if usual.fitted not in plates:
        known = ", ".join(plates) or "none"
        raise Refusal(f"settings, [job] fitted = {usual.fitted!r}: {usual.head} has {known}", "")
    return replace(found, fitted=usual.fitted)


def same_head(job: Job, own: str) -> bool:
    """The job's head is the person's own."""
    if not own:
        return False
    beside = Path(job.where).parent / job.head
    try:
        meant = beside if job.head.endswith(".toml") and beside.exists() else head_path(job.head)
        return Path(meant).resolve() == Path(head_path(own)).resolve()
    except WrongUse:
        return False  # told where the head is read


def with_other_head(programme: Programme, head: Head, own: str) -> Programme:
    """The programme, its greeting naming the head where it is not the one of the settings."""
    if not own:
        return programme
    try:
        mine = load_head(head_path(own))
    except (Refused, Refusal, WrongUse):
        return programme  # doctor tells of a head that can't be read
    if _whole(mine) == _whole(head):
        return programme
    return replace(programme, other_head=head.describe or head.name)


def _whole(head: Head) -> Head:
    """Without what the drawer may leave of it."""
    return head._replace(plates=(), change_gears=(), plate_drive="")
