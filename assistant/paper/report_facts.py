"""Who made what on which machine, and how it was indexed: the head of a report, from the journal
alone. What was not given says so: a blank in a record is a question later.
"""

from __future__ import annotations

import tomllib
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from assistant.engine.block_words import by_block
from assistant.engine.calling import by_handwheel
from assistant.job.kinds.by_name import KINDS
from assistant.job.programme import Programme
from assistant.job.set_up_steps import ANY_PLATE
from assistant.job.units import shown
from assistant.paper.history import Account
from assistant.words.language import mark, on_paper, say
from solver import Millimetres

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
    yield say("Work"), ", ".join(say(title) for title in _titles(told.reading.about)) or open_
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
        yield name + say("Indexing"), _method(stage)
        if by_block(stage) or by_handwheel(stage):
            if by_block(stage):
                yield name + say("Faces of the block"), str(stage.moves[0].direct_circle)
            yield name + say("Depth dial"), depths(stage) or say("not given")
            continue
        any_ = say("any will do") if say(ANY_PLATE) in stage.checklist else ""
        yield name + say("Plate"), any_ or stage.plate or say("none")
        yield name + say("Circle"), any_ or circles(stage) or say("none")
        if stage.gears:
            yield name + say("Change gears"), stage.gears
        yield name + say("Depth dial"), depths(stage) or say("not given")


_METHODS = {
    "direct": mark("direct indexing"), "plain": mark("plain indexing"),
    "compound": mark("compound indexing"), "differential": mark("differential indexing"),
    "nearest": mark("to the nearest"),
}  # fmt: skip


def _method(stage: Programme) -> str:
    if by_block(stage):
        return say("by the faces of the block")
    if by_handwheel(stage):
        return say("by the graduated handwheel")
    return say(_METHODS.get(stage.method, stage.method))


def _titles(about: dict[str, str]) -> list[str]:
    """What each work of the job is called, as it was chosen; a kind that is gone by its name."""
    found = [str(table.get("kind", "")) for _, table in _works(_top(about.get("job", "")))]
    return [KINDS[name].title if name in KINDS else name for name in dict.fromkeys(found) if name]


def _works(top: dict[str, Any]) -> list[tuple[str, dict[str, Any]]]:
    """The name and the table of each work; no name where there is one work alone."""
    rings = top.get("ring")
    if isinstance(rings, list):
        tables = [each for each in rings if isinstance(each, dict)]
        return [(str(each.get("name", n)), each) for n, each in enumerate(tables, 1)]
    work = top.get("work")
    return [("", work)] if isinstance(work, dict) else []


def drawn_lines(about: dict[str, str]) -> Iterator[ReportLine]:
    """Keys and values of the job's file: its work or works, and its cutter. The kind is told
    already."""
    top = _top(about.get("job", ""))
    tables = _works(top)
    if isinstance(cutter := top.get("cutter"), dict):
        tables = [*tables, (say("cutter"), cutter)]
    for name, table in tables:
        for key, value in table.items():
            if key not in ("kind", "name") and not isinstance(value, dict):
                yield f"{name} {key}".strip().replace("_", " "), _value(value)


def _value(value: object) -> str:
    if isinstance(value, list):
        return "; ".join(map(_value, value)) if _tables(value) else ", ".join(map(_value, value))
    if isinstance(value, dict):
        return ", ".join(f"{key} {_value(each)}" for key, each in value.items())
    return say("yes") if value is True else say("no") if value is False else str(value)


def _tables(values: list[Any]) -> bool:
    return any(isinstance(each, dict) for each in values)


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
        if stage.depths_mm and stage.deeper:
            first = stage.depths_mm[0]
            ends = [shown(float(first + each), stage.unit) for each in _ends(stage.deeper)]
            return say("{first} to {last}, as called for each cut", first=ends[0], last=ends[1])
        if stage.depths_mm:
            return ", ".join(shown(depth, stage.unit) for depth in stage.depths_mm)
        return stage.depth


def _ends(deeper: tuple[Millimetres, ...]) -> tuple[Millimetres, Millimetres]:
    return min(deeper), max(deeper)
