"""A job from its file to the part: the bar and the cutter of the job file, the head of the shop."""

from __future__ import annotations

import re
import tempfile
import tomllib
from collections.abc import Callable
from fractions import Fraction
from itertools import product
from pathlib import Path
from typing import Any

from tests.kinds import crafts
from tests.machinist.craft import Made
from tests.machinist.drawings import DrawnJob
from tests.machinist.gauges import NotThere, gauge
from tests.machinist.machine import Crash, Machine
from tests.machinist.person import Choices, Person
from tests.machinist.sentences import NotUnderstood
from tests.machinist.talk import Record, Stuck, job_check, rehearse

ROOT = Path(__file__).parents[2]
JOBS = ROOT / "config" / "jobs"


def swapped(path: Path, old: str, new: str) -> str:
    """The text of a job with one line of it written otherwise."""
    text = path.read_text("utf-8")
    assert old in text, f"{path.name} has no {old!r}"
    return text.replace(old, new)


def in_inches(text: str) -> str:
    """Every length of a job, to a tenth of a thou; a tolerance class stays with its size."""
    return re.sub(
        r'"([\d.]+) mm( h\d+)?"',
        lambda each: f'"{float(each[1]) / 25.4:.4f} in{each[2] or ""}"',
        text,
    )


def every_reading(**known: Any) -> list[Choices]:
    """All that a person may take either way where it is not said."""
    return [Choices(side, sense, **known) for side, sense in product((-1, 1), (1, -1))]


def ratio_of(job: DrawnJob) -> Fraction:
    name = str(job.data["head"])
    path = Path(name) if name.endswith(".toml") else ROOT / "config" / "heads" / f"{name}.toml"
    text = path.read_text("utf-8")
    return Fraction(str(tomllib.loads(text).get("worm_ratio", 1)))  # a block has none


def twisted(records: list[Record], twist: Callable[[str], str]) -> list[Record]:
    return [{**each, "said": twist(each["said"])} if "said" in each else each for each in records]


def passing_folder() -> str | None:
    """For journals that nobody keeps: in memory where there is a place for it, since a journal
    waits for the disk after every event."""
    return "/dev/shm" if Path("/dev/shm").is_dir() else None


def make(path: Path, choices: Choices, twist: Callable[[str], str] = str) -> Made:
    """The part made by a literal person from what the session says.

    `twist` alters a sentence on its way to the ear, as a fault in the program would.
    """
    job = DrawnJob(path)
    craft = crafts()[job.kind]
    machine = Machine(craft.cutter(job), craft.blank(job), sense=choices.sense)
    machine.slack = choices.slack
    person = Person(machine, ratio_of(job), choices, gauge, hears=craft.hears)
    person.marks = craft.marks
    craft.begin(job, machine, person)
    if job.has("table_screw", "machine"):
        person.screw = job.mm("table_screw", "machine")
    stopped = ""
    try:
        with tempfile.TemporaryDirectory(dir=passing_folder()) as folder:
            rehearse(path, Path(folder), lambda records: person.answer(twisted(records, twist)))
    except (Crash, NotThere, NotUnderstood, Stuck) as error:
        stopped = f"{type(error).__name__}: {error}"
    return Made(craft, job, machine, person, stopped, job_check(path))
