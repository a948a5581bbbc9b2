"""Straight-sided splines, both sides of every spline cut with a side and face cutter."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from functools import partial
from math import cos, pi, sin, sqrt

from assistant.job.kinds import common
from assistant.job.measuring import Measurement
from assistant.job.part import (
    ONE_PASS,
    Cut,
    Figure,
    Findings,
    Part,
    Pass,
    Passes,
    Round,
    Shop,
    depths_said,
    depths_shown,
    passes_to,
    refused,
)
from assistant.job.reader import Table
from assistant.job.shapes import Drawing, Point, Shape, disc, ring_anchors, slot, turned
from assistant.job.units import near, said, shown
from assistant.words.language import number, say, say_n
from assistant.words.spoken import capital, sentences

KIND = "splines"
KEYS = ("splines", "width", "outside", "root", "cutter_width", *common.PASS_KEYS)


@dataclass(frozen=True, slots=True)
class Splines:
    """`width` of each spline, `outside` and `root` diameters, mm."""

    splines: int
    width: Fraction
    outside: Fraction
    root: Fraction
    cutter_width: Fraction
    passes: Passes = ONE_PASS

    def work_out(self, shop: Shop) -> Part:
        return work_out(self, shop)


def read(table: Table) -> Splines:
    return Splines(
        splines=table.whole("splines", 2, 100),
        width=table.length("width"),
        outside=table.length("outside"),
        root=table.length("root"),
        cutter_width=table.length("cutter_width"),
        passes=common.read_passes(table),
    )


# --- the figures ------------------------------------------------------------------------


def floor(work: Splines) -> float:
    """Height of the flat floor over the axis, mm: its corner at the spline lies on the root
    circle, so that the mate's bore clears it: sqrt(d^2/4 - w^2/4)."""
    return sqrt(float(work.root**2 - work.width**2)) / 2


def depth(work: Splines) -> Fraction:
    """Below the top of the round bar, mm."""
    return near(float(work.outside) / 2 - floor(work))


def edge_offset(work: Splines) -> Fraction:
    """From the axis to the cutting edge, mm: half the spline."""
    return work.width / 2


def move_across(work: Splines) -> Fraction:
    """From cutting one side to cutting the other, mm: the cutter and the spline."""
    return work.cutter_width + work.width


def widest_cutter(work: Splines) -> float:
    """The widest cutter, mm, whose far corner clears the next spline.

    The corner (w/2 + c, floor) may come no nearer the next spline's middle plane, turned by
    360/N, than w/2: (w/2 + c) cos f - floor sin f <= -w/2. Infinite for 4 splines or fewer.
    """
    angle = 2 * pi / work.splines
    half = float(work.width) / 2
    if cos(angle) <= 1e-12:
        # The corner only goes farther off; but the splines must not meet over the floor.
        meet = floor(work) * sin(angle) <= half * (1 + cos(angle))
        return 0.0 if meet else float("inf")
    return (floor(work) * sin(angle) - half) / cos(angle) - half


# --- the part ---------------------------------------------------------------------------


def work_out(work: Splines, shop: Shop) -> Part:
    found = Findings()
    _check(work, found, shop.unit)
    if found.refusals:
        return refused(KIND, shop, found)
    passes = passes_to(depth(work), work.passes, found, shop.unit)
    if found.refusals:
        return refused(KIND, shop, found)
    return Part(
        kind=KIND,
        unit=shop.unit,
        plan=_plan(work, shop),
        figures=_figures(work, passes, shop),
        warnings=tuple(found.warnings),
        rounds=_rounds(work, shop),
        passes=passes,
        steps=_steps(work, passes, shop),
        measurements=_measurements(work),
        draw=partial(_draw, work),
    )


def _check(work: Splines, found: Findings, unit: str) -> None:
    if work.root >= work.outside:
        most = shown(work.outside, unit)
        found.refuse("root", f"the root is not smaller than the outside: less than {most}")
        return
    if work.width >= work.root:
        found.refuse("width", "a spline is as wide as the root circle: "
                     f"less than {shown(work.root, unit)}")  # fmt: skip
        return
    widest = widest_cutter(work)
    if widest <= 0.2:
        room = work.root * near(sin(pi / work.splines))
        found.refuse("width", f"{work.splines} splines of {shown(work.width, unit)} leave no room "
                     f"between them at the root: less than {shown(room, unit)}")  # fmt: skip
    elif float(work.cutter_width) > widest + 1e-9:
        found.refuse("cutter_width", f"a cutter of {shown(work.cutter_width, unit)} would cut into "
                     f"the next spline: {shown(widest, unit)} or narrower")  # fmt: skip
    _suspect(work, found, unit)


def _suspect(work: Splines, found: Findings, unit: str) -> None:
    tall = (work.outside - work.root) / 2
    if work.width < tall:
        found.warn("width", f"splines of {shown(work.width, unit)} are narrower than they are "
                   "tall: look again")  # fmt: skip
    if left_over(work) > 0:
        found.warn("cutter_width", "a strip is left standing between the two cuts: about "
                   f"{shown(left_over(work), unit)} wide, to be cleared after")  # fmt: skip


def left_over(work: Splines) -> float:
    """Width, mm, of what two cuts leave between two splines, at the outside circle."""
    outer = float(work.outside) / 2
    half = float(work.width) / 2
    gap = 2 * (outer * sin(pi / work.splines) - half * cos(pi / work.splines))
    return max(0.0, gap - 2 * float(work.cutter_width) * cos(pi / work.splines))


def _plan(work: Splines, shop: Shop) -> str:
    what = say(
        "{splines} {width} wide.",
        splines=say_n(work.splines, "one spline", "{count} splines"),
        width=said(work.width, shop.unit),
    )
    how = say(
        "First the same side of every spline, then the table moves across {size} for the other "
        "side. After the first spline of the second side I ask for its width.",
        size=said(move_across(work), shop.unit),
    )
    return sentences(capital(what), how)


def _figures(work: Splines, passes: tuple[Pass, ...], shop: Shop) -> tuple[Figure, ...]:
    unit, widest = shop.unit, widest_cutter(work)
    return (
        Figure("height of a spline", shown((work.outside - work.root) / 2, unit)),
        Figure("depth from the top of the bar", shown(depth(work), unit)),
        Figure("depths", depths_shown(passes, unit)),
        Figure("cutter edge from the axis", shown(edge_offset(work), unit)),
        Figure("across for the other side", shown(move_across(work), unit)),
        Figure("from touching to the first side", shown(touch_to_edge(work), unit)),
        Figure("widest cutter", "any" if widest > 1e6 else shown(widest, unit)),
        Figure("strip left between", shown(left_over(work), unit)),
    )


def touch_to_edge(work: Splines) -> Fraction:
    """From touching the side of the bar to the cutter's edge half a spline past the axis, mm."""
    return work.outside / 2 - edge_offset(work)


def _rounds(work: Splines, shop: Shop) -> tuple[Round, ...]:
    return (
        Round(_cuts(work), say("one side")),
        Round(
            _cuts(work),
            say("other side"),
            (
                say(
                    "Move the table across {size}, the cutter over the spline to its other side. "
                    "Take up the slack of the screw.",
                    size=said(move_across(work), shop.unit),
                ),
            ),
        ),
    )


def _cuts(work: Splines) -> tuple[Cut, ...]:
    return tuple(
        Cut(Fraction(n, work.splines), say("spline {n}", n=number(n + 1)))
        for n in range(work.splines)
    )


def _steps(work: Splines, passes: tuple[Pass, ...], shop: Shop) -> tuple[str, ...]:
    return (
        common.runs_true(work.outside, shop),
        say(
            "Cutter beside the spline: touch the side of the bar with the cutter. Lower the table "
            "clear. Move across {size}: its inner edge then stands {offset} from the axis.",
            size=said(touch_to_edge(work), shop.unit),
            offset=said(edge_offset(work), shop.unit),
        ),
        common.touch_top(),
        common.depth_step(depths_said(passes, shop.unit)),
    )


def _measurements(work: Splines) -> tuple[Measurement, ...]:
    """The first spline, when its second side is cut to depth: what is left is moved across.

    Only in the last pass: what is left is no depth for a pass after it.
    """
    return (
        Measurement(
            say("the width of spline one"), 1, work.passes.number, 1,
            work.width + work.cutter_width, work.width, work.width, Fraction(1), "to move across",
        ),
    )  # fmt: skip


def cut_shape(work: Splines, side: int) -> tuple[Point, ...]:
    """What the cutter takes at the top of the bar on one side (1 or -1), to the bar's skin."""
    outer = float(work.outside) / 2
    near_edge = float(work.width) / 2
    far = min(near_edge + float(work.cutter_width), sqrt(outer**2 - floor(work) ** 2))
    points = slot(outer, near_edge, far, floor(work))
    return points if side > 0 else tuple((-x, y) for x, y in points)


def _draw(work: Splines) -> Drawing:
    places = [n / work.splines for n in range(work.splines)]
    shapes = [
        Shape(turned(cut_shape(work, side), place), cut=n + shift)
        for side, shift in ((1, 0), (-1, work.splines))
        for n, place in enumerate(places)
    ]
    root = Shape(disc(float(work.root) / 2).points, "witness")
    radius = float(work.outside) / 2
    return Drawing((disc(radius), *shapes, root), ring_anchors(radius * 1.1, places))
