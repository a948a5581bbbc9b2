"""Cuts by number or by angles alone: equal divisions, or any list of angles."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from functools import partial
from typing import Any

from assistant.job.part import ONE_PASS, Cut, Part, Pass, Passes, Round, Shop
from assistant.job.reader import MOST_CUTS, Table
from assistant.job.shapes import Drawing, Shape, disc, polar, ring_anchors
from assistant.job.units import length_from_text
from assistant.words.language import say, say_n
from assistant.words.spoken import capital
from solver import Refused

DIVISIONS, ANGLES = "divisions", "angles"
DIVISIONS_KEYS = ("count", "passes", "depth")
ANGLES_KEYS = ("angles", "angle", "count", "passes", "depth")


@dataclass(frozen=True, slots=True)
class PlainCuts:
    """`places` in turns from the first cut; for equal divisions all the way round `count`."""

    kind: str
    count: int
    places: tuple[Fraction, ...]
    depth: str = ""
    passes: Passes = ONE_PASS

    def work_out(self, shop: Shop) -> Part:
        return work_out(self, shop)


def read_divisions(table: Table) -> PlainCuts:
    number = table.whole("count", 2, MOST_CUTS)
    places = tuple(Fraction(n, number) for n in range(number))
    return PlainCuts(DIVISIONS, number, places, _depth(table), _passes(table))


def read_angles(table: Table) -> PlainCuts:
    places = _angles(table) or (Fraction(0),)
    return PlainCuts(ANGLES, len(places), places, _depth(table), _passes(table))


def _passes(table: Table) -> Passes:
    return Passes(table.whole("passes", 1, 20, 1))


def _depth(table: Table) -> str:
    depth = table.words("depth", "")
    if not depth:
        return ""
    try:
        length_from_text(depth)
    except Refused as error:
        table.fault("depth", f"depth {error}")
        return ""
    return depth


def _angles(table: Table) -> tuple[Fraction, ...] | None:
    if table.has("angles") and table.has("angle"):
        table.fault("angle", "angle and angles: give one of the two")
    elif table.has("angles"):
        return _angle_list(table, table.data["angles"])
    elif table.has("angle"):
        return _repeated(table)
    else:
        table.fault("kind", 'angles are missing: give angles = ["0", "30", "75d30m"]')
    return None


def _repeated(table: Table) -> tuple[Fraction, ...] | None:
    step = table.angle("angle", table.data["angle"])
    number = table.whole("count", 2, MOST_CUTS)
    if step is None:
        return None
    if step <= 0 or step * (number - 1) >= 1:
        table.fault("angle", f"{number} cuts of {table.data['angle']} pass a full turn: fewer cuts")
        return None
    return tuple(step * n for n in range(number))


def _angle_list(table: Table, value: Any) -> tuple[Fraction, ...] | None:
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


def work_out(work: PlainCuts, shop: Shop) -> Part:
    depth = length_from_text(work.depth)[0] if work.depth else None
    cuts = say_n(work.count, "one cut", "{count} cuts")
    times = say_n(work.passes.number, "one pass", "{count} passes")
    return Part(
        kind=work.kind,
        unit=shop.unit,
        plan=capital(say("{cuts} in {passes}.", cuts=cuts, passes=times)),
        rounds=(Round(tuple(Cut(place) for place in work.places)),),
        passes=(Pass("", depth),) * work.passes.number,
        draw=partial(_draw, work),
        as_written=work.depth,
    )


def _draw(work: PlainCuts) -> Drawing:
    """Nothing is known of the part but its cuts: a mark for each."""
    places = [float(place) for place in work.places]
    marks = [
        Shape((polar(25, place), polar(20, place)), cut=n, closed=False)
        for n, place in enumerate(places)
    ]
    return Drawing((disc(25), *marks), ring_anchors(27.5, places), sized=False)
