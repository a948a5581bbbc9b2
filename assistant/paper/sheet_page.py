"""The job sheet as HTML, the same for the screen, the printer and the PDF."""

from __future__ import annotations

import base64
import time
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from html import escape
from importlib.resources import files
from pathlib import Path
from typing import NamedTuple

from assistant.drawing import ink, outline, plate
from assistant.engine.calling import by_handwheel
from assistant.engine.phases import Step
from assistant.engine.presenting import plate_sight
from assistant.engine.state import State
from assistant.job.compiler import Stage
from assistant.job.job_file import Job
from assistant.paper import sheet_facts
from assistant.paper.papers import PAPERS
from assistant.paper.position_rows import PositionRow, position_rows
from solver import Head

LONGEST_OF_THREE = 25  # letters of a name that three columns have room for


@dataclass(frozen=True, slots=True)
class Layout:
    """How a stage's table is set: `columns` side by side, `rows` at most in each on its page.

    `labelled`: columns where the cuts have names. `apart`: the table has pages of its own
    after the set-up.
    """

    name: str
    columns: int
    labelled: int
    rows: int
    apart: bool = False


# From the most comfortable to the one that always does. Rows are what a page at most takes.
LAYOUTS = (
    Layout("roomy", 2, 2, 34),
    Layout("close", 3, 2, 52),
    Layout("tight", 3, 3, 60),
    Layout("apart", 3, 2, 66, apart=True),
)


def sheet_document(
    job: Job, head: Head, stages: Sequence[Stage], paper: str, layouts: Sequence[Layout]
) -> str:
    """A sheet for each stage of the job, with a layout for each; the text is the whole HTML."""
    style = files("assistant.paper").joinpath("sheet.css").read_text("utf-8")
    sheets = [
        _stage(job, head, stage, f"{n} of {len(stages)}", layout)
        for n, (stage, layout) in enumerate(zip(stages, layouts, strict=True), 1)
    ]
    return (
        '<!doctype html>\n<html lang="en">\n<head>\n<meta charset="utf-8">\n'
        '<meta name="viewport" content="width=device-width, initial-scale=1">\n'
        f"<title>{escape(job.title)}: job sheet</title>\n"
        f"<style>\n@page {{ size: {PAPERS[paper]}; }}\n{style}</style>\n</head>\n<body>\n"
        + "\n".join(sheets)
        + "\n</body>\n</html>\n"
    )


def layout_for(stage: Stage) -> Layout:
    """The layout by the count of rows alone, where nothing can be measured."""
    count = stage.programme.cuts + stage.closed
    return next((each for each in LAYOUTS if count <= each.columns * each.rows), LAYOUTS[-1])


def _stage(job: Job, head: Head, stage: Stage, number: str, layout: Layout) -> str:
    name = f": {stage.name}" if stage.name else ""
    set_up = [
        f"<header><h1>{escape(job.title + name)}</h1>{_title_block(job, number)}</header>",
        _set_up(job, head, stage),
        _figures(sheet_facts.figure_facts(stage)),
        f"<h2>Set up, in this order</h2>{_checklist(stage.programme.checklist)}",
        *_again(stage),
        *_measure(stage),
    ]
    ending = [_safety(stage), _signatures()]
    tables = _tables(stage, layout)
    parts = [*set_up, *ending, *tables] if layout.apart else [*set_up, *tables, *ending]
    return f'<article class="sheet {layout.name}">\n' + "\n".join(parts) + "\n</article>"


def _set_up(job: Job, head: Head, stage: Stage) -> str:
    found = _facts(sheet_facts.set_up(job, head, stage))
    return f'<div class="set-up">{found}{_drawings(job, stage)}</div>'


def _again(stage: Stage) -> Iterable[str]:
    """Of a batch: what is set up for each part after the first."""
    programme = stage.programme
    if programme.parts > 1 and programme.checklist_again:
        yield f"<h2>For each of the {programme.parts - 1} parts after the first</h2>"
        yield _checklist(programme.checklist_again)


def _title_block(job: Job, number: str) -> str:
    cells = [
        ("Job file", Path(job.where).name),
        ("Head", job.head),
        ("Sheet", number),
        ("Made", time.strftime("%Y-%m-%d")),
    ]
    return '<dl class="block">' + "".join(
        f"<div><dt>{name}</dt><dd>{escape(value)}</dd></div>" for name, value in cells
    ) + "</dl>"  # fmt: skip


def _facts(found: Iterable[sheet_facts.Fact]) -> str:
    lines = "".join(f"<tr><th>{escape(n)}</th><td>{escape(v)}</td></tr>" for n, v in found)
    return f'<table class="facts">{lines}</table>'


def _figures(found: Iterable[sheet_facts.Fact]) -> str:
    lines = "".join(f"<p>{escape(n)} <b>{escape(v)}</b></p>" for n, v in found)
    return f'<div class="figures">{lines}</div>' if lines else ""


def _drawings(job: Job, stage: Stage) -> str:
    drawn = [_plate(stage), _part(job, stage)]
    return f'<div class="drawings">{"".join(drawn)}</div>'


def _plate(stage: Stage) -> str:
    """The plate as it stands for the first move: arms set, holes to count, next hole."""
    sight = plate_sight(stage.programme, State(step=Step.INDEX, place=1, settled=0))
    marks = [*plate.base(sight), *plate.overlay(sight)]
    words = plate.caption(sight)
    picture = ink.plate_svg(marks, plate.SIZE, words, paper=True)
    return f"<figure>{_image(picture, words)}<figcaption>{escape(words)}</figcaption></figure>"


def _part(job: Job, stage: Stage) -> str:
    picture = stage.programme.drawing
    if picture is None:
        return ""
    way = "from the first line on" if stage.part.along else "first cut at the top, then clockwise"
    words = f"{stage.work.kind}: {way}; cut 1 is marked"
    drawn = outline.part_svg(picture, 0, title=job.title)
    return f"<figure>{_image(drawn, words)}<figcaption>{escape(words)}</figcaption></figure>"


def _image(picture: str, words: str) -> str:
    """As an image each drawing keeps its own style sheet to itself."""
    data = base64.b64encode(picture.encode("utf-8")).decode("ascii")
    return f'<img alt="{escape(words)}" src="data:image/svg+xml;base64,{data}">'


def _checklist(items: Iterable[str]) -> str:
    lines = "".join(f'<li><span class="box"></span>{escape(item)}</li>' for item in items)
    return f'<ol class="checklist">{lines}</ol>'


def _measure(stage: Stage) -> list[str]:
    found = list(sheet_facts.measurements(stage))
    if not found:
        return []
    lines = "".join(
        f'<li>{escape(line)} <span class="write"></span></li>' for line in found
    )  # fmt: skip
    return [f'<h2>Measure</h2><ul class="measure">{lines}</ul>']


# --- the table of positions -------------------------------------------------------------


def _tables(stage: Stage, layout: Layout) -> list[str]:
    """Columns side by side, each with its own headings, on as many pages as it takes."""
    table = position_rows(stage)
    label = max(len(row.label) for row in table)
    columns = min(layout.labelled if label else layout.columns, -(-len(table) // 8))
    if label > LONGEST_OF_THREE:
        columns = min(columns, 2)
    page = columns * layout.rows if layout.apart else len(table)
    shared = [table[n : n + page] for n in range(0, len(table), page)]
    kind = "apart" if layout.apart else "here"
    return [
        f'<section class="{kind}"><h2>Positions</h2><div class="columns">'
        f"{_columns(stage, part, columns, bool(label))}</div></section>"
        for part in shared
    ]


def _columns(stage: Stage, table: list[PositionRow], columns: int, labelled: bool) -> str:
    high = -(-len(table) // columns)
    programme = stage.programme
    shown = SheetColumns(
        labelled, bool(programme.scale_degrees), not stage.setup.exact,
        "Dial" if by_handwheel(programme) else "Face" if programme.moves[0].block else "Hole",
    )  # fmt: skip
    return "".join(
        _table(table[n : n + high], shown, stage.programme.passes)
        for n in range(0, len(table), high)
    )


class SheetColumns(NamedTuple):
    """The columns that this job needs besides those that every job has."""

    labels: bool
    scale: bool
    errors: bool
    where: str


def _table(part: list[PositionRow], shown: SheetColumns, passes: int) -> str:
    names = ("Cut", "Called", "Angle", "Move", shown.where, "Scale", "Off (″)", "Made")
    wanted = (True, shown.labels, True, True, True, shown.scale, shown.errors, True)
    head = "".join(f"<th>{name}</th>" for name, used in zip(names, wanted, strict=True) if used)
    boxes = '<span class="box"></span>' * passes
    lines = []
    for row in part:
        texts = (row.cut, row.label, row.angle, row.move, row.hole, row.scale, row.error)
        cells = map(escape, texts)
        made = "" if row.cut == "back" else boxes
        used = [cell for cell, used in zip((*cells, made), wanted, strict=True) if used]
        lines.append("<tr>" + "".join(f"<td>{cell}</td>" for cell in used) + "</tr>")
    look = "positions labelled" if shown.labels else "positions"
    return (
        f'<table class="{look}"><thead><tr>{head}</tr></thead><tbody>{"".join(lines)}'
        "</tbody></table>"
    )


def _safety(stage: Stage) -> str:
    lines = [*sheet_facts.warnings(stage), *sheet_facts.habits(stage), *sheet_facts.SAFETY]
    first, *rest = (escape(line) for line in lines)
    return f'<section class="safety"><p><b>{first}</b> {" ".join(rest)}</p></section>'


def _signatures() -> str:
    names = ("Set up by", "Checked by", "Finished by", "Date")
    return '<section class="signatures">' + "".join(
        f"<p><span></span>{name}</p>" for name in names
    ) + "</section>"  # fmt: skip
