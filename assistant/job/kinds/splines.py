"""Straight-sided splines: both sides with a side and face cutter, then the root made round.

The flat floor of the two sides meets the root circle at the spline's foot alone and stands
proud of it between. So the root is gone over once more: by a narrow saw set over the axis and
stepped round at the root radius, or by a concave form cutter of that radius (common practice).
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from fractions import Fraction
from functools import partial
from math import asin, ceil, cos, pi, sin, sqrt, tau

from assistant.job import cutter_fit, standards
from assistant.job.cutter_fit import Wanted
from assistant.job.kinds import ask, common
from assistant.job.limits import Limits, called_finely, room_within
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
from assistant.job.shapes import (
    Drawing,
    Point,
    Shape,
    arc_points,
    disc,
    ring_anchors,
    slot_shape,
    turned,
)
from assistant.job.units import Unit, near, said, shown
from assistant.job.work import Kind, Work
from assistant.words.language import mark, number, say, say_n
from assistant.words.spoken import capital, sentences
from solver import Head, Millimetres, Turns, degrees_text

_HUB_BEARS = 0.03  # mm: a sliding fit has about so much play (common practice)
_CLOSE = Fraction(6, 100)  # of several figures together, each
KEYS = (
    "splines", "width", "outside", "root", "cutter_width", "root_saw", "root_form",
    *common.PASS_KEYS,
)  # fmt: skip

MOST_PROUD = 0.1  # mm over the root circle: with more the hub does not go on
_SCALLOP = 0.02  # mm left between two steps of the saw
_TOLD = 0.02  # mm; what stands higher is told
_SAWS = (5, 4, 3, 2.5, 2, 1.6, 1.2, 1, 0.8, 0.6, 0.5, 0.4, 0.3, 0.2)  # mm: R20 and neighbours


@dataclass(frozen=True, slots=True)
class Splines(Work):
    """`width` of each spline, `outside` and `root` diameters, mm.

    `root_saw` is the width of the saw that makes the root round (None: the cutter itself),
    `root_form` that of a concave form cutter of the root's radius in its place.
    """

    splines: int
    width: Millimetres
    outside: Millimetres
    root: Millimetres
    cutter_width: Millimetres
    passes: Passes = ONE_PASS
    limits: Limits | None = None  # of the width, which is then their middle
    root_saw: Millimetres | None = None
    root_form: Millimetres | None = None

    @property
    def saw(self) -> Millimetres:
        """Width of what makes the root round, mm."""
        return self.root_form or self.root_saw or self.cutter_width

    def make(self, shop: Shop, found: Findings) -> Part | None:
        _check(self, found, shop.unit)
        if found.refusals:
            return None
        places = root_places(self, shop.head)
        _check_root(self, places, shop, found)
        passes = passes_to(depth(self), self.passes, found, shop.unit)
        if found.refusals:
            return None
        return Part(
            plan=_plan(self, shop),
            figures=_figures(self, passes, places, shop),
            rounds=_rounds(self, places, shop),
            passes=passes,
            steps=_steps(self, passes, shop),
            measurements=_measurements(self),
            limited="width",
            draw=partial(_draw, self, places),
            rim=Rim(
                float(self.outside), _HUB_BEARS, mark("a hub on such splines"),
                mark("from one spline to the next"), first_round=True,
            ),
        )  # fmt: skip

    def wanted_cutter(self, unit: Unit) -> Wanted:
        return cutter_fit.named_width(self.cutter_width, widest_cutter(self), unit)

    def odd_size(self, unit: Unit) -> Objection | None:
        return _standard(self, unit)


def read(table: Table) -> Splines:
    """The figures of the table, lengths in mm: 2 to 100 splines; each fault goes into
    the table's list.
    """
    width, limits = table.limited("width")
    return Splines(
        splines=table.whole("splines", 2, 100),
        width=width,
        limits=limits,
        outside=table.length("outside"),
        root=table.length("root"),
        cutter_width=table.length("cutter_width"),
        passes=common.read_passes(table),
        root_saw=table.maybe_length("root_saw"),
        root_form=_form(table),
    )


def _form(table: Table) -> Millimetres | None:
    if table.has("root_saw") and table.has("root_form"):
        table.fault("root_form", "root_saw and root_form: give one of them")
    return table.maybe_length("root_form")


# --- the figures ------------------------------------------------------------------------


def floor(work: Splines) -> float:
    """Height of the flat floor over the axis, mm: its corner at the spline lies on the root
    circle, so that the mate's bore clears it: sqrt(d^2/4 - w^2/4)."""
    return sqrt(float(work.root**2 - work.width**2)) / 2


def depth(work: Splines) -> Millimetres:
    """Below the top of the round bar, mm."""
    return near(float(work.outside) / 2 - floor(work))


def edge_offset(work: Splines) -> Millimetres:
    """From the axis to the cutting edge, mm: half the spline."""
    return Millimetres(work.width / 2)


def move_across(work: Splines) -> Millimetres:
    """From cutting one side to cutting the other, mm: the cutter and the spline."""
    return Millimetres(work.cutter_width + work.width)


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


# --- the root made round ----------------------------------------------------------------


def nearest_step(work: Splines) -> float:
    """From a spline's middle to the nearest place of the saw, in turns: its corner at the flank.

    r sin a - c/2 cos a = w/2, the saw c wide and over the axis; farther out it leaves the flank.
    """
    radius, half = float(work.root) / 2, float(work.saw) / 2
    reach = sqrt(radius**2 + half**2)
    return (asin(float(work.width) / 2 / reach) + asin(half / reach)) / tau


def widest_saw(work: Splines) -> float:
    """The widest, mm, that goes in between two splines down to the root."""
    angle = pi / work.splines
    if work.root_form:
        foot = asin(float(work.width / work.root))
        return float(work.root) * sin(angle - foot) if angle - foot < pi / 2 else float(work.root)
    if cos(angle) <= 1e-12:
        return float("inf")
    return (float(work.root) * sin(angle) - float(work.width)) / cos(angle)


def root_places(work: Splines, head: Head) -> tuple[Turns, ...]:
    """Places of the first space's root cuts, in turns, on holes that the head has."""
    space = Fraction(1, work.splines)
    if work.root_form:
        return (Turns(space / 2),)
    grid = space / _steps_a_space(work, head)
    first = Turns(min(ceil(nearest_step(work) / float(grid) - 1e-9) * grid, space / 2))
    # No wedge may stand between two steps at the outside, no scallop at the root.
    outside, root = float(work.outside) / 2, float(work.root) / 2
    wedge = 2 * asin(min(1.0, float(work.saw) / 2 / outside)) / tau
    scallop = 2 * sqrt(2 * _SCALLOP / root) / tau
    # A step that is rounded to a hole may be that much longer.
    longest = max(min(wedge, scallop) - float(grid), min(wedge, scallop) / 2)
    spaces = ceil(float(space - 2 * first) / longest - 1e-9)
    if spaces <= 0:
        return (first,)
    steps = [round((space - 2 * first) * n / spaces / grid) for n in range(spaces + 1)]
    return tuple(Turns(first + step * grid) for step in steps)


def _steps_a_space(work: Splines, head: Head) -> int:
    """How finely the head divides the space between two splines without a remainder."""
    circles = [circle for plate in head.plates for circle in plate.circles]
    found = [head.worm_ratio * circle / work.splines for circle in circles]
    if head.handwheel:
        found.append(21600 / head.handwheel.division_minutes / work.splines)
    found += [Fraction(circle, work.splines) for circle in head.direct_circle]
    whole = [int(steps) for steps in found if steps.denominator == 1 and steps > 1]
    return max(whole, default=60)


def proud(work: Splines, places: tuple[Turns, ...]) -> float:
    """The most that stands over the root circle between two splines, mm along a radius."""
    foot, space = asin(float(work.width / work.root)) / tau, 1 / work.splines
    rays = [foot + (space - 2 * foot) * n / 400 for n in range(401)]
    return max(_standing(work, ray, places) for ray in rays)


def _standing(work: Splines, ray: float, places: tuple[Turns, ...]) -> float:
    """What no cut takes along a radius at `ray` turns from the first spline, mm."""
    low, high = float(work.root) / 2, float(work.outside) / 2
    edge, wide, saw = float(work.width) / 2, float(work.cutter_width), float(work.saw) / 2
    sides = [(ray, edge, edge + wide), (ray - 1 / work.splines, -edge - wide, -edge)]
    taken = [_along(turn, left, right, floor(work)) for turn, left, right in sides]
    bottom = 0.0 if work.root_form else low
    taken += [_along(ray - float(place), -saw, saw, bottom) for place in places]
    stands, reached = 0.0, low
    for start, end in sorted(each for each in taken if each is not None):
        stands += max(0.0, min(start, high) - reached)
        reached = max(reached, end)
    return stands + max(0.0, high - reached)


def _along(turn: float, left: float, right: float, bottom: float) -> tuple[float, float] | None:
    """From where to where a radius, `turn` beside the cutter's upright, lies in its slot."""
    s, c = sin(tau * turn), cos(tau * turn)
    if c <= 0:
        return None
    start, end = bottom / c, float("inf")
    if abs(s) < 1e-12:
        return (start, end) if left <= 0 <= right else None
    near_edge, far_edge = sorted((left / s, right / s))
    start, end = max(start, near_edge), min(end, far_edge)
    return (start, end) if end > start else None


# --- the part ---------------------------------------------------------------------------


def _check(work: Splines, found: Findings, unit: Unit) -> None:
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
        room = Millimetres(work.root * near(sin(pi / work.splines)))
        found.refuse("width", f"{work.splines} splines of {shown(work.width, unit)} leave no room "
                     f"between them at the root: less than {shown(room, unit)}")  # fmt: skip
    elif float(work.cutter_width) > widest + 1e-9:
        found.refuse("cutter_width", f"a cutter of {shown(work.cutter_width, unit)} would cut into "
                     f"the next spline: {shown(widest, unit)} or narrower")  # fmt: skip
    _suspect(work, found, unit)


def _suspect(work: Splines, found: Findings, unit: Unit) -> None:
    tall = (work.outside - work.root) / 2
    if work.width < tall:
        found.warn("width", f"splines of {shown(work.width, unit)} are narrower than they are "
                   "tall: look again")  # fmt: skip


def _check_root(work: Splines, places: tuple[Turns, ...], shop: Shop, found: Findings) -> None:
    # It is touched beside the spline, in the slot that the cutter left.
    unit, widest = shop.unit, min(widest_saw(work), float(work.cutter_width))
    key = "root_form" if work.root_form else "root_saw" if work.root_saw else "cutter_width"
    if float(work.saw) > widest + 1e-9:
        found.refuse(key, f"{shown(work.saw, unit)} does not go in between the splines at the "
                     f"root: {shown(widest, unit)} or narrower")  # fmt: skip
        return
    stands = proud(work, places)
    if stands > MOST_PROUD:
        found.refuse(key, f"with {shown(work.saw, unit)} the root stands {shown(stands, unit)} "
                     f"proud between the splines, and no hub goes on: {_cure(work, shop)}"
                     )  # fmt: skip
    elif stands > _TOLD:
        bore = float(work.root) + 2 * stands
        found.warn(key, f"beside the splines the root stands {shown(stands, unit)} proud: a hub "
                   f"goes on from a bore of {shown(bore, unit)}")  # fmt: skip


def _cure(work: Splines, shop: Shop) -> str:
    """The widest saw of a common width that makes the root round enough."""
    for wide in map(Fraction, map(str, _SAWS)):
        saw = replace(work, root_saw=Millimetres(wide), root_form=None)
        narrower = wide < work.saw or work.root_form is not None
        if narrower and proud(saw, root_places(saw, shop.head)) <= MOST_PROUD:
            return f'a saw stepped round, root_saw = "{shown(Millimetres(wide), shop.unit)}"'
    return "a narrower saw, stepped round"


def _plan(work: Splines, shop: Shop) -> str:
    what = say(
        "{splines} {width} wide.",
        splines=say_n(work.splines, "one spline", "{count} splines"),
        width=said(work.width, shop.unit),
    )
    how = say("First one side of every spline, then the other side, then the root is made round.")
    ask = say("After the first spline of the second side I ask for its width.")
    return sentences(capital(what), how, ask)


def _figures(
    work: Splines, passes: tuple[Pass, ...], places: tuple[Turns, ...], shop: Shop
) -> tuple[Figure, ...]:
    unit, widest = shop.unit, widest_cutter(work)
    return (
        Figure("height of a spline", shown((Millimetres((work.outside - work.root) / 2)), unit)),
        Figure("depth of the sides, from the top of the bar", shown(depth(work), unit)),
        Figure("depths", depths_shown(passes, unit)),
        *common.limit_figures("width", work.limits, unit),
        Figure("from touching the side to the axis", shown(common.to_centre(*_bar(work)), unit)),
        Figure("from the axis on to the first side", shown(across(work), unit)),
        Figure("back across for the other side", shown(move_across(work), unit)),
        Figure("widest cutter", "any" if widest > 1e6 else shown(widest, unit)),
        Figure("depth of the root, from the top of a spline", shown(root_depth(work), unit)),
        Figure("root cuts in a space", _root_shown(work, places, unit)),
        Figure("root stands proud at most", shown(proud(work, places), unit)),
    )


def _root_shown(work: Splines, places: tuple[Turns, ...], unit: Unit) -> str:
    """ "4, with 2 mm, at 22.5°, 27.5°, 32.5°, 37.5°" """
    at = ", ".join(degrees_text(place) for place in places)
    what = "concave cutter of" if work.root_form else "saw of"
    return f"{len(places)}, {what} {shown(work.saw, unit)}, at {at}"


def _bar(work: Splines) -> tuple[Millimetres, Millimetres]:
    return work.outside, work.cutter_width


def across(work: Splines) -> Millimetres:
    """From the cutter over the axis to its nearer edge half a spline past it, mm."""
    return Millimetres((work.cutter_width + work.width) / 2)


def root_depth(work: Splines) -> Millimetres:
    """Below the top of a spline, mm."""
    return Millimetres((work.outside - work.root) / 2)


def _rounds(work: Splines, places: tuple[Turns, ...], shop: Shop) -> tuple[Round, ...]:
    finely = called_finely(room_within(work.limits), shop.unit)
    back = say(
        "Wind the table back across, over the spline, {size} and one turn more. "
        "Then one turn on, the first way again: the slack lies as it did.",
        size=said(move_across(work), shop.unit, finely=finely),
    )
    return (
        Round(_cuts(work), say("one side")),
        Round(_cuts(work), say("other side"), (back,)),
        Round(
            _root_cuts(work, places),
            say("root"),
            _root_settings(work, shop),
            passes=(Pass("", root_depth(work)),),
        ),
    )


def _root_settings(work: Splines, shop: Shop) -> tuple[str, ...]:
    """The saw finds the axis from the spline that stands on top: the bar is no longer round."""
    wide = said(work.saw, shop.unit)
    if work.root_form:
        radius = said(Millimetres(work.root / 2), shop.unit)
        change = say(
            "Concave cutter of radius {radius}, {width} wide, in place of the cutter.",
            radius=radius, width=wide,
        )  # fmt: skip
    elif work.root_saw:
        change = say("Saw of {width} in place of the cutter.", width=wide)
    else:
        change = say("The same cutter stays.")
    return (
        change,
        say(
            "Cutter over the axis: at the first hole touch the side of spline one with the side of "
            "the cutter. Lower the table clear. Move across {size}, over the spline.",
            size=said((Millimetres((work.saw + work.width) / 2)), shop.unit),
        ),
        _touch_spline(work),
        common.depth_step((said(root_depth(work), shop.unit),)),
    )


def _touch_spline(work: Splines) -> str:
    return say("Touch the top of spline one with the turning cutter, and set the depth dial to "
               "nought.")  # fmt: skip


def _root_cuts(work: Splines, places: tuple[Turns, ...]) -> tuple[Cut, ...]:
    return tuple(
        Cut(
            Turns(Fraction(n, work.splines) + place),
            say("root {n}, step {step}", n=number(n + 1), step=number(step))
            if len(places) > 1
            else say("root {n}", n=number(n + 1)),
        )
        for n in range(work.splines)
        for step, place in enumerate(places, 1)
    )


def _cuts(work: Splines) -> tuple[Cut, ...]:
    return tuple(
        Cut(Turns(Fraction(n, work.splines)), say("spline {n}", n=number(n + 1)))
        for n in range(work.splines)
    )


def _steps(work: Splines, passes: tuple[Pass, ...], shop: Shop) -> tuple[str, ...]:
    return (
        common.runs_true(work.outside, shop),
        common.over_axis(*_bar(work), shop),
        common.touch_top(),
        common.move_on(
            across(work),
            say("the cutter's nearer edge is {size} past the axis",
                size=said(edge_offset(work), shop.unit)),
            shop,
        ),
        common.depth_step(depths_said(passes, shop.unit)),
    )  # fmt: skip


def _measurements(work: Splines) -> tuple[Measurement, ...]:
    """The first spline, when its second side is cut to depth: what is left is moved across.

    Only in the last pass: what is left is no depth for a pass after it.
    """
    return (
        Measurement(
            say("the width of spline one"), 1, work.passes.number, 1,
            Millimetres(work.width + work.cutter_width), work.width, work.width, Fraction(1),
            sideways=True,
        ).within(work.limits),
    )  # fmt: skip


def cut_shape(work: Splines, side: int) -> tuple[Point, ...]:
    """What the cutter takes at the top of the bar on one side (1 or -1), to the bar's skin."""
    outer = float(work.outside) / 2
    near_edge = float(work.width) / 2
    far = min(near_edge + float(work.cutter_width), sqrt(outer**2 - floor(work) ** 2))
    points = slot_shape(outer, near_edge, far, floor(work))
    return points if side > 0 else tuple((-x, y) for x, y in points)


def _draw(work: Splines, steps: tuple[Turns, ...]) -> Drawing:
    places = [n / work.splines for n in range(work.splines)]
    shapes = [
        Shape(turned(cut_shape(work, side), place), cut=n + shift)
        for side, shift in ((-1, 0), (1, work.splines))
        for n, place in enumerate(places)
    ]
    roots = [place + float(step) for place in places for step in steps]
    shapes += [
        Shape(turned(root_shape(work), place), cut=2 * work.splines + n)
        for n, place in enumerate(roots)
    ]
    root = Shape(disc(float(work.root) / 2).points, "witness")
    radius = float(work.outside) / 2
    anchors = ring_anchors(radius * 1.1, (*places, *places, *roots))
    return Drawing((disc(radius), *shapes, root), anchors)


def root_shape(work: Splines) -> tuple[Point, ...]:
    """What saw or form cutter takes at the top of the bar, to the bar's skin."""
    outer, half, root = float(work.outside) / 2, float(work.saw) / 2, float(work.root) / 2
    if not work.root_form:
        return slot_shape(outer, -half, half, root)
    low, high = asin(half / root) / tau, asin(half / outer) / tau
    return (*arc_points(root, -low, low, 12), *reversed(arc_points(outer, -high, high, 12)))


def _standard(work: Splines, unit: Unit) -> Objection | None:
    kept = standards.standard_table("splines")
    width = work.limits.nominal if work.limits else work.width
    given = {"root": work.root, "outside": work.outside, "width": width}
    rows = [row for row in kept.sizes if row["splines"] == work.splines]

    def off(row: dict[str, Fraction]) -> Fraction:
        return max(abs(row[key] - given[key]) / row[key] for key in given)

    best = min(rows, key=off, default=None)
    if best is None or not 0 < off(best) <= _CLOSE:
        return None
    key = max(given, key=lambda key: abs(best[key] - given[key]) / best[key])
    figures = " x ".join(f"{float(best[key]):g}" for key in ("splines", "root", "outside"))
    return Objection(
        key,
        f"{shown(given[key], unit)}: the nearest spline of {kept.name} is {figures}, each "
        f"{float(best['width']):g} mm wide, and has {shown(best[key], 'mm')} there: look again",
    )


# --- what is asked ----------------------------------------------------------------------


def _spline(answers: Answers, key: str) -> str:
    """Root or width of the first spline of that count and outside diameter (ISO 14)."""
    count, outside = answers.whole("splines"), answers.length("outside")
    for row in standards.standard_table("splines").sizes:
        if (row["splines"], row["outside"]) == (count, outside):
            return answers.shown(row[key])
    return ""


QUESTIONS = (
    ask.whole(
        "splines", mark("How many splines?"),
        mark("Six, eight or ten in the standard."), "6",
    ),
    ask.length("outside", mark("Outside diameter?"), mark("Of the shaft, over the splines.")),
    Question(
        "work", "root", mark("Diameter at the root?"),
        mark("In brackets where ISO 14 has such a shaft."), Form.LENGTH,
        default=lambda a: _spline(a, "root"),
    ),
    Question(
        "work", "width", mark("Width of a spline, with its limits?"),
        mark("Like 6, or 6 -0.05 -0.02. In brackets where ISO 14 has such a shaft."),
        Form.LENGTH, default=lambda a: _spline(a, "width"),
    ),
    ask.length(
        "cutter_width", mark("How wide is the cutter for the sides?"),
        mark("It has to fit between two splines down at the root."),
    ),
    ask.length(
        "root_saw", mark("How wide is the saw that makes the root round?"),
        mark("It is stepped round between the splines. Enter: none."), needed=False,
    ),
    ask.PASSES, ask.FINISH,
)  # fmt: skip

KIND = Kind(
    "splines",
    mark("splines on a shaft"),
    rank=70,
    keys=KEYS,
    read=read,
    questions=QUESTIONS,
)
