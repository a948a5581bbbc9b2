"""Who made what on which machine, and how it was indexed: the head of a report, from the journal
alone. What was not given says so: a blank in a record is a question later.
"""

from __future__ import annotations

import tomllib
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from assistant.job.programme import Programme
from assistant.job.units import shown
from assistant.paper.history import Account
from assistant.words.language import on_paper, say

ReportLine = tuple[str, str]


@dataclass(frozen=True, slots=True)
class Names:
    """What the job file and the session say about part, drawing, person and machine; "" where
    they say nothing."""

    part: str = ""
    drawing: str = ""
    material: str = ""
    operator: str = ""
    machine: str = ""


def session_names(about: dict[str, str]) -> Names:
    """From the session's own rows: those of a journal of an earlier form hold less."""
    top = _top(about.get("job", ""))
    machine = top.get("machine")
    own = machine.get("name", "") if isinstance(machine, dict) else ""
    return Names(
        part=_text(top.get("part")),
        drawing=_text(top.get("drawing")),
        material=_text(top.get("material")).replace("-", " "),
        operator=about.get("operator", ""),
        machine=_text(own) or about.get("machine", ""),
    )


def _top(text: str) -> dict[str, Any]:
    try:
        return tomllib.loads(text)
    except (tomllib.TOMLDecodeError, ValueError, RecursionError):
        return {}


def _text(value: object) -> str:
    return value if isinstance(value, str) else ""


def report_lines(told: Account) -> Iterator[ReportLine]:
    """Name and value, in the order in which they are looked for."""
    found = session_names(told.reading.about)
    job = told.reading.programme
    open_ = say("not given")
    yield say("Part number"), found.part or open_
    yield say("Drawing"), found.drawing or open_
    yield say("Operator"), found.operator or open_
    yield say("Machine"), found.machine or open_
    yield say("Material"), found.material or open_
    yield say("Dividing head"), job.head
    yield from _indexing(job)
    yield say("Journal"), told.reading.path.name
    yield say("Last link of its chain"), told.reading.last_link[:12] or say("none")


def _indexing(job: Programme) -> Iterator[ReportLine]:
    """Of every stage: plate, circles, gears, depths."""
    for number in range(job.stages):
        stage = job.stage(number)
        name = f"{stage.name}: " if job.stages > 1 and stage.name else ""
        yield name + say("Indexing"), stage.method
        yield name + say("Plate"), stage.plate or say("none")
        yield name + say("Circle"), circles(stage) or say("none")
        if stage.gears:
            yield name + say("Change gears"), stage.gears
        yield name + say("Depth dial"), depths(stage) or say("not given")


def circles(stage: Programme) -> str:
    """ "27", "49 and 37", "direct 24"."""
    found: list[str] = []
    for move in stage.moves:
        direct = [say("direct {n}", n=move.direct_circle)] if move.direct_circle else []
        if move.block:
            direct = [say("block of {n} faces", n=move.direct_circle)]
        plain = [str(circle) for circle in (move.circle, move.plate_circle) if circle]
        found += [each for each in (*direct, *plain) if each not in found]
    return ", ".join(found)


def depths(stage: Programme) -> str:
    """What the dial was set to, pass by pass."""
    with on_paper():
        if stage.depths_mm:
            return ", ".join(shown(depth, stage.unit) for depth in stage.depths_mm)
        return stage.depth
