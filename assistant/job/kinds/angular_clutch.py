"""Clutches with saw teeth or V teeth: the head is tilted, so that the halves bear all along.

The sloping flank of a tooth is a plane through a point on the axis. Both halves are cut alike and
bear from the rim to the bore where the points rise outward as much as the bottoms fall. Then the
bottom lies level under the cutter when the head is tilted to A, with
    cos A = tan(180/N) cot(cutter angle)           saw teeth, single-angle cutter
    cos A = tan(90/N) cot(half the cutter angle)   V teeth, double-angle cutter
The first stands in handbooks (from memory); both follow from the planes of the flanks.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import partial
from math import acos, asin, atan, cos, degrees, pi, radians, sin, tan, tau

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
from assistant.job.question import Form, Question
from assistant.job.reader import Table
from assistant.job.shapes import Drawing, Point, Shape, arc_points, disc, ring_anchors, turned
from assistant.job.units import Unit, angle_said, angle_shown, near, said, shown
from assistant.job.work import Kind, Work
from assistant.words.choice import Choice
from assistant.words.language import mark, number, say, say_n
from assistant.words.spoken import sentences
from solver import Degrees, Millimetres

KEYS = (
    "form", "teeth", "outside", "bore", "cutter_angle", "drives", "depth", *common.PASS_KEYS,
)  # fmt: skip

SAW, VEE = "saw-tooth", "v"
_TEETH_BEAR = 0.05  # mm: more, and one tooth alone drives (common practice)
_STEEPEST = (
    45.0  # degrees that a bottom may fall: beyond it a tooth is deeper than its ring is wide
)
_SHARP = 0.02  # mm: a land narrower than this is a sharp point
_SHALLOW = 0.65  # of sharp points: under it hardly a third of the flanks bears (geometry)


@dataclass(frozen=True, slots=True)
class AngularClutch(Work):
    """`outside` and `bore` are where the teeth begin and end, mm. `cutter_degrees`: the whole angle
    of the cutter. `drives`: the way this half pushes the other, seen on its face; "" for V teeth,
    which drive both ways. `depth`: along the axis, at the rim; None: to sharp points."""

    form: str
    teeth: int
    outside: Millimetres
    bore: Millimetres
    cutter_degrees: Degrees
    drives: str = ""
    depth: Millimetres | None = None
    passes: Passes = ONE_PASS

    def make(self, shop: Shop, found: Findings) -> Part | None:
        _check(self, shop, found)
        if found.refusals:
            return None
        passes = passes_to(dial(self), self.passes, found, shop.unit)
        if found.refusals:
            return None
        labels = [say("space {n}", n=number(n + 1)) for n in range(self.teeth)]
        return Part(
            plan=_plan(self, shop),
            figures=_figures(self, passes, shop),
            rounds=(Round(equal_cuts(self.teeth, labels)),),
            passes=passes,
            steps=_steps(self, passes, shop),
            draw=partial(_draw, self),
            between_centres=False,
            level=False,
            rim=Rim(
                float(self.outside), _TEETH_BEAR, mark("such a clutch"),
                mark("from one tooth to the next"),
            ),
        )  # fmt: skip

    def wanted_cutter(self, unit: Unit) -> Wanted:
        return cutter_fit.angle_cutter(self.cutter_degrees)


def read(table: Table) -> AngularClutch:
    """The figures of the table, lengths in mm; each fault goes into the table's list. V teeth drive
    both ways, so `drives` beside them is one.
    """
    form = table.choice("form", (SAW, VEE))
    if form == VEE and table.has("drives"):
        table.fault("drives", "drives: V teeth drive both ways: leave it out")
    return AngularClutch(
        form=form,
        teeth=table.whole("teeth", 3, 360),
        outside=table.length("outside"),
        bore=table.length("bore"),
        cutter_degrees=table.degrees("cutter_angle"),
        drives=table.choice("drives", ("clockwise", "anticlockwise")) if form == SAW else "",
        depth=table.maybe_length("depth"),
        passes=common.read_passes(table),
    )


# --- the figures ------------------------------------------------------------------------


def half_flank(work: AngularClutch) -> float:
    """Half the angle, radians, that a sloping flank takes round the axis."""
    return pi / work.teeth / (2 if work.form == VEE else 1)


def lean(work: AngularClutch) -> float:
    """Of the sloping flank from the upright plane through its bottom, radians."""
    return radians(float(work.cutter_degrees)) / (2 if work.form == VEE else 1)


def fall(work: AngularClutch) -> float:
    """How far the bottoms fall outward, and the points rise, radians; the head is tilted to 90
    degrees less this. Raises ValueError where no tilt does."""
    return asin(tan(half_flank(work)) / tan(lean(work)))


def tilt(work: AngularClutch) -> float:
    """Of the head, degrees; 90 is upright."""
    return degrees(acos(tan(half_flank(work)) / tan(lean(work))))


def sharp_depth(work: AngularClutch) -> float:
    """Along the axis at the rim, mm, where the points come out sharp: D tan(fall)."""
    return float(work.outside) * tan(fall(work))


def depth(work: AngularClutch) -> Millimetres:
    """Along the axis at the rim, mm."""
    return near(sharp_depth(work)) if work.depth is None else work.depth


def dial(work: AngularClutch) -> Millimetres:
    """From touching the highest point of the rim, mm: the table rises square to the bottoms."""
    return near(float(depth(work)) * cos(fall(work)))


def flank_end(work: AngularClutch) -> float:
    """Where the sloping flank comes out at the rim, radians from its bottom.

    It stands R tan(fall) sin(angle - half) / sin(half) above the point where the planes meet.
    """
    radius, half = float(work.outside) / 2 * tan(fall(work)), half_flank(work)
    share = (float(depth(work)) - radius) / radius
    return half + asin(min(1.0, max(-1.0, share)) * sin(half))


def point_land(work: AngularClutch) -> float:
    """What is left flat of a point at the rim, mm."""
    flanks = 2 if work.form == VEE else 1
    return float(work.outside) / 2 * flanks * max(0.0, 2 * half_flank(work) - flank_end(work))


def smallest_angle(work: AngularClutch) -> float:
    """Of a cutter, degrees, with which the bottoms fall no more than the steepest."""
    flank = atan(tan(half_flank(work)) / sin(radians(_STEEPEST)))
    return degrees(flank) * (2 if work.form == VEE else 1)


# --- the part ---------------------------------------------------------------------------


def _check(work: AngularClutch, shop: Shop, found: Findings) -> None:
    least, most = (30, 85) if work.form == SAW else (30, 120)
    if not least <= work.cutter_degrees <= most:
        what = "single-angle" if work.form == SAW else "double-angle"
        found.refuse("cutter_angle", f"cutter angle: {what} cutters for this work have {least} to "
                     f"{most} degrees")  # fmt: skip
        return
    if work.bore >= work.outside:
        found.refuse("bore", f"the bore must be smaller than {shown(work.outside, shop.unit)}")
        return
    smallest = smallest_angle(work)
    if float(work.cutter_degrees) < smallest:
        found.refuse(
            "cutter_angle",
            f"{work.teeth} teeth by this cutter would fall more than {_STEEPEST:g} degrees: "
            f"{_minute_up(smallest)} or more, or more teeth",
        )
        return
    _check_tilt(work, shop, found)
    _check_depth(work, found, shop.unit)


def _minute_up(angle: float) -> str:
    """To the next minute: the angle that is given must do."""
    return angle_shown(-(-angle * 60 // 1) / 60)


def _check_tilt(work: AngularClutch, shop: Shop, found: Findings) -> None:
    least, most = (float(end) for end in shop.head.tilt_degrees)
    if not least <= tilt(work) <= most:
        found.refuse(
            "cutter_angle",
            f"the head would have to be tilted to {angle_shown(tilt(work))}, and {shop.head.name} "
            f"goes from {least:g} to {most:g} degrees: another head",
        )


def _check_depth(work: AngularClutch, found: Findings, unit: Unit) -> None:
    sharp = sharp_depth(work)
    if work.depth is None:
        found.warn("depth", f"no depth is given: the points come out sharp, {shown(sharp, unit)} "
                   "deep: a little less keeps them from the bottoms of the mate")  # fmt: skip
    elif float(work.depth) > sharp + 1e-6:
        found.refuse("depth", f"the points are sharp at {shown(sharp, unit)} already: no more than "
                     "that, or another cutter or number of teeth")  # fmt: skip
    elif float(work.depth) <= sharp / 2:
        # A land goes in only where it is narrower than the mouth between two.
        found.refuse("depth", "the lands come out wider than the spaces, and the halves can't go "
                     f"into each other: more than {shown(sharp / 2, unit)}")  # fmt: skip
    elif float(work.depth) < _SHALLOW * sharp:
        goes = 2 * float(work.depth) - sharp
        found.warn("depth", f"the halves go only {shown(goes, unit)} into each other: sharp points "
                   f"are {shown(sharp, unit)} deep")  # fmt: skip
    elif point_land(work) < _SHARP:
        found.warn("depth", "hardly any land is left at the points: the mate's bottoms are never "
                   "quite sharp")  # fmt: skip


def _plan(work: AngularClutch, shop: Shop) -> str:
    teeth, deep = say_n(work.teeth, "one tooth", "{count} teeth"), said(depth(work), shop.unit)
    if work.form == SAW:
        what = say("A saw-tooth clutch of {teeth}, {depth} deep at the rim.",
                   teeth=teeth, depth=deep)  # fmt: skip
    else:
        what = say("A clutch of {teeth} like a V, {depth} deep at the rim.",
                   teeth=teeth, depth=deep)  # fmt: skip
    how = say(
        "The head is tilted to {angle}, so that the teeth bear from the rim to the bore.",
        angle=angle_said(tilt(work)),
    )
    return sentences(what, how, say("Both halves are cut alike."))


def _figures(work: AngularClutch, passes: tuple[Pass, ...], shop: Shop) -> tuple[Figure, ...]:
    unit = shop.unit
    to_axis = work.outside / 2
    side = (
        (Figure("from touching the side to the axis", shown(Millimetres(to_axis), unit)),)
        if work.form == SAW
        else common.centre_figures(work.outside, shop)
    )
    return (
        Figure("tilt of the head", angle_shown(tilt(work))),
        Figure("bottoms fall outward", angle_shown(degrees(fall(work)))),
        Figure("depth along the axis, at the rim", shown(depth(work), unit)),
        Figure("where the points are sharp", shown(sharp_depth(work), unit)),
        Figure("depths from the highest point of the rim", depths_shown(passes, unit)),
        Figure("land at the points, at the rim", shown(point_land(work), unit)),
        *side,
    )


def _steps(work: AngularClutch, passes: tuple[Pass, ...], shop: Shop) -> tuple[str, ...]:
    return (
        _cutter(work),
        common.runs_true(work.outside, shop),
        say("Head tilted to {angle}, and its bolts tight.", angle=angle_said(tilt(work))),
        say("The tilted face has a high side and a low side. Cut on the high side only."),
        _into_place(work, shop),
        say(
            "Set a stop: feed from the high rim into the bore and back, never across. The cutter's "
            "lowest point must come into the bore. Nothing may stand up there."
        ),
        say(
            "Touch the highest point of the rim with the turning cutter, and set the depth dial to "
            "nought. The corner of the rim must still be sharp there."
        ),
        common.depth_step(depths_said(passes, shop.unit)),
    )


def _cutter(work: AngularClutch) -> str:
    angle = angle_said(work.cutter_degrees)
    if work.form == SAW:
        return say(
            "Single-angle cutter of {angle}, its upright side towards the face of the tooth.",
            angle=angle,
        )
    return say("Double-angle cutter of {angle}, the same on both flanks.", angle=angle)


def _into_place(work: AngularClutch, shop: Shop) -> str:
    """The cutter's body lies over the space: clockwise of the upright face, seen on the face with
    its high side at the top, where this half drives clockwise (geometry)."""
    if work.form == VEE:
        return common.over_centre(work.outside, shop)
    across = said(Millimetres(work.outside / 2), shop.unit)
    if work.drives == "clockwise":
        return say(
            "Look at the face with its low side nearest you. Touch the right side of the work with "
            "the cutter's upright side. Lower the table clear. Move across {size}: the upright "
            "side stands over the axis.",
            size=across,
        )
    return say(
        "Look at the face with its low side nearest you. Touch the left side of the work with "
        "the cutter's upright side. Lower the table clear. Move across {size}: the upright "
        "side stands over the axis.",
        size=across,
    )


# --- the drawing ------------------------------------------------------------------------


def cut_shape(work: AngularClutch) -> tuple[Point, ...]:
    """What the cutter takes of the ring for the first space, seen on the face."""
    outer, inner = float(work.outside) / 2, float(work.bore) / 2
    rim, bore = flank_end(work) / tau, _end_at(work, inner) / tau
    first, last = (-rim, rim) if work.form == VEE else (0.0, rim)
    start, end = (-bore, bore) if work.form == VEE else (0.0, bore)
    points = (*arc_points(outer, first, last, 12), *reversed(arc_points(inner, start, end, 12)))
    return tuple((-x, y) for x, y in points) if work.drives == "anticlockwise" else points


def _end_at(work: AngularClutch, radius: float) -> float:
    """Where the flank ends at this radius, radians: at a point or at the face."""
    half = half_flank(work)
    face = float(depth(work)) - float(work.outside) / 2 * tan(fall(work))
    share = face / (radius * tan(fall(work)))
    return half + asin(min(1.0, max(-1.0, share)) * sin(half))


def _draw(work: AngularClutch) -> Drawing:
    places = [n / work.teeth for n in range(work.teeth)]
    shape = cut_shape(work)
    cuts = [Shape(turned(shape, place), cut=n) for n, place in enumerate(places)]
    radius = float(work.outside) / 2
    ring = (disc(radius), disc(float(work.bore) / 2, "hole"))
    return Drawing((*ring, *cuts), ring_anchors(radius * 1.1, places))


# --- what is asked ----------------------------------------------------------------------

QUESTIONS = (
    Question(
        "work", "form", mark("Which form have the teeth?"),
        mark("Saw teeth drive one way and slip the other, V teeth drive both ways."), Form.CHOICE,
        (Choice("saw-tooth", mark("saw teeth")), Choice("v", mark("like a V"))),
        lambda _: "saw-tooth",
    ),
    Question(
        "work", "drives", mark("Which way does this half push the other?"),
        mark("As you look at its face. The other half is cut alike."), Form.CHOICE,
        (Choice("clockwise", mark("clockwise")), Choice("anticlockwise", mark("anticlockwise"))),
        lambda _: "clockwise", when=lambda a: a.of("form") != "v",
    ),
    ask.whole("teeth", mark("How many teeth?"), mark("All the way round.")),
    ask.length("outside", mark("Outside diameter of the teeth?"), mark("Where they end.")),
    ask.length("bore", mark("Inside diameter of the teeth?"), mark("Where they begin.")),
    ask.angle_question(
        "cutter_angle", mark("Which angle has the cutter?"),
        mark("For saw teeth a single-angle cutter, for a V a double-angle one."), "60d",
    ),
    ask.length(
        "depth", mark("How deep are the teeth at the rim?"),
        mark("Along the axis. Enter: to sharp points."), needed=False,
    ),
    ask.PASSES, ask.FINISH,
)  # fmt: skip

KIND = Kind(
    "angular-clutch",
    mark("a clutch with saw teeth or V teeth"),
    rank=100,
    keys=KEYS,
    read=read,
    questions=QUESTIONS,
)
