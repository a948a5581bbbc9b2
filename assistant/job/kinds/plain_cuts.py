"""Cuts by number or by angles alone: equal divisions, or any list of angles."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from functools import partial
from typing import Any

from assistant.job.kinds import ask
from assistant.job.part import ONE_PASS, Cut, Findings, Part, Pass, Passes, Round, Shop
from assistant.job.question import Form, Question
from assistant.job.reader import MOST_CUTS, Table
from assistant.job.shapes import Drawing, Shape, disc, polar, ring_anchors
from assistant.job.units import NO_TURN, millimetres_from_text
from assistant.job.work import Kind, Work
from assistant.words.language import mark, say, say_n
from assistant.words.spoken import capital
from solver import Refused, Turns

DIVISIONS_KEYS = ("count", "passes", "depth")
ANGLES_KEYS = ("angles", "angle", "count", "passes", "depth")


@dataclass(frozen=True, slots=True)
class PlainCuts(Work):
    """`places` in turns from the first cut; for equal divisions all the way round `count`."""

    count: int
    places: tuple[Turns, ...]
    depth: str = ""
    passes: Passes = ONE_PASS

    def make(self, shop: Shop, found: Findings) -> Part:
        depth = millimetres_from_text(self.depth)[0] if self.depth else None
        cuts = say_n(self.count, "one cut", "{count} cuts")
        times = say_n(self.passes.number, "one pass", "{count} passes")
        return Part(
            plan=capital(say("{cuts} in {passes}.", cuts=cuts, passes=times)),
            rounds=(Round(tuple(Cut(place) for place in self.places)),),
            passes=(Pass("", depth),) * self.passes.number,
            draw=partial(_draw, self),
            as_written=self.depth,
        )


def read_divisions(table: Table) -> PlainCuts:
    """So many equal places, from 2 to the most that a session counts."""
    number = table.whole("count", 2, MOST_CUTS)
    places = tuple(Turns(Fraction(n, number)) for n in range(number))
    return PlainCuts(number, places, _depth(table), _passes(table))


def read_angles(table: Table) -> PlainCuts:
    """The places of the table in turns; the first alone where all are at fault."""
    places = _angles(table) or (NO_TURN,)
    return PlainCuts(len(places), places, _depth(table), _passes(table))


def _passes(table: Table) -> Passes:
    return Passes(table.whole("passes", 1, 20, 1))


def _depth(table: Table) -> str:
    depth = table.words("depth", "")
    if not depth:
        return ""
    try:
        millimetres_from_text(depth)
    except Refused as error:
        table.fault("depth", f"depth {error}")
        return ""
    return depth


def _angles(table: Table) -> tuple[Turns, ...] | None:
    if table.has("angles") and table.has("angle"):
        table.fault("angle", "angle and angles: give one of the two")
    elif table.has("angles"):
        return listed_angles(table, table.data["angles"])
    elif table.has("angle"):
        return _repeated(table)
    else:
        table.fault("kind", 'angles are missing: give angles = ["0", "30", "75d30m"]')
    return None


def _repeated(table: Table) -> tuple[Turns, ...] | None:
    step = table.angle("angle", table.data["angle"])
    number = table.whole("count", 2, MOST_CUTS)
    if step is None:
        return None
    if step <= 0 or step * (number - 1) >= 1:
        table.fault("angle", f"{number} cuts of {table.data['angle']} pass a full turn: fewer cuts")
        return None
    return tuple(Turns(step * n) for n in range(number))


def listed_angles(table: Table, value: Any) -> tuple[Turns, ...] | None:
    """The list under `angles`, in turns, rising from 0; None where it is at fault."""
    if not isinstance(value, list) or len(value) < 2:
        table.fault("angles", "angles: give a list of two or more, the first one 0")
        return None
    found = [table.angle("angles", each) for each in value]
    angles = [each for each in found if each is not None]
    if len(angles) < len(found):
        return None
    if angles[0] != 0:
        table.fault("angles", f"angles begin with {value[0]}: the first cut is at 0")
        return None
    for before, after, text in zip(angles, angles[1:], value[1:], strict=False):
        if not before < after < 1:
            table.fault("angles", f"angle {text}: each must be larger, and under 360")
            return None
    return tuple(angles)


def _draw(work: PlainCuts) -> Drawing:
    """Nothing is known of the part but its cuts: a mark for each."""
    places = [float(place) for place in work.places]
    marks = [
        Shape((polar(25, place), polar(20, place)), cut=n, closed=False)
        for n, place in enumerate(places)
    ]
    return Drawing((disc(25), *marks), ring_anchors(27.5, places), sized=False)


# --- what is asked ----------------------------------------------------------------------

_QUESTIONS = (
    ask.whole("count", mark("How many divisions?"), mark("Equal ones, all the way round.")),
    ask.length("depth", mark("How deep?"), mark("Called with the cut. Enter: not given."), False),
    ask.PASSES,
)  # fmt: skip
DIVISIONS = Kind(
    "divisions",
    mark("equal divisions of any form"),
    rank=180,
    keys=DIVISIONS_KEYS,
    read=read_divisions,
    questions=_QUESTIONS,
    counts="count",
)
ANGLES = Kind(
    "angles",
    mark("cuts at given angles"),
    rank=190,
    keys=ANGLES_KEYS,
    read=read_angles,
    questions=(
        Question(
            "work",
            "angles",
            mark("At which angles?"),
            mark("In degrees from the first, which is 0, like 0 30 75d30m 180."),
            Form.ANGLES,
        ),
        _QUESTIONS[1],
        ask.PASSES,
    ),
)
