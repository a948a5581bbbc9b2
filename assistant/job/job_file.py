"""Reads a job file and checks it whole: every fault is found, each with its line and cure."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path
from types import MappingProxyType
from typing import Any

from assistant.errors import Refusal
from assistant.files import file_format, places
from assistant.files.toml_lines import TomlFault, line_of, parse
from assistant.job import blocks
from assistant.job.feeds import CUTTER_MATERIALS, MATERIALS
from assistant.job.kinds.by_name import KINDS
from assistant.job.owned import ALL, Owned
from assistant.job.part import USUAL_SWING, Cutter, Machine
from assistant.job.reader import MOST_CUTS, Fault, Faults, Table, meant
from assistant.job.units import UNITS, Unit
from assistant.job.work import Work
from solver import Millimetres

_TOP = (
    "title", "part", "drawing", "head", "fitted", "blank_minutes", "units", "material", "order",
    "work", "ring", "machine", "cutter", "session", "batch",
)  # fmt: skip
MOST_PARTS = 1000
_EVERY_KIND = ("kind", "name", "minutes_per_cut", "cut_length", "every")
_MACHINE = ("name", "table_screw", "centre_height", "dial", "table_swing", "speeds")
_CUTTER = ("name", "diameter", "width", "teeth", "material", "speed", "chip")


@dataclass(frozen=True, slots=True)
class JobWork:
    """One piece of work of the job; `table` is where it stands in the file."""

    table: str
    kind: str
    name: str
    work: Work
    minutes_per_cut: Fraction | None
    cut_length: Millimetres | None  # mm
    every: int = 1  # spaces from one cut to the next: with more than one the heat does not add up


@dataclass(frozen=True, slots=True)
class Job:
    """A checked job: one work, or several rings. `unit` is what numbers are given out in."""

    title: str
    head: str
    works: tuple[JobWork, ...]
    unit: Unit
    machine: Machine
    cutter: Cutter
    material: str
    fitted: str | None
    free_order: bool
    scale_every: int
    text: str
    where: str
    blank_minutes: Fraction | None = None  # what a spoilt blank costs; None: as usual
    part: str = ""  # the part's number
    drawing: str = ""  # the number of the drawing
    batch: int = 1  # parts that are made one after the other
    owned: Owned = ALL  # what the person has of the head's plates and gears

    @property
    def kind(self) -> str:
        """The kind of its first piece of work."""
        return self.works[0].kind

    def faults(self, table: str, findings: list[tuple[str, str]]) -> JobFaults:
        """What was found only with the head in hand, as faults with their lines. One of the head
        itself stands at the top of the file, where it is named."""
        faults = Faults(self.text, self.where)
        for key, text in findings:
            faults.add("" if key == "head" else table, key, text)
        return JobFaults(faults.in_order(), faults.places)


class JobFaults(Refusal):
    """The file has faults; `faults` holds a line each, "FILE line N: what: cure". `places` are the
    table and the key that each is about, where it is about one."""

    def __init__(
        self, faults: Sequence[str], places: Mapping[str, tuple[str, str]] = MappingProxyType({})
    ) -> None:
        super().__init__(faults[0] + (f" (and {len(faults) - 1} more)" if faults[1:] else ""))
        self.faults = faults
        self.places = places


def read_job(path: Path, units: str = "auto") -> Job:
    """The checked job in a file, or of the program's own jobs by its name.

    `units` hold where the job names none and gives no length: "mm", "in", or "auto" (mm).
    Raises Refusal for a file that can't be read, JobFaults for its faults.
    """
    path = places.job_file(str(path))
    try:
        text = path.read_text("utf-8")
    except FileNotFoundError:
        raise Refusal(
            f"{path}: no such job file", "give the path of a job's TOML file", ": "
        ) from None
    except IsADirectoryError:
        raise Refusal(
            f"{path}: a folder, not a job file", "name the TOML file in it", ": "
        ) from None
    except UnicodeDecodeError:
        raise Refusal(f"{path}: not UTF-8 text", "save the job file as UTF-8", ": ") from None
    except OSError as error:
        raise Refusal(
            f"{path}: can't be read ({error.strerror})", "look at its rights", ": "
        ) from None
    return job_from_text(text, str(path), units)


def job_from_text(text: str, where: str, units: str = "auto") -> Job:
    """The checked job in this text; `where` names it in faults. Raises JobFaults."""
    try:
        data = parse(text)
    except TomlFault as error:
        raise JobFaults([Fault(where, error.line, f"{error}: mend the TOML there")]) from None
    try:
        file_format.take(data)
    except file_format.FormatFault as error:
        line = line_of(text, "", file_format.KEY)
        raise JobFaults([Fault(where, line, str(error))]) from None
    faults = Faults(text, where)
    job = _job(faults, data, units)
    if faults.found:
        raise JobFaults(faults.in_order(), faults.places)
    return job


def _job(faults: Faults, data: dict[str, Any], units: str) -> Job:
    top = Table(faults, "", data)
    top.strangers(_TOP)
    session = _table(top, "session")
    session.strangers(("scale_every",))
    works = _works(top)
    system: Unit = faults.systems[0] if faults.systems else "in" if units == "in" else "mm"
    return Job(
        title=top.words("title"),
        head=top.words("head"),
        works=works,
        unit=top.choice("units", UNITS, system),
        machine=_machine(_table(top, "machine")),
        cutter=_cutter(_table(top, "cutter")),
        material=_material(top),
        fitted=top.words("fitted", "") or None,
        free_order=top.choice("order", ("free", "given"), "free") == "free",
        scale_every=session.whole("scale_every", 0, MOST_CUTS, 0),
        text=faults.text,
        where=faults.where,
        blank_minutes=top.number("blank_minutes", 0, 100_000) if top.has("blank_minutes") else None,
        part=top.words("part", ""),
        drawing=top.words("drawing", ""),
        batch=top.whole("batch", 1, MOST_PARTS, 1),
    )


def _table(top: Table, name: str) -> Table:
    value = top.data.get(name, {})
    if not isinstance(value, dict):
        top.fault(name, f"{name} = {value!r}: write it as a table, [{name}]")
        value = {}
    return Table(top.faults, name, value)


def _works(top: Table) -> tuple[JobWork, ...]:
    if top.has("ring"):
        return _rings(top)
    table = _table(top, "work")
    if not table.data:
        top.fault("work", "[work] is missing: add a table [work] with its kind")
        return ()
    return _work(table, "")


def _rings(top: Table) -> tuple[JobWork, ...]:
    rings = top.data["ring"]
    if top.has("work"):
        top.fault("work", "[work] and [[ring]]: give one work, or rings")
    if not isinstance(rings, list) or not all(isinstance(ring, dict) for ring in rings):
        top.fault("ring", "ring: write each ring as a table of its own, [[ring]]")
        return ()
    tables = [Table(top.faults, f"ring[{n}]", ring) for n, ring in enumerate(rings, 1)]
    found = [_work(table, f"ring {n}") for n, table in enumerate(tables, 1)]
    return tuple(work for one in found for work in one)


def _work(table: Table, name: str) -> tuple[JobWork, ...]:
    """The work in one table; nothing where its kind is not known."""
    kind = table.words("kind")
    if kind not in KINDS:
        if kind:
            cure = meant(kind, KINDS) or f"use one of {', '.join(sorted(KINDS))}"
            table.fault("kind", f"kind {kind!r} is not known: {cure}")
        return ()
    found = KINDS[kind]
    table.strangers((*_EVERY_KIND, *found.keys))
    return (
        JobWork(
            table=table.name,
            kind=kind,
            name=table.words("name", name),
            work=found.read(table),
            minutes_per_cut=_minutes(table),
            cut_length=table.maybe_length("cut_length"),
            every=table.whole("every", 1, blocks.MOST, 1),
        ),
    )


def _minutes(table: Table) -> Fraction | None:
    value = table.data.get("minutes_per_cut")
    if value is None:
        return None
    if isinstance(value, bool) or not isinstance(value, int | float) or not 0 < value <= 600:
        table.fault("minutes_per_cut", f"minutes_per_cut = {value!r}: over 0, to 600")
        return None
    return Fraction(str(value))


def _machine(table: Table) -> Machine:
    table.strangers(_MACHINE)
    return Machine(
        name=table.words("name", ""),
        table_screw=table.maybe_length("table_screw"),
        centre_height=table.maybe_length("centre_height"),
        dial=table.maybe_length("dial"),
        table_swing_degrees=table.degrees("table_swing", USUAL_SWING),
        speeds=_speeds(table),
    )


def _speeds(table: Table) -> tuple[int, ...]:
    value = table.data.get("speeds", [])
    good = isinstance(value, list) and all(type(each) is int and each > 0 for each in value)
    if not good:
        table.fault("speeds", "speeds: list the spindle's turns a minute, like [60, 95, 150]")
        return ()
    return tuple(value)


def _cutter(table: Table) -> Cutter:
    table.strangers(_CUTTER)
    return Cutter(
        diameter=table.maybe_length("diameter"),
        width=table.maybe_length("width"),
        teeth=table.whole("teeth", 1, 200) if table.has("teeth") else None,
        material=table.choice("material", tuple(CUTTER_MATERIALS), "hss"),
        speed=table.number("speed", 1, 1000) if table.has("speed") else None,
        chip=table.number("chip", 0.001, 2) if table.has("chip") else None,
        name=table.words("name", ""),
    )


def _material(top: Table) -> str:
    return top.choice("material", tuple(MATERIALS), "mild-steel") if top.has("material") else ""
