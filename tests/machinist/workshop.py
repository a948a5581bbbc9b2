"""A job from its file to the part: the bar and the cutter of the job file, the head of the shop."""

from __future__ import annotations

import tempfile
import tomllib
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import product
from pathlib import Path
from typing import Any

from tests.machinist import cutters, flutes
from tests.machinist.drawings import DRAWINGS, SAID, Job
from tests.machinist.gauges import NotThere, gauge
from tests.machinist.judging import faults
from tests.machinist.machine import Crash, Machine, round_bar
from tests.machinist.person import Choices, Person
from tests.machinist.sentences import NotUnderstood
from tests.machinist.talk import Stuck, job_check, rehearse

ROOT = Path(__file__).parents[2]
JOBS = ROOT / "config" / "jobs"


def every_reading(**known: Any) -> list[Choices]:
    """All that a person may take either way where it is not said."""
    return [Choices(side, sense, **known) for side, sense in product((-1, 1), (1, -1))]


@dataclass(frozen=True)
class Made:
    """What came off the machine, or why nothing did."""

    job: Job
    machine: Machine
    person: Person
    stopped: str = ""
    printed: str = ""  # by `job check`

    @property
    def faults(self) -> list[str]:
        if self.stopped:
            return [self.stopped]
        if self.job.kind == "flutes":
            return flutes.faults(self.machine.section, self.job)
        drawing = DRAWINGS[self.job.kind](self.job)
        if "a hub goes on from a bore of" in self.printed:
            drawing = replace(drawing, proud=0.11)  # more is refused
        return faults(self.machine.section, drawing, self.machine.face)


def ratio_of(job: Job) -> Fraction:
    text = (ROOT / "config" / "heads" / f"{job.data['head']}.toml").read_text("utf-8")
    return Fraction(str(tomllib.loads(text)["worm_ratio"]))


def passing_folder() -> str | None:
    """For journals that nobody keeps: in memory where there is a place for it, since a journal
    waits for the disk after every event."""
    return "/dev/shm" if Path("/dev/shm").is_dir() else None


def make(path: Path, choices: Choices) -> Made:
    """The part made by a literal person from what the session says."""
    job = Job(path)
    machine = Machine(cutter_of(job), blank_of(job), sense=choices.sense)
    if job.kind == "clutch":
        machine.level = job.mm("depth") - SAID
    person = Person(machine, ratio_of(job), choices, gauge)
    stopped = ""
    try:
        with tempfile.TemporaryDirectory(dir=passing_folder()) as folder:
            rehearse(path, Path(folder), person.answer)
    except (Crash, NotThere, NotUnderstood, Stuck) as error:
        stopped = f"{type(error).__name__}: {error}"
    return Made(job, machine, person, stopped, job_check(path))


# --- bar and cutter ---------------------------------------------------------------------

_BAR = {"polygon": "bar", "splines": "outside", "keyways": "shaft", "ratchet": "diameter",
        "clutch": "outside", "flutes": "diameter"}  # fmt: skip


def blank_of(job: Job) -> Any:
    bar = round_bar(job.mm(_BAR[job.kind]))
    return bar.difference(round_bar(job.mm("bore"))) if job.has("bore") else bar


def cutter_of(job: Job) -> cutters.Cutter:
    """The cutter that the job file names; else one of a width that suits (the person's own)."""
    diameter = job.mm("diameter", "cutter") if job.has("diameter", "cutter") else 0.0
    if job.has("cutter_width"):
        return cutters.square(job.mm("cutter_width"), diameter)
    if job.has("width", "cutter"):
        return cutters.square(job.mm("width", "cutter"), diameter)
    if job.kind == "polygon":
        return cutters.square(1.1 * job.mm("bar"), diameter)
    if job.kind == "ratchet":
        return cutters.single_angle(job.degrees("cutter_angle"))
    return cutters.square(job.mm("width"), diameter) if job.has("width") else cutters.square(8)
