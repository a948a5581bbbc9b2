"""What a literal person needs to know of a kind of work: bar, cutter, and how the part is judged.

A kind's craft stands in a file of `tests/kinds/` and is found there; the tests of its figures may
stand in the same file.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from tests.machinist import cutters, sizes
from tests.machinist.drawings import Drawing, DrawnJob
from tests.machinist.judging import faults
from tests.machinist.machine import Machine, round_bar
from tests.machinist.person import Choices, Person
from tests.machinist.sentences import Instruction

Hears = tuple[str, Callable[[Person, Instruction], None]]


@dataclass(frozen=True)
class Fault:
    """`words` (a pattern) are replaced by `instead`, everywhere or the first `times` times.
    `measured`: with sizes taken, after a first touch that was 0.1 mm off; `slack` of the cross
    slide's screw, mm. `size` and `limited`: a line of the job and what it is instead; `inches`:
    every length in inches. `seen`: what the judge has to say, where one of its checks is meant."""

    name: str
    job: str
    words: str
    instead: str
    times: int = 0
    measured: bool = False
    slack: float = 0.0
    size: str = ""
    limited: str = ""
    inches: bool = False
    seen: str = ""

    @property
    def choices(self) -> Choices:
        known = {"slip": 0.1, "measures": True} if self.measured else {}
        return Choices(**known, slack=self.slack)


@dataclass(frozen=True)
class Made:
    """What came off the machine, or why nothing did."""

    craft: Craft
    job: DrawnJob
    machine: Machine
    person: Person
    stopped: str = ""
    printed: str = ""  # by `job check`

    @property
    def faults(self) -> list[str]:
        return [self.stopped] if self.stopped else self.craft.faults(self)

    def out_of_limits(self) -> list[str]:
        measured = bool(self.person.sizes)
        return sizes.faults(self.machine.section, self.job, measured=measured)


def cutter_of(job: DrawnJob) -> cutters.Cutter:
    """The cutter that the job file names; else one of a width that suits (the person's own)."""
    diameter = job.mm("diameter", "cutter") if job.has("diameter", "cutter") else 0.0
    if job.has("cutter_width"):
        return cutters.square(job.mm("cutter_width"), diameter)
    if job.has("width", "cutter"):
        return cutters.square(job.mm("width", "cutter"), diameter)
    return cutters.square(job.mm("width"), diameter) if job.has("width") else cutters.square(8)


def bar(key: str) -> Callable[[DrawnJob], Any]:
    """A round bar of the diameter under this key, with a bore where the job has one."""

    def turned(job: DrawnJob) -> Any:
        made = round_bar(job.mm(key))
        return made.difference(round_bar(job.mm("bore"))) if job.has("bore") else made

    return turned


def over(drawing: Callable[[DrawnJob], Drawing]) -> Callable[[Made], list[str]]:
    """Judged by what is left of the bar, laid over the drawing, and by the limits of sizes."""

    def judge(made: Made) -> list[str]:
        found = faults(made.machine.section, drawing(made.job), made.machine.face)
        return found + made.out_of_limits()

    return judge


def _nothing(_job: DrawnJob, _machine: Machine, _person: Person) -> None:
    """The machine as it stands."""


@dataclass(frozen=True)
class Craft:
    """`blank` is the bar as it comes, `cutter` the one on the arbor to begin with; `begin` sets
    what else is at hand. `marks`: only the places of the cuts count, and the bar stays whole.
    `turns`: the table screw turns the work in the cut, and the spindle stays unlocked.
    `drawing`: what the section is laid over.

    `figures` are lines of a job whose number of cuts is drawn at random from `counts` (its key,
    and some that can be made), in up to three passes unless there is but `one_pass`; `tables`
    come after them. `hears`: sentences that no other kind says, as patterns of figures and small
    letters, and what the person does. `planted`: faults that must be seen. `example` is the job
    that docs/cut-sections.md shows, with `told` of how the kind is judged and `shows` of what the
    picture shows; empty: no picture.
    """

    kind: str
    blank: Callable[[DrawnJob], Any]
    faults: Callable[[Made], list[str]]
    cutter: Callable[[DrawnJob], cutters.Cutter] = cutter_of
    begin: Callable[[DrawnJob, Machine, Person], None] = _nothing
    marks: bool = False
    turns: bool = False
    drawing: Callable[[DrawnJob], Drawing] | None = None
    figures: Mapping[str, object] = field(default_factory=dict)
    counts: tuple[str, Sequence[int]] | None = None
    one_pass: bool = False
    tables: str = ""
    hears: tuple[Hears, ...] = ()
    planted: tuple[Fault, ...] = ()
    example: str = ""
    told: str = ""
    shows: str = ""
