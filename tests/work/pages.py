"""Reads the pages on the kinds of work: their job, its sheet, and their tables of answers."""

from __future__ import annotations

import re
from pathlib import Path
from typing import NamedTuple

from assistant.job.compiler import head_of, stages_of
from assistant.job.job_file import JobFaults, job_from_text
from tests.commands import ROOT

PAGES = sorted((ROOT / "docs" / "work").glob("*.md"))
_ROW = re.compile(r"^\| `(?P<change>.+?)` \| (?P<verdict>refused|questioned) \| (?P<words>.+?) \|$")


class Row(NamedTuple):
    """`change` is what is written into the page's job instead: keys, divided by "; "."""

    change: str
    verdict: str
    words: str


class Page(NamedTuple):
    job: str
    sheet: tuple[str, ...]
    rows: tuple[Row, ...]


def read(path: Path) -> Page:
    text = path.read_text("utf-8")
    job = re.search(r"```toml\n(.*?)```", text, re.DOTALL)
    shown = re.search(r"```text\n(.*?)```", text, re.DOTALL)
    found = (_ROW.match(line) for line in text.splitlines())
    return Page(
        job.group(1) if job else "",
        tuple(shown.group(1).splitlines()) if shown else (),
        tuple(Row(*match.group("change", "verdict", "words")) for match in found if match),
    )


def changed(job: str, change: str) -> str:
    """The job with each key of `change` given that value; "no KEY" takes it out."""
    for part in change.split("; "):
        if part.startswith("no "):
            job = re.sub(rf"(?m)^{part[3:]} = .*\n", "", job)
            continue
        key = part.split(" = ")[0]
        line = re.compile(rf"(?m)^{re.escape(key)} = .*$")
        if line.search(job):
            job = line.sub(lambda _, part=part: part, job, count=1)
        else:
            job = re.sub(r"(?m)^(kind = .*)$", lambda m, part=part: f"{m[1]}\n{part}", job, count=1)
    return job


def answers(job: str) -> list[tuple[str, str]]:
    """(verdict, words) of every refusal and question that this job gets."""
    try:
        checked = job_from_text(job, "job.toml")
        stages = stages_of(checked, head_of(checked))
    except JobFaults as faults:
        return [("refused", re.sub(r"^job\.toml line \d+: ", "", each)) for each in faults.faults]
    parts = {id(stage.part): stage.part for stage in stages}.values()
    return [("questioned", warning.text) for part in parts for warning in part.warnings]
