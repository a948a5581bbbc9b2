"""Flats on a round bar: squares, hexagons, any number of sides."""

from __future__ import annotations

import re
from dataclasses import dataclass
from fractions import Fraction
from functools import partial
from math import ceil, cos, pi, sqrt, tan

from assistant.job import cutter_fit, standards
from assistant.job.cutter_fit import Wanted
from assistant.job.kinds import ask, common
from assistant.job.limits import Limits, room_within
from assistant.job.measuring import Measurement
from assistant.job.part import (
    ONE_PASS,
    Cut,
    Figure,
    Findings,
    Objection,
    Part,
    Pass,
    Passes,
    Rim,
    Round,
    Shop,
    depths_said,
    depths_shown,
    passes_to,
)
from assistant.job.question import Answers, Form, Question
from assistant.job.reader import Table
from assistant.job.screw_heads import ScrewHead, screw_heads
from assistant.job.shapes import Drawing, Shape, disc, ring_anchors, segment
from assistant.job.units import MM_PER_INCH, Unit, near, said, shown
from assistant.job.work import Kind, Work
from assistant.words.language import mark, number, say, say_n
from assistant.words.spoken import capital, sentences
from solver import Millimetres, Turns

KEYS = ("sides", "across_flats", "bar", "corners", "order", *common.PASS_KEYS)

_TOUCH = Fraction(1, 20)  # mm: a flat shallower than this hardly shows


@dataclass(frozen=True, slots=True)
class Polygon(Work):
    """`across_flats` is twice the distance from the axis to a flat, also for odd sides."""

    sides: int
    across_flats: Millimetres
    bar: Millimetres
    corners: str = "any"  # any | sharp | round
    order: str = "auto"  # auto | round | opposite
    passes: Passes = ONE_PASS
    limits: Limits | None = None  # of the size across flats, which is then their middle
    screw: ScrewHead | None = None  # whose head it is

    def make(self, shop: Shop, found: Findings) -> Part | None:
        _check(self, found, shop.unit)
        if found.refusals:
            return None
        room = room_within(self.limits, Fraction(1, 2))  # a flat is half of the size
        passes = passes_to(depth(self), self.passes, found, shop.unit, room)
        if found.refusals:
            return None
        cuts = tuple(
            Cut(Turns(Fraction(n, self.sides)), say("flat {n}", n=number(n + 1)))
            for n in in_order(self)
        )
        return Part(
            plan=_plan(self, passes, shop),
            figures=_figures(self, passes, shop),
            rounds=(Round(cuts, own_order=opposite_first(self)),),
            passes=passes,
            steps=_steps(self, passes, shop),
            measurements=tuple(_measurements(self, passes)),
            limited="across_flats",
            rim=_rim(self),
            draw=partial(polygon_drawing, self),
        )

    def wanted_cutter(self, unit: Unit) -> Wanted:
        return Wanted(say("a side cutter or an end mill"), cutter_fit.any_form("side", "end"))

    def odd_size(self, unit: Unit) -> Objection | None:
        return _hexagon(self, unit) if self.sides in (2, 6) else None


def read(table: Table) -> Polygon:
    """The figures of the table, lengths in mm: 2 to 400 sides; each fault goes into
    the table's list.
    """
    screw = _screw(table)
    across, limits = (screw.limits.middle, screw.limits) if screw else table.limited("across_flats")
    return Polygon(
        sides=table.whole("sides", 2, 400, 6 if screw else None),
        across_flats=across,
        limits=limits,
        bar=table.length("bar"),
        corners=table.choice("corners", ("any", "sharp", "round"), "any"),
        order=table.choice("order", ("auto", "round", "opposite"), "auto"),
        passes=common.read_passes(table),
        screw=screw,
    )


def _screw(table: Table) -> ScrewHead | None:
    """The head of a screw, named by its thread, has its size and its limits from the standard."""
    value = table.data.get("across_flats")
    if not isinstance(value, str) or not re.fullmatch(r"\s*M\d+\s*", value):
        return None
    known = screw_heads()
    screw = known.get(value.strip())
    if screw is None:
        table.fault("across_flats", f"across_flats {value!r}: the standard's heads known here are "
                    f"{', '.join(known)}: or write the size")  # fmt: skip
        return next(iter(known.values()))
    if table.data.get("sides", 6) != 6:
        table.fault("sides", f"sides: the head of {screw.thread} has 6: write the size across "
                    "flats for another number")  # fmt: skip
    return screw


# --- the figures ------------------------------------------------------------------------


def depth(work: Polygon) -> Millimetres:
    """Depth of each flat below the bar, mm: (D - AF) / 2 (geometry)."""
    return Millimetres((work.bar - work.across_flats) / 2)


def sharp_bar(sides: int, across_flats: Millimetres) -> float:
    """The bar, mm, from which the corners are sharp: AF / cos(180/n). Infinite for 2 flats."""
    return float(across_flats) / cos(pi / sides) if sides > 2 else float("inf")


def largest_sharp(sides: int, bar: Fraction) -> float:
    """The largest size across flats, mm, with sharp corners from this bar: D cos(180/n)."""
    return float(bar) * cos(pi / sides) if sides > 2 else 0.0


def is_sharp(work: Polygon) -> bool:
    """The bar is thick enough for sharp corners all round."""
    return float(work.bar) >= sharp_bar(work.sides, work.across_flats) - 1e-9


def flat_width(work: Polygon) -> float:
    """Width of each flat across the bar, mm."""
    if is_sharp(work):
        return float(work.across_flats) * tan(pi / work.sides)
    return sqrt(float(work.bar**2 - work.across_flats**2))


def across_corners(work: Polygon) -> float:
    """Over the corners, mm: AF / cos(180/n) where they are sharp, else the bar."""
    return min(sharp_bar(work.sides, work.across_flats), float(work.bar))


def gauge(work: Polygon) -> Millimetres:
    """From a flat to the far side, mm: to the opposite flat, or for odd sides to the bar."""
    if work.sides % 2 == 0:
        return work.across_flats
    return Millimetres(work.across_flats / 2 + far_side(work, depth(work)))


def in_order(work: Polygon) -> tuple[int, ...]:
    """The flats in the order in which they are cut.

    The opposite one second, so that a size can be measured after two cuts; then on round,
    past the first, to the rest.
    """
    if not opposite_first(work):
        return tuple(range(work.sides))
    half = work.sides // 2
    return (0, *range(half, work.sides), *range(1, half))


def opposite_first(work: Polygon) -> bool:
    """Each flat is followed by the one across, so that a size can be taken early: even sides, and
    either asked for or in more passes than one.
    """
    if work.sides % 2 or work.sides == 2 or work.order == "round":
        return False
    return work.order == "opposite" or work.passes.number > 1


# --- the part ---------------------------------------------------------------------------


def _check(work: Polygon, found: Findings, unit: Unit) -> None:
    if work.across_flats >= work.bar:
        found.refuse(
            "across_flats",
            f"across flats {shown(work.across_flats, unit)} leave nothing to cut: less than "
            f"{shown(work.bar, unit)} from this bar, "
            f"{shown(largest_sharp(work.sides, work.bar), unit)} or less for sharp corners",
        )
        return
    sharp = is_sharp(work)
    if work.corners == "sharp" and not sharp:
        found.refuse("bar", _too_small(work, unit))
    if work.corners == "round" and sharp:
        most = shown(largest_sharp(work.sides, work.bar), unit)
        found.refuse("across_flats", f"the flats run into each other: give more than {most}")
    if work.screw and across_corners(work) < work.screw.corners:
        least = shown(work.screw.corners, unit)
        found.refuse("bar", f"the head of {work.screw.thread} wants {least} or more over its "
                     "corners: a bar of that size or more")  # fmt: skip
    if work.order == "opposite" and work.sides % 2:
        found.refuse("order", f'{work.sides} sides have no opposite flats: use order = "round"')
    _suspect(work, found, unit)


def _too_small(work: Polygon, unit: Unit) -> str:
    if work.sides == 2:
        return 'two flats meet in no corner: leave corners out, or use corners = "round"'
    least = shown(sharp_bar(work.sides, work.across_flats), unit)
    return (
        f"the bar is too small for sharp corners: {least} or more, or across flats "
        f"{shown(largest_sharp(work.sides, work.bar), unit)} or less"
    )


def _suspect(work: Polygon, found: Findings, unit: Unit) -> None:
    if depth(work) < _TOUCH:
        found.warn("across_flats", f"each flat is only {shown(depth(work), unit)} deep: look again")
    least = sharp_bar(work.sides, work.across_flats)
    if least * 1.5 < float(work.bar):
        found.warn("bar", f"the bar is far larger than needed: {shown(least, unit)} would do")


def _plan(work: Polygon, passes: tuple[Pass, ...], shop: Shop) -> str:
    flats = say_n(work.sides, "one flat", "{count} flats")
    across = said(work.across_flats, shop.unit)
    if is_sharp(work):
        what = say("{flats}, {size} across, with sharp corners.", flats=flats, size=across)
    else:
        what = say(
            "{flats}, {size} across, with the bar left on the corners.", flats=flats, size=across
        )
    times = say_n(len(passes), "one pass", "{count} passes")
    deep = say("{depth} deep each, in {passes}.", depth=said(depth(work), shop.unit), passes=times)
    if work.sides % 2:
        measure = say("I ask for the size from flat one to the far side.")
    else:
        measure = say("I ask for the size across flats one and {n}.", n=number(work.sides // 2 + 1))
    return sentences(capital(what), capital(deep), measure)


def _figures(work: Polygon, passes: tuple[Pass, ...], shop: Shop) -> tuple[Figure, ...]:
    unit = shop.unit
    measured = "over opposite flats" if work.sides % 2 == 0 else "flat to the far side"
    return (
        Figure("depth of each flat", shown(depth(work), unit)),
        Figure("depths", depths_shown(passes, unit)),
        Figure("width of each flat", shown(flat_width(work), unit)),
        Figure("over the corners", shown(across_corners(work), unit)),
        Figure("corners", "sharp" if is_sharp(work) else "rounded by the bar"),
        Figure("bar for sharp corners", _or_none(sharp_bar(work.sides, work.across_flats), unit)),
        Figure("largest sharp from this bar", _or_none(largest_sharp(work.sides, work.bar), unit)),
        Figure(f"measure {measured}", shown(gauge(work), unit)),
        *common.limit_figures("across flats", work.limits, unit),
        *common.centre_figures(work.bar, shop),
    )


def _or_none(value: float, unit: Unit) -> str:
    return shown(value, unit) if 0 < value < 1e6 else "none: two flats have no corners"


def _steps(work: Polygon, passes: tuple[Pass, ...], shop: Shop) -> tuple[str, ...]:
    return (
        common.runs_true(work.bar, shop),
        common.over_centre(work.bar, shop),
        common.touch_top(),
        common.depth_step(depths_said(passes, shop.unit)),
    )


def _rim(work: Polygon) -> Rim:
    """A flat that leans by the error stands out at its edge by error x width: a spanner bears
    five hundredths of a millimetre (common practice)."""
    chord = sqrt(max(0.0, float(work.bar**2 - work.across_flats**2)))
    flat = float(work.across_flats) * tan(pi / work.sides) if work.sides > 2 else chord
    width = min(flat, chord) if chord else flat
    bears, between = mark("such a flat"), mark("from one flat to the next")
    return Rim(2 * width, 0.05, bears, between, "across a flat")


def _measurements(work: Polygon, passes: tuple[Pass, ...]) -> list[Measurement]:
    if work.sides % 2:
        return _one_flat(work, passes)
    half = work.sides // 2
    what = say("across flats one and {n}", n=number(half + 1))
    after = 2 if opposite_first(work) else half + 1
    return [
        Measurement(
            what,
            0,
            n,
            after,
            work.bar,
            Millimetres(work.bar - 2 * cut),
            work.across_flats,
            Fraction(2),
        ).within(work.limits)
        for n, cut in enumerate(_depths(work, passes), 1)
    ]


def _one_flat(work: Polygon, passes: tuple[Pass, ...]) -> list[Measurement]:
    """Odd sides: from the first flat to the bar opposite it. Where the pass before has cut that
    away there is no size: the corner left there is off by as much as the first touch was."""
    found, before = [], Fraction(0)
    for n, cut in enumerate(_depths(work, passes), 1):
        far = far_side(work, before)
        before = cut
        if far < work.bar / 2:
            continue
        found.append(
            Measurement(
                say("from flat one to the far side"), 0, n, 1, Millimetres(work.bar / 2 + far),
                Millimetres(work.bar / 2 - cut + far), Millimetres(work.across_flats / 2 + far),
                Fraction(1),
            ).within(work.limits, Fraction(1, 2))
        )  # fmt: skip
    return found


def far_side(work: Polygon, cut: Fraction) -> Millimetres:
    """From the axis to the side opposite a flat of an odd polygon cut so deep, mm."""
    corner = float(work.bar / 2 - cut) / cos(pi / work.sides)
    return Millimetres(min(work.bar / 2, near(corner)))


def _depths(work: Polygon, passes: tuple[Pass, ...]) -> list[Fraction]:
    return [depth(work) if each.depth is None else each.depth for each in passes]


def polygon_drawing(work: Polygon) -> Drawing:
    """The bar from its end, each flat by the number of its cut; in mm."""
    radius, to_flat = float(work.bar) / 2, float(work.across_flats) / 2
    places = [n / work.sides for n in in_order(work)]
    flats = [Shape(segment(radius, place, to_flat), cut=n) for n, place in enumerate(places)]
    return Drawing((disc(radius), *flats), ring_anchors(radius * 1.1, places))


def _hexagon(work: Polygon, unit: Unit) -> Objection | None:
    kept = standards.standard_table("hexagons")
    across = work.limits.nominal if work.limits else work.across_flats
    best = standards.nearest_size(across, kept.sizes)
    if best is None or abs(best - across) <= standards.SAME:
        return None
    return Objection(
        "across_flats",
        f"{shown(across, unit)} across flats: the nearest of {kept.name} is "
        f"{shown(Millimetres(best), 'mm')}: look again",
    )


# --- what is asked ----------------------------------------------------------------------


def _sharp_bar(answers: Answers) -> str:
    """The bar, to the next whole or half millimetre, from which the corners are sharp."""
    sides, across = answers.whole("sides"), answers.length("across_flats")
    if screw := screw_heads().get(str(answers.of("across_flats")).strip()):
        across = screw.limits.nominal
    if not sides or sides < 3 or across is None:
        return ""
    step = Fraction(1, 2) if answers.unit == "mm" else MM_PER_INCH / 16
    least = float(across) / cos(pi / sides)
    return answers.shown(Millimetres(ceil(round(least / float(step), 6)) * step))


QUESTIONS = (
    ask.whole(
        "sides", mark("How many flats?"),
        mark("Four for a square, six for a hexagon."), "6",
    ),
    ask.length(
        "across_flats", mark("Size across flats, with its limits?"),
        mark("Like 24, 24 h11, 24 -0.1 +0, or M12: a screw's head, with its standard's limits."),
    ),
    Question(
        "work", "bar", mark("Diameter of the bar?"),
        mark("In brackets the first one that gives sharp corners; less leaves them round."),
        Form.LENGTH, default=_sharp_bar,
    ),
    ask.PASSES, ask.FINISH,
)  # fmt: skip

KIND = Kind(
    "polygon",
    mark("flats on a round bar: a square, a hexagon"),
    rank=60,
    keys=KEYS,
    read=read,
    questions=QUESTIONS,
)
