"""What every kind of work comes to: a part, worked out, as plain data.

Lengths are millimetres, positions exact fractions of a turn from the first cut.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field
from fractions import Fraction

from assistant.job.limits import called_finely
from assistant.job.measuring import Measurement
from assistant.job.shapes import Drawing
from assistant.job.units import NO_LENGTH, Unit, said, shown
from assistant.words.language import mark
from solver import Degrees, Head, Millimetres, Move, Setup, Turns

USUAL_SWING = Degrees(Fraction(45))  # of a milling machine's table, either way (common practice)


@dataclass(frozen=True, slots=True)
class Objection:
    """A refusal or a warning; `key` is the line of the job file that it is about."""

    key: str
    text: str


@dataclass(frozen=True, slots=True)
class Figure:
    """A number that is needed at the machine, ready to be read.

    `one_by_one`: it holds while the cuts follow each other round; several divisions at a time
    another takes its place, which the question tells.
    """

    name: str
    shown: str
    one_by_one: bool = False


@dataclass(frozen=True, slots=True)
class Cut:
    """One cut: where, and how it is called; `stamp` is what is stamped beside it, `stamped` the
    same as it is called; `stop` is what has to be set for this cut alone, and so is told with its
    move; `deeper` is how far this one goes beyond the depth of its pass, mm."""

    at: Turns
    label: str = ""
    stamp: str = ""
    stop: str = ""
    stamped: str = ""
    deeper: Millimetres = NO_LENGTH


@dataclass(frozen=True, slots=True)
class Pass:
    """Once round: `depth` is the whole depth reached by it, in mm; None where not given.
    `finely`: it is called to more places than usual, since its limits are close."""

    name: str
    depth: Millimetres | None
    finely: bool = False


@dataclass(frozen=True, slots=True)
class Round:
    """Cuts that are made with one setting of the cutter.

    `settings` are said before its first cut. `roll_degrees` is how far the blank stands
    rolled out of its indexing in this round; `rolled` gives the settings that go with the roll as
    it is made, in degrees: holes round it. `unlocked`: the spindle is driven while it cuts
    and must NOT be locked. `closed` is False where the last cut leads nowhere back (along a
    flat rule). `own_order`: the cuts are made as listed, not as the set-up comes to them.
    `passes`: its own, where they are not those of the part.
    """

    cuts: tuple[Cut, ...]
    name: str = ""
    settings: tuple[str, ...] = ()
    roll_degrees: float = 0.0
    rolled: Callable[[float], tuple[str, ...]] | None = None
    unlocked: bool = False
    closed: bool = True
    own_order: bool = False
    passes: tuple[Pass, ...] = ()


@dataclass(frozen=True, slots=True)
class Rim:
    """Where an error of the indexing shows, and how much of it the part bears there, mm.

    `diameter` of the circle on which it is measured; the rest are the words of the warning.
    `first_round`: only the cuts of the part's first round count; what comes after only clears.
    """

    diameter: float
    need: float
    bears: str
    between: str = mark("from one cut to the next")
    where: str = "at the rim"
    first_round: bool = False


@dataclass(frozen=True, slots=True)
class Machine:
    """What is known of the milling machine; all of it optional. Lengths in mm."""

    name: str = ""
    table_screw: Millimetres | None = None
    centre_height: Millimetres | None = None
    dial: Millimetres | None = None  # what the dials of knee and table are divided to
    table_swing_degrees: Degrees = USUAL_SWING
    speeds: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True)
class Cutter:
    """What is known of the cutter; all of it optional. Lengths in mm, speed in m/min. `name` is
    what it is called in the person's drawer."""

    diameter: Millimetres | None = None
    width: Millimetres | None = None
    teeth: int | None = None
    material: str = "hss"
    speed: Fraction | None = None
    chip: Fraction | None = None
    name: str = ""


@dataclass(frozen=True, slots=True)
class Shop:
    """What the work is done with. `unit` is the system that numbers are given out in."""

    head: Head
    unit: Unit
    machine: Machine
    cutter: Cutter


@dataclass(frozen=True, slots=True)
class Passes:
    """How many times round, and what is left for the last (mm; None: by custom)."""

    number: int = 1
    finish: Millimetres | None = None


ONE_PASS = Passes()


@dataclass(frozen=True, slots=True)
class Along:
    """The crank moves the table along the work, which does not turn: `moves` from each cut to the
    next, counted on `circle`; none comes further off its place than `worst` spindle turns."""

    circle: int
    moves: tuple[Move, ...]
    worst: Turns


@dataclass(frozen=True, slots=True)
class Part:
    """The part worked out. Where there are refusals, the rest may be missing.

    `methods` are the ways of indexing that the work allows; empty: all. `between_centres`:
    a tailstock can hold the work. `level` is False where the head's axis stands upright or
    tilted: change gears can't drive the plate then. `trial_moves`: gone round once with the
    cutter clear, where trial marks would spoil the face. `sizes_in` gives the measurements for
    another order of the cuts (their places in the part's own list); None: each waits until the
    first `after` of the list are made. `figures_of_errors`: what follows from how far the set-up
    leaves each place off, in turns. `rim`: what the part bears of an inexact indexing; None:
    nothing is known. `doubt`: what is said of one that it does not bear, before anything is set.
    `along`: how the table is moved, where the crank does that; None: the work turns. `as_written`:
    the depth as the job file has it, where it is called so; None: called as it is reckoned.
    `limited`: the key of the job file that the limits of its sizes stand under. `gears`: between
    head and table screw, for the eye; "" where there are none.
    """

    unit: Unit = "mm"
    plan: str = ""
    figures: tuple[Figure, ...] = ()
    refusals: tuple[Objection, ...] = ()
    warnings: tuple[Objection, ...] = ()
    rounds: tuple[Round, ...] = ()
    passes: tuple[Pass, ...] = (Pass("", None),)
    steps: tuple[str, ...] = ()
    measurements: tuple[Measurement, ...] = ()
    sizes_in: Callable[[Sequence[int]], tuple[Measurement, ...]] | None = None
    draw: Callable[[], Drawing] = Drawing
    figures_of_errors: Callable[[Head, Setup, Sequence[Turns]], tuple[Figure, ...]] | None = None
    methods: tuple[str, ...] = ()
    rim: Rim | None = None
    doubt: str = ""
    between_centres: bool = True
    level: bool = True
    trial_moves: bool = False
    along: Along | None = None
    as_written: str | None = None
    limited: str = ""
    gears: str = ""

    @property
    def cuts(self) -> int:
        """All cuts of the part in one pass."""
        return sum(len(each.cuts) for each in self.rounds)


@dataclass
class Findings:
    """Collects refusals and warnings while a part is worked out."""

    refusals: list[Objection] = field(default_factory=list)
    warnings: list[Objection] = field(default_factory=list)

    def refuse(self, key: str, text: str) -> None:
        """The part can't be made; `key` is the figure at fault, or "head", and the text says what
        would do."""
        self.refusals.append(Objection(key, text))

    def warn(self, key: str, text: str) -> None:
        """The part can be made; the person is to know this of the figure."""
        self.warnings.append(Objection(key, text))


def equal_cuts(count: int, labels: Iterable[str] = ()) -> tuple[Cut, ...]:
    """`count` cuts at equal spaces, all the way round."""
    named = list(labels) or [""] * count
    return tuple(Cut(Turns(Fraction(n, count)), named[n]) for n in range(count))


_CUSTOM_FINISH: dict[Unit, Millimetres] = {  # ten thou (common practice)
    "mm": Millimetres(Fraction(1, 4)),
    "in": Millimetres(Fraction(254, 1000)),
}


def passes_to(
    depth: Millimetres, wanted: Passes, found: Findings, unit: Unit, room: Millimetres | None = None
) -> tuple[Pass, ...]:
    """Roughing passes of one depth and a last one for the finish. Depths in mm; `room` is what
    limits leave the depth, None where there are none."""
    finely = called_finely(room, unit)
    if wanted.number == 1:
        if wanted.finish is not None:
            found.warn("finish", "finish is for two passes or more: give passes = 2")
        return (Pass("", depth, finely),)
    finish = min(_CUSTOM_FINISH[unit], depth / 2) if wanted.finish is None else wanted.finish
    if finish >= depth:
        found.refuse(
            "finish",
            f"finish {shown(Millimetres(finish), unit)} is not less than the whole depth: "
            f"give less than {shown(depth, unit)}",
        )
    rough = (depth - finish) / (wanted.number - 1)
    last = Pass("finish", depth, finely)
    return (*(Pass("rough", Millimetres(rough * n), finely) for n in range(1, wanted.number)), last)


def depths_shown(passes: tuple[Pass, ...], unit: Unit) -> str:
    """ "rough to 1.9 mm, finish to 2.15 mm"."""
    known = [(each.name, each.depth) for each in passes if each.depth is not None]
    return ", ".join(f"{name} to {shown(depth, unit)}".strip() for name, depth in known)


def depths_said(passes: tuple[Pass, ...], unit: Unit) -> tuple[str, ...]:
    """The depth of each pass as it is called."""
    return tuple(
        "" if each.depth is None else said(each.depth, unit, finely=each.finely) for each in passes
    )
