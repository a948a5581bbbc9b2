"""Plate cams of uniform rise without gears: angle by the crank, rise by the depth dial.

Each step takes a flat that touches the cam where a roller would. The roller's middle goes along a
spiral of Archimedes: equal angles, equal rise (definition). The flat that it rolls on there lies
square to its path, so it leans out of the radius by the angle whose tangent is the rise in a
radian over the middle's distance (geometry). Between two flats a ridge is left for the file.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from functools import partial
from math import atan, ceil, cos, floor, inf, sin, tau

from assistant.job import cutter_fit
from assistant.job.cutter_fit import Wanted
from assistant.job.kinds import ask, common
from assistant.job.kinds.cam_questions import cam_questions
from assistant.job.part import Cut, Figure, Findings, Part, Pass, Rim, Round, Shop
from assistant.job.reader import Table
from assistant.job.shapes import Drawing, Point, Shape, disc, polar, ring_anchors
from assistant.job.units import Unit, angle_said, angle_shown, near, said, shown
from assistant.job.work import Kind, Work
from assistant.words.language import mark, number, say, say_n
from assistant.words.spoken import sentences
from solver import Degrees, Millimetres, Turns, in_degrees

KEYS = ("lobes", "outside", "rise", "over", "rises", "steps", "roller", "width")

_RIDGE = 0.05  # mm: more is long work for a file (judged)
_LIFT_BEARS = 0.02  # mm of rise, by an angle that is off (as for cams by gears)


@dataclass(frozen=True, slots=True)
class SteppedCam(Work):
    """`outside`: over the points, mm. Each lobe rises by `rise` mm `over` a part of a turn, in
    `steps`, for a roller of that diameter. `width` is that of the cutter's floor."""

    lobes: int
    outside: Millimetres
    rise: Millimetres
    over: Turns
    rises: str
    steps: int
    roller: Millimetres
    width: Millimetres

    def make(self, shop: Shop, found: Findings) -> Part | None:
        _check(self, shop, found)
        if found.refusals:
            return None
        flats = tuple(flats_of(self))
        _check_flats(self, flats, found, shop.unit)
        if found.refusals:
            return None
        deepest = max(each.depth for each in flats)
        return Part(
            plan=_plan(self, shop),
            figures=_figures(self, flats, shop),
            rounds=(Round(tuple(_cuts(self, flats, deepest)), own_order=True),),
            passes=(Pass("", deepest),),
            steps=_steps(self, flats, shop),
            draw=partial(_draw, self, flats),
            trial_moves=True,
            rim=_rim(self),
        )

    def wanted_cutter(self, unit: Unit) -> Wanted:
        return cutter_fit.slot_cutter(self.width, unit)


@dataclass(frozen=True, slots=True)
class Flat:
    """`at`: turns of the work from where the lobe is lowest; `depth` below the rim, mm."""

    at: Turns
    depth: Millimetres


def read(table: Table) -> SteppedCam:
    """The figures of the table, lengths in mm, `over` in turns: 1 to 24 lobes, each in 4 to 180
    steps; each fault goes into the table's list.
    """
    return SteppedCam(
        lobes=table.whole("lobes", 1, 24),
        outside=table.length("outside"),
        rise=table.length("rise"),
        over=table.turns("over"),
        rises=table.choice("rises", ("clockwise", "anticlockwise")),
        steps=table.whole("steps", 4, 180),
        roller=table.length("roller"),
        width=table.length("width"),
    )


# --- the figures ------------------------------------------------------------------------


def cam_step(work: SteppedCam) -> Turns:
    """From one flat to the next, in turns."""
    return Turns(work.over / work.steps)


def a_radian(work: SteppedCam) -> float:
    """The rise in a radian, mm."""
    return float(work.rise) / (tau * float(work.over))


def middle_at(work: SteppedCam, angle: float) -> float:
    """From the axis to the roller's middle, mm; `angle` from the low place, radians."""
    low = float(work.outside / 2 - work.rise + work.roller / 2)
    return low + a_radian(work) * angle


def flat_leans(work: SteppedCam, angle: float) -> float:
    """How far the flat under the roller leans out of the radius, radians."""
    return atan(a_radian(work) / middle_at(work, angle))


def rolled_at(work: SteppedCam, at: float) -> float:
    """The angle of the roller, radians, that stands on the flat at `at` radians."""
    angle = at
    for _ in range(60):
        angle = at + flat_leans(work, angle)
    return angle


def flat_height(work: SteppedCam, at: float) -> float:
    """From the axis to the flat that lies square to the radius at `at` radians, mm."""
    angle = rolled_at(work, at)
    return middle_at(work, angle) * cos(flat_leans(work, angle)) - float(work.roller) / 2


def cam_curvature(work: SteppedCam, angle: float) -> float:
    """The cam's radius of curvature under the roller, mm; nought and less: it is hollow there."""
    middle, rise = middle_at(work, angle), a_radian(work)
    path = float((middle**2 + rise**2) ** 1.5) / (middle**2 + 2 * rise**2)
    return path - float(work.roller) / 2


def flats_of(work: SteppedCam) -> Iterator[Flat]:
    """From the low place to the point: one flat before where the roller begins, so that it stands
    between two, and one after where it ends, unless that lies above the rim."""
    a_step, radius = cam_step(work), float(work.outside) / 2
    over = tau * float(work.over)
    first = floor(-flat_leans(work, 0.0) / tau / float(a_step))
    last = ceil((over - flat_leans(work, over)) / tau / float(a_step))
    for n in range(first, last + 1):
        depth = near(radius - flat_height(work, tau * n * float(a_step)))
        if depth > 0:
            yield Flat(Turns(n * a_step), depth)


def flat_ridge(work: SteppedCam) -> float:
    """The highest between two flats, over the cam, mm."""
    half = tau * float(cam_step(work)) / 2
    return max(cam_curvature(work, angle) for angle in _ends(work)) * (1 / cos(half) - 1)


def narrowest(work: SteppedCam) -> float:
    """The least width of a cutter over the axis, mm: its flats meet, and in the low place the
    roller has room beside what is left for the drop."""
    half = tau * float(cam_step(work)) / 2
    aside = [middle_at(work, angle) * sin(flat_leans(work, angle)) for angle in _ends(work)]
    meet = max(
        beside + cam_curvature(work, angle) * half
        for beside, angle in zip(aside, _ends(work), strict=True)
    )
    return 2 * max(meet, float(work.roller) / 2 - aside[0])


def widest(work: SteppedCam, flats: tuple[Flat, ...]) -> float:
    """The greatest that leaves the points of the other lobes, mm; infinite where none is near."""
    radius = float(work.outside) / 2
    room = inf
    for flat in flats:
        for other in range(1, work.lobes):
            angle = tau * float(work.over + Fraction(other, work.lobes) - flat.at)
            if radius * cos(angle) > radius - float(flat.depth):
                room = min(room, abs(radius * sin(angle)))
    return 2 * room


def _ends(work: SteppedCam) -> tuple[float, float]:
    """What grows or shrinks along the rise is most or least at one of its ends."""
    return 0.0, tau * float(work.over)


# --- the part ---------------------------------------------------------------------------


def _check(work: SteppedCam, shop: Shop, found: Findings) -> None:
    unit, radius = shop.unit, work.outside / 2
    if not 0 < work.over < Fraction(1, work.lobes):
        most = angle_shown(Degrees(Fraction(360, work.lobes)))
        found.refuse("over", f"over: the rises of {work.lobes} lobes leave no room for the drops: "
                     f"more than 0 and less than {most} each")  # fmt: skip
    elif work.rise >= radius * Fraction(9, 10):
        most = shown(Millimetres(radius * Fraction(9, 10)), unit)
        found.refuse("rise", f"the low places reach the axis: less than {most}")
    elif cam_curvature(work, 0.0) <= 0:
        least = shown(cam_curvature(work, 0.0) + float(work.roller) / 2, unit)
        found.refuse("roller", "under so large a roller a flat can't lie: a radius of less than "
                     f"{least}")  # fmt: skip


def _check_flats(work: SteppedCam, flats: tuple[Flat, ...], found: Findings, unit: Unit) -> None:
    least, most = narrowest(work), widest(work, flats)
    if (flats[-1].at - flats[0].at) + cam_step(work) > Fraction(1, work.lobes):
        found.refuse("over", "the first flat of a lobe falls on the last of the one before: a "
                     "smaller angle, or more steps")  # fmt: skip
    elif least > most:
        found.refuse("width", f"no cutter serves: its flats meet from {shown(least, unit)} on, and "
                     f"over {shown(most, unit)} it takes off the point of the lobe beside it: a "
                     "smaller angle or rise")  # fmt: skip
    elif work.width < least:
        found.refuse("width", "flats so narrow do not meet, or leave the roller no room: "
                     f"{shown(least, unit)} or more")  # fmt: skip
    elif work.width > most:
        found.refuse("width", "so wide a cutter takes off the point of the lobe beside it: "
                     f"{shown(most, unit)} or less")  # fmt: skip
    if flat_ridge(work) > _RIDGE:
        enough = ceil(work.steps * (flat_ridge(work) / _RIDGE) ** 0.5)
        found.warn("steps", f"a ridge of {shown(flat_ridge(work), unit)} is left between two "
                   f"flats: {enough} steps leave {shown(_RIDGE, unit)}")  # fmt: skip


def _cuts(work: SteppedCam, flats: tuple[Flat, ...], deepest: Millimetres) -> Iterator[Cut]:
    for lobe in range(work.lobes):
        for n, flat in enumerate(flats, 1):
            label = say("lobe {lobe}, step {n}", lobe=number(lobe + 1), n=number(n))
            at = Turns(Fraction(lobe, work.lobes) + flat.at - flats[0].at)
            yield Cut(at, label, deeper=Millimetres(flat.depth - deepest))


def _rim(work: SteppedCam) -> Rim:
    """An angle that is off lifts the roller too soon by so much of the rise."""
    around = float(work.outside) * tau / 2 * float(work.over)
    return Rim(
        float(work.outside), _LIFT_BEARS * around / float(work.rise), mark("such a cam"),
        mark("from one step to the next"),
    )  # fmt: skip


def _plan(work: SteppedCam, shop: Shop) -> str:
    return sentences(
        say(
            "A cam of {lobes}, each rising {rise} over {angle}.",
            lobes=say_n(work.lobes, "one lobe", "{count} lobes"),
            rise=said(work.rise, shop.unit),
            angle=angle_said(in_degrees(work.over)),
        ),
        say(
            "It is cut in steps of {angle}, each with a depth of its own that I call.",
            angle=angle_said(in_degrees(cam_step(work))),
        ),
        say("A roller of {size} follows it.", size=said(work.roller, shop.unit)),
    )


def _figures(work: SteppedCam, flats: tuple[Flat, ...], shop: Shop) -> tuple[Figure, ...]:
    unit = shop.unit
    most = widest(work, flats)
    return (
        Figure("rise a step", shown(Millimetres(work.rise / work.steps), unit)),
        Figure("flats a lobe", str(len(flats))),
        Figure("from flat to flat", angle_shown(in_degrees(cam_step(work)))),
        Figure("deepest flat, the first of a lobe", shown(flats[0].depth, unit)),
        Figure("shallowest flat, the last", shown(flats[-1].depth, unit)),
        Figure("ridge between two flats", shown(flat_ridge(work), unit)),
        Figure("narrowest cutter", shown(narrowest(work), unit)),
        *([Figure("widest cutter", shown(most, unit))] if most < inf else []),
        Figure("from touching to centre", shown(common.to_centre(work.outside, work.width), unit)),
    )


_WAYS = {
    "clockwise": mark(
        "Seen on its free end the work must turn anticlockwise from step to step. Try it. Every "
        "move goes the way that does it."
    ),
    "anticlockwise": mark(
        "Seen on its free end the work must turn clockwise from step to step. Try it. Every move "
        "goes the way that does it."
    ),
}
"""By the way in which the cam rises: what is cut later lies against the turning (geometry)."""


def _steps(work: SteppedCam, flats: tuple[Flat, ...], shop: Shop) -> tuple[str, ...]:
    unit = shop.unit
    return (
        say("Most of the stock of the low places sawn off before, outside of the line."),
        common.runs_true(work.outside, shop),
        say(_WAYS[work.rises]),
        common.over_axis(work.outside, work.width, shop),
        common.touch_top(),
        sentences(
            say("The first flat of a lobe is {deep} deep.", deep=said(flats[0].depth, unit)),
            say("The last one is {deep} deep.", deep=said(flats[-1].depth, unit)),
            say("Set the depth dial for every cut as I call it, coming up from below."),
        ),
        say("Saddle and knee clamped in every cut."),
        say("The ridges between the flats, and the drop after each lobe, are for the file."),
    )  # fmt: skip


def _draw(work: SteppedCam, flats: tuple[Flat, ...]) -> Drawing:
    radius, half = float(work.outside) / 2, float(work.width) / 2
    shapes, places = [disc(radius)], []
    for n, cut in enumerate(_cuts(work, flats, flats[0].depth)):
        place, flat = float(cut.at), radius - float(flats[n % len(flats)].depth)
        reach = min(half, (radius**2 - flat**2) ** 0.5)
        c, s = polar(1.0, place)[1], polar(1.0, place)[0]
        line = tuple(_handed(work, (flat * s + x * c, flat * c - x * s)) for x in (-reach, reach))
        shapes.append(Shape(line, cut=n, closed=False))
        places.append(place)
    anchors = tuple(_handed(work, each) for each in ring_anchors(radius * 1.1, places))
    return Drawing(tuple(shapes), anchors)


def _handed(work: SteppedCam, point: Point) -> Point:
    """Places run clockwise, as a cam that rises clockwise is cut."""
    return point if work.rises == "clockwise" else (-point[0], point[1])


# --- what is asked ----------------------------------------------------------------------

QUESTIONS = (
    *cam_questions("2"),
    ask.length("roller", mark("Diameter of the roller?"), mark("Which follows the cam.")),
    ask.whole(
        "steps",
        mark("In how many steps is a lobe cut?"),
        mark("More steps leave lower ridges for the file."),
        "40",
    ),
    ask.length("width", mark("How wide is the cutter?"), mark("As wide as the flats it leaves.")),
)

KIND = Kind(
    "stepped-cam",
    mark("a plate cam that rises evenly, cut in steps without gears"),
    rank=112,
    keys=KEYS,
    read=read,
    questions=QUESTIONS,
    as_wide=True,
)
