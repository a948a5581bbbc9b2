"""A job from its file to the part: the bar and the cutter of the job file, the head of the shop."""

from __future__ import annotations

import re
import tempfile
import tomllib
from collections.abc import Callable
from dataclasses import dataclass, replace
from fractions import Fraction
from functools import partial
from itertools import product
from math import cos, pi, radians, tan
from pathlib import Path
from typing import Any

from tests.machinist import (
    angular,
    bevel,
    cams,
    cutters,
    flutes,
    gears,
    helices,
    scales,
    sizes,
    worms,
)
from tests.machinist.drawings import DRAWINGS, SAID, Job, islands
from tests.machinist.figures import MM
from tests.machinist.gauges import NotThere, gauge
from tests.machinist.judging import faults
from tests.machinist.machine import Crash, Machine, round_bar
from tests.machinist.person import Choices, Person
from tests.machinist.sentences import NotUnderstood
from tests.machinist.talk import Record, Stuck, job_check, rehearse

_NOTHING = 1e-4  # mm2: less is the facets of two circles

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


# Judged by where the cuts were made and how the machine stood: the work is no cylinder.
_BY_CUTS: dict[str, Callable[[Machine, Person, Job], list[str]]] = {
    "angular-clutch": angular.faults,
    "plate-cam": cams.faults,
    "worm-wheel": worms.faults,
}


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
        if judge := _BY_CUTS.get(self.job.kind):
            return judge(self.machine, self.person, self.job)
        if self.job.kind == "helical-grooves":
            return helices.faults(self.machine, self.person, self.job, self.printed)
        if self.person.marks:
            return self._marks()
        if self.job.kind in GEARS:
            return gear_faults(self)
        if self.job.kind == "flutes":
            return flutes.faults(self.machine.section, self.job)
        drawing = DRAWINGS[self.job.kind](self.job)
        if "a hub goes on from a bore of" in self.printed:
            drawing = replace(drawing, proud=0.11)  # more is refused
        found = faults(self.machine.section, drawing, self.machine.face)
        if self.job.kind == "clutch":
            found += self._islands() + self._deep()
        return found + self.out_of_limits()

    def _islands(self) -> list[str]:
        """Told where they stand, and nowhere else."""
        told = "an island is left standing in each space" in self.printed
        stand = islands(self.job).area > _NOTHING
        if told == stand:
            return []
        return [f"islands {'stand' if stand else 'are told'}, {'untold' if stand else 'none'}"]

    def _deep(self) -> list[str]:
        """The section at the floor shows what was not reached, and not what was gone too deep."""
        wanted, deep = self.job.mm("depth"), self.machine.deepest
        return [f"{deep} mm deep for {wanted:g}"] if abs(deep - wanted) > SAID else []

    def out_of_limits(self) -> list[str]:
        measured = bool(self.person.sizes)
        return sizes.faults(self.machine.section, self.job, measured=measured)

    def _marks(self) -> list[str]:
        """Each ring by itself, in the order of the file."""
        works = self.job.works
        found, first = [], 0
        travel = None
        if self.person.to_screw is not None and self.person.screw is not None:
            travel = float(self.person.to_screw) * self.person.screw
        for work in works:
            count = len(scales.wanted(work)) * work.get("passes", 1) if len(works) > 1 else None
            mine = self.machine.cuts[first : None if count is None else first + count]
            first += len(mine)
            found += scales.faults(mine, self.job, work, travel, self._off())
            found += scales.dial_faults(work, self.person.tilted, self.person.seen_turning)
        return found

    def _off(self) -> float:
        """What a place may be off, as `job check` says it: in turns, or in mm along a rule."""
        worst = re.search(r"worst place of a line +([\d.]+) (mm|in)", self.printed)
        if worst:
            last_figure = 0.001 if worst[2] == "mm" else 0.0001
            return MM[worst[2]] * (float(worst[1]) + last_figure / 2)
        seconds = re.search(r"error +at most ([\d.]+) arc-seconds", self.printed)
        return (float(seconds[1]) + 0.05) / 1296000 if seconds else 0.0


GEARS = ("spur-gear", "helical-gear", "bevel-gear")


def gear_faults(made: Made) -> list[str]:
    job, person = made.job, made.person
    found = []
    if person.form is None and not job.has("special_cutter"):
        found.append("no cutter is named")
    if person.form is not None and not gears.serves(job, person.form):
        found.append(f"cutter {person.form} for {gears.teeth_at_the_cutter(job):.2f} teeth")
    if job.kind == "bevel-gear":
        return found + bevel.faults(made.machine, person, job)
    if job.kind == "helical-gear":
        found += helical_faults(made)
    return (
        found
        + gears.faults(made.machine.section, job, gears.Told.of(made.printed))
        + made.out_of_limits()
    )


def helical_faults(made: Made) -> list[str]:
    """Lead, hand and swing: pi d / tan(helix) (definition of the lead of a screw)."""
    job, person = made.job, made.person
    helix = job.degrees("helix_angle")
    diameter = gears.module(job) * job.whole("teeth") / cos(radians(helix))
    wanted = pi * diameter / tan(radians(helix))
    found = []
    if person.screw is None or person.from_screw is None:
        return ["no gears from the head to the table screw"]
    lead = float(person.ratio / person.from_screw) * person.screw
    off = abs(job.mm("face") / lead - job.mm("face") / wanted) * pi * diameter
    told = re.search(r"flank off over a face of \S+ mm +([\d.]+) mm", made.printed)
    if off > max(0.01, float(told[1]) + 0.0006 if told else 0.0):
        found.append(f"a lead of {lead:.3f} mm for {wanted:.3f}: {off:.3f} mm off over the face")
    if person.hand != job.works[0]["hand"]:
        found.append(f"a {person.hand}-hand helix for a {job.works[0]['hand']}-hand one")
    # Looking down on a right-hand thread its near side rises to the right: the table's right end
    # goes away (common practice).
    swing = helix if job.works[0]["hand"] == "right" else -helix
    if abs(person.swung - swing) > 1 / 60:
        found.append(f"the table swung {person.swung:g} degrees for {swing:g}")
    return found


def ratio_of(job: Job) -> Fraction:
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
    job = Job(path)
    machine = Machine(cutter_of(job), blank_of(job), sense=choices.sense)
    if job.kind == "clutch":
        machine.level = job.mm("depth") - SAID
    machine.slack = choices.slack
    machine.tracks = job.kind == "angular-clutch"
    person = Person(machine, ratio_of(job), choices, gauge)
    person.marks = job.kind in (*MARKS, "plate-cam", "helical-grooves", "worm-wheel")
    if job.kind in GEARS:
        person.forms = partial(gears.form, job)
        machine.divisions = job.whole("teeth")
        machine.tracks = job.kind == "bevel-gear"
    if job.has("nose"):
        person.nose = job.mm("nose")
    if job.has("table_screw", "machine"):
        person.screw = job.mm("table_screw", "machine")
    stopped = ""
    try:
        with tempfile.TemporaryDirectory(dir=passing_folder()) as folder:
            rehearse(path, Path(folder), lambda records: person.answer(twisted(records, twist)))
    except (Crash, NotThere, NotUnderstood, Stuck) as error:
        stopped = f"{type(error).__name__}: {error}"
    return Made(job, machine, person, stopped, job_check(path))


# --- bar and cutter ---------------------------------------------------------------------

_BAR = {"polygon": "bar", "splines": "outside", "keyways": "shaft", "ratchet": "diameter",
        "clutch": "outside", "angular-clutch": "outside",
        "plate-cam": "outside", "flutes": "diameter", "helical-grooves": "diameter"}  # fmt: skip


MARKS = ("divisions", "angles", "graduations", "bolt-circle", "plate-circle", "rule")


def blank_of(job: Job) -> Any:
    if job.kind in (*MARKS, "worm-wheel"):
        return round_bar(job.mm("diameter") if job.has("diameter") else 50.0)
    if job.kind in GEARS:
        return round_bar(blank_diameter(job))
    bar = round_bar(job.mm(_BAR[job.kind]))
    return bar.difference(round_bar(job.mm("bore"))) if job.has("bore") else bar


def blank_diameter(job: Job) -> float:
    """Pitch diameter and two addenda; of a bevel gear at its large end."""
    size = gears.module(job)
    if job.has("blank"):
        return job.mm("blank")
    helix = radians(job.degrees("helix_angle"))
    lean = cos(gears.pitch_cone(job)) if job.kind == "bevel-gear" else 1.0
    tip = gears.addendum(job) + gears.shift(job)
    return size * job.whole("teeth") / cos(helix) + 2 * size * tip * lean


def cutter_of(job: Job) -> cutters.Cutter:
    """The cutter that the job file names; else one of a width that suits (the person's own)."""
    if job.kind in MARKS:
        return cutters.point()
    diameter = job.mm("diameter", "cutter") if job.has("diameter", "cutter") else 0.0
    if job.kind in GEARS:
        return gears.form(job, None)
    if job.has("cutter_width"):
        return cutters.square(job.mm("cutter_width"), diameter)
    if job.has("width", "cutter"):
        return cutters.square(job.mm("width", "cutter"), diameter)
    if job.kind == "polygon":
        return cutters.square(1.1 * job.mm("bar"), diameter)
    if job.kind == "angular-clutch" and job.works[0]["form"] == "v":
        angle = job.degrees("cutter_angle")
        return cutters.double_angle(angle, angle / 2)
    if job.kind in ("ratchet", "angular-clutch"):
        return cutters.single_angle(job.degrees("cutter_angle"))
    return cutters.square(job.mm("width"), diameter) if job.has("width") else cutters.square(8)
