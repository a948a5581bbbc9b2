"""Ratchet wheels with a single-angle cutter: a face, radial or raked, and a sloping back."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from functools import partial
from math import atan2, cos, pi, sin, sqrt, tau

from assistant.job import cutter_fit
from assistant.job.cutter_fit import Wanted
from assistant.job.kinds import ask, common
from assistant.job.part import (
    ONE_PASS,
    Figure,
    Findings,
    Part,
    Pass,
    Passes,
    Rim,
    Round,
    Shop,
    depths_said,
    depths_shown,
    equal_cuts,
    passes_to,
)
from assistant.job.reader import Table
from assistant.job.shapes import Drawing, Point, Shape, arc_points, disc, ring_anchors, turned
from assistant.job.units import NO_ANGLE, Unit, angle_said, angle_shown, near, said, shown
from assistant.job.work import Kind, Work
from assistant.words.language import mark, number, say, say_n
from assistant.words.spoken import capital, sentences
from solver import Degrees, Millimetres

_SHARE = 0.02  # of the space: the pawl still falls in well before the next (common practice)
KEYS = ("teeth", "diameter", "depth", "cutter_angle", "rake", *common.PASS_KEYS)


@dataclass(frozen=True, slots=True)
class Ratchet(Work):
    """`cutter_angle` between face and back, `rake` of the face (plus: undercut), degrees."""

    teeth: int
    diameter: Millimetres
    depth: Millimetres
    cutter_degrees: Degrees
    rake_degrees: Degrees = NO_ANGLE
    passes: Passes = ONE_PASS

    def make(self, shop: Shop, found: Findings) -> Part | None:
        _check(self, found, shop.unit)
        if found.refusals:
            return None
        passes = passes_to(depth_from_top(self), self.passes, found, shop.unit)
        if found.refusals:
            return None
        labels = [say("tooth {n}", n=number(n + 1)) for n in range(self.teeth)]
        return Part(
            plan=_plan(self, shop),
            figures=_figures(self, passes, shop),
            rounds=(Round(equal_cuts(self.teeth, labels)),),
            passes=passes,
            steps=_steps(self, passes, shop),
            draw=partial(_draw, self),
            rim=Rim(
                float(self.diameter), _SHARE * pi * float(self.diameter) / self.teeth,
                mark("such a ratchet"), mark("from one tooth to the next"),
            ),
        )  # fmt: skip

    def wanted_cutter(self, unit: Unit) -> Wanted:
        return cutter_fit.angle_cutter(self.cutter_degrees)


def read(table: Table) -> Ratchet:
    """The figures of the table, lengths in mm: 3 to 720 teeth; each fault goes into
    the table's list.
    """
    return Ratchet(
        teeth=table.whole("teeth", 3, 720),
        diameter=table.length("diameter"),
        depth=table.length("depth"),
        cutter_degrees=table.degrees("cutter_angle"),
        rake_degrees=table.degrees("rake", NO_ANGLE),
        passes=common.read_passes(table),
    )


# --- the figures ------------------------------------------------------------------------


def side_offset(work: Ratchet) -> float:
    """Of the cutter's upright side, past the axis to the tooth's side, mm: R sin(rake)."""
    return float(work.diameter) / 2 * sin(float(work.rake_degrees) * pi / 180)


def tooth_point(work: Ratchet) -> Point:
    """The tooth's point, with its face upright; the space lies to the right. mm."""
    radius = float(work.diameter) / 2
    return -side_offset(work), sqrt(radius**2 - side_offset(work) ** 2)


def depth_from_top(work: Ratchet) -> Millimetres:
    """From touching the top of the blank, mm: the depth is along the face, from the point."""
    return Millimetres(near(float(work.diameter) / 2 - tooth_point(work)[1]) + work.depth)


def space_at_rim(work: Ratchet, depth: float) -> float:
    """The turn that one space takes at the rim, for a depth along the face."""
    x, y, far = _corners(work, depth)
    return (atan2(*far) - atan2(x, y)) / tau


def _corners(work: Ratchet, depth: float) -> tuple[float, float, Point]:
    """The point, and where the back comes out at the rim."""
    radius = float(work.diameter) / 2
    x, y = tooth_point(work)
    lean = float(work.cutter_degrees) * pi / 180
    dx, dy = sin(lean), cos(lean)
    along = x * dx + (y - depth) * dy
    reach = -along + sqrt(along**2 - (x**2 + (y - depth) ** 2 - radius**2))
    return x, y, (x + reach * dx, y - depth + reach * dy)


def land_at_rim(work: Ratchet) -> float:
    """What is left of the rim between two teeth, in turns; below 0 they run into each other."""
    return 1 / work.teeth - space_at_rim(work, float(work.depth))


def deepest_at_rim(work: Ratchet) -> float:
    """The depth, mm, at which no land is left (halving the interval)."""
    low, high = 0.0, float(work.diameter) / 2 * 0.95
    for _ in range(60):
        middle = (low + high) / 2
        if space_at_rim(work, middle) < 1 / work.teeth:
            low = middle
        else:
            high = middle
    return low


def _steepest(work: Ratchet) -> float:
    """The cutter angle, degrees, at which the back lies along the chord to the next point:
    90 - rake + 180/N (the angle of chord and radius)."""
    return min(90.0, 90 - float(work.rake_degrees) + 180 / work.teeth)


# --- the part ---------------------------------------------------------------------------


def _check(work: Ratchet, found: Findings, unit: Unit) -> None:
    if not 15 <= work.cutter_degrees <= 90:
        found.refuse("cutter_angle", "cutter angle: single-angle cutters have 15 to 90 degrees")
        return
    if work.rake_degrees > 30:
        found.refuse("rake", f"a rake of {angle_shown(work.rake_degrees)} leaves no tooth to push "
                     "on: 30 degrees or less")  # fmt: skip
        return
    if work.depth >= work.diameter * Fraction(45, 100):
        most = shown(Millimetres(work.diameter * Fraction(45, 100)), unit)
        found.refuse("depth", f"the teeth reach the axis: less than {most}")
        return
    if deepest_at_rim(work) < 0.05:
        found.refuse("cutter_angle", "the back of this cutter lies so flat that it reaches into "
                     f"the next tooth: less than {angle_shown(_steepest(work))}")  # fmt: skip
        return
    if land_at_rim(work) < 0:
        most = shown(deepest_at_rim(work), unit)
        found.refuse("depth", f"teeth so deep run into each other: {most} or less with this cutter")
    elif land_at_rim(work) * pi * float(work.diameter) < 0.2:
        found.warn("depth", "hardly any land is left at the points: "
                   f"{shown(land_at_rim(work) * pi * float(work.diameter), unit)}")  # fmt: skip
    if work.rake_degrees > 15:
        found.warn("rake", f"a rake of {angle_shown(work.rake_degrees)} is large: look again")


def _plan(work: Ratchet, shop: Shop) -> str:
    teeth = say_n(work.teeth, "one tooth", "{count} teeth")
    if work.rake_degrees:
        what = say(
            "A ratchet of {teeth}, the cutter's upright side {size} past the centre line.",
            teeth=teeth, size=said(side_offset(work), shop.unit),
        )  # fmt: skip
    else:
        what = say(
            "A ratchet of {teeth}, the cutter's upright side on the centre line.", teeth=teeth
        )
    deep = say(
        "{depth} deep from the top of the blank.", depth=said(depth_from_top(work), shop.unit)
    )
    return sentences(what, capital(deep))


def _figures(work: Ratchet, passes: tuple[Pass, ...], shop: Shop) -> tuple[Figure, ...]:
    unit = shop.unit
    return (
        Figure("offset of the upright side", shown(side_offset(work), unit)),
        Figure("depth from the top of the blank", shown(depth_from_top(work), unit)),
        Figure("depths", depths_shown(passes, unit)),
        Figure("land at the points", shown(land_at_rim(work) * pi * float(work.diameter), unit)),
        Figure("deepest with this cutter", shown(deepest_at_rim(work), unit)),
        Figure("from touching the side to the axis", shown(Millimetres(work.diameter / 2), unit)),
    )


def _steps(work: Ratchet, passes: tuple[Pass, ...], shop: Shop) -> tuple[str, ...]:
    on = common.move_on(
        near(side_offset(work)),
        say("the upright side is {size} past the axis", size=said(side_offset(work), shop.unit)),
        shop,
    )
    return (
        say(
            "Single-angle cutter of {angle}, its upright side towards the face of the tooth.",
            angle=angle_said(work.cutter_degrees),
        ),
        common.runs_true(work.diameter, shop),
        common.side_over_axis(work.diameter, shop),
        common.touch_top(),
        *([on] if work.rake_degrees else []),
        common.depth_step(depths_said(passes, shop.unit)),
    )


def cut_shape(work: Ratchet) -> tuple[Point, ...]:
    """What the cutter takes for the first tooth: face, back and rim."""
    depth, radius = float(work.depth), float(work.diameter) / 2
    x, y, far = _corners(work, depth)
    start, end = atan2(x, y) / tau, atan2(*far) / tau
    return ((x, y - depth), (x, y), *arc_points(radius, start, end, 12))


def _draw(work: Ratchet) -> Drawing:
    radius = float(work.diameter) / 2
    # Turned so that the first tooth's point is at the top.
    shape = turned(cut_shape(work), -atan2(*tooth_point(work)) / tau)
    places = [n / work.teeth for n in range(work.teeth)]
    teeth = [Shape(turned(shape, place), cut=n) for n, place in enumerate(places)]
    return Drawing((disc(radius), *teeth), ring_anchors(radius * 1.08, places))


# --- what is asked ----------------------------------------------------------------------

QUESTIONS = (
    ask.whole("teeth", mark("How many teeth?"), mark("All the way round.")),
    ask.length("diameter", mark("Diameter of the wheel?"), mark("Over the points of the teeth.")),
    ask.length("depth", mark("How deep is a tooth?"), mark("Along its face.")),
    ask.angle_question(
        "cutter_angle", mark("Which angle has the cutter?"),
        mark("A single-angle cutter, between face and back of a tooth."), "60d",
    ),
    ask.angle_question(
        "rake", mark("How far does the face lean in?"),
        mark("So that the pawl is drawn in. Nought: the face points at the axis."), "0d",
    ),
    ask.PASSES, ask.FINISH,
)  # fmt: skip

KIND = Kind(
    "ratchet",
    mark("a ratchet wheel"),
    rank=120,
    keys=KEYS,
    read=read,
    questions=QUESTIONS,
    counts="teeth",
)
