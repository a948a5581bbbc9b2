"""Jobs made into sheets, and what is printed on them read back as numbers."""

from __future__ import annotations

import re
from fractions import Fraction

from assistant.job.compiler import Stage, head_of, stages_of
from assistant.job.job_file import job_from_text
from assistant.paper.sheet_page import Layout, layout_for, sheet_document


def made(text: str) -> tuple[Stage, ...]:
    job = job_from_text(text, "mill.toml")
    return stages_of(job, head_of(job))


def divisions(count: int, head: str = "three-plate-40", title: str = "Count wheel") -> str:
    return f'title = "{title}"\nhead = "{head}"\n[work]\nkind = "divisions"\ncount = {count}\n'


def html(text: str, paper: str = "a4", layout: Layout | None = None) -> str:
    job = job_from_text(text, "mill.toml")
    head = head_of(job)
    stages = stages_of(job, head)
    return sheet_document(
        job, head, stages, paper, [layout or layout_for(stage) for stage in stages]
    )


def angle(text: str) -> Fraction:
    """The turns that `12°34'5.6"` stands for."""
    found = re.fullmatch(r"(\d+)°(?:(\d+)')?(?:([\d.]+)\")?", text)
    assert found, text
    degrees, minutes, seconds = (Fraction(part or 0) for part in found.groups())
    return (degrees + minutes / 60 + seconds / 3600) / 360


def turns(move: str) -> Fraction:
    """The turns of the crank that `4 + 8/18` stands for."""
    return sum((Fraction(part) for part in move.split(" + ")), Fraction(0))
