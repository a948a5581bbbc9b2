"""Worm wheels gashed with the table swung: most of the stock out, the rest for the hob.

The wheel is held as a spur gear and indexed as one; the table is swung by the worm's lead angle,
and the cutter is sunk by the knee over the middle of the face, without any feed along (Practical
Treatise on Milling and Milling Machines, 1914, p. 163). Hobbing is another set-up: the wheel then
turns freely and nothing is indexed.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from functools import partial
from math import atan, cos, pi, radians, sin, sqrt, tan

from assistant.job import cutter_fit
from assistant.job.cutter_fit import Wanted
from assistant.job.kinds import (
    ask,
    common,
    gear_drawing,
    gear_questions,
    helical_gear,
    spur_gear,
)
from assistant.job.part import (
    ONE_PASS,
    Figure,
    Findings,
    Part,
    Pass,
    Passes,
    Round,
    Shop,
    depths_said,
    depths_shown,
    equal_cuts,
    passes_to,
)
from assistant.job.question import Form, Question
from assistant.job.reader import Table
from assistant.job.shapes import Drawing
from assistant.job.units import Unit, angle_said, angle_shown, near, said, shown
from assistant.job.work import Kind, Work
from assistant.words.language import mark, number, say
from assistant.words.spoken import capital, sentences
from solver import Degrees, Millimetres

KEYS = (
    "teeth", "module", "axial_pitch", "pressure_angle", "starts", "worm_diameter", "hand", "face",
    "cutter_width", "leave", *common.PASS_KEYS,
)  # fmt: skip

_CLEARANCE = Fraction(1, 4)  # modules, beyond the worm's own tip: what the hob reaches
_STEPS = 400


@dataclass(frozen=True, slots=True)
class WormWheel(Work):
    """Lengths in mm. `module` is that of the worm along its axis, `worm_diameter` its pitch
    diameter; `face` is as wide as the throat is turned. `leave`: on the floor, for the hob."""

    teeth: int
    module: Millimetres
    pressure_degrees: Degrees
    starts: int
    worm_diameter: Millimetres
    hand: str
    face: Millimetres
    cutter_width: Millimetres
    leave: Millimetres
    passes: Passes = ONE_PASS

    @property
    def lead_angle(self) -> float:
        """Radians: tan = starts x module / pitch diameter of the worm."""
        return atan(float(self.starts * self.module / self.worm_diameter))

    def make(self, shop: Shop, found: Findings) -> Part | None:
        _check(self, shop, found)
        if found.refusals or shop.cutter.diameter is None:
            return None
        above = before_throat(self, shop.cutter.diameter)
        passes = passes_to(Millimetres(above + gash_depth(self)), self.passes, found, shop.unit)
        if found.refusals:
            return None
        labels = [say("gash {n}", n=number(n + 1)) for n in range(self.teeth)]
        return Part(
            plan=_plan(self, shop),
            figures=_figures(self, above, passes, shop),
            rounds=(Round(equal_cuts(self.teeth, labels)),),
            passes=passes,
            steps=_steps(self, passes, shop),
            draw=partial(_draw, self),
            rim=spur_gear.gear_rim(float(self.module), float(pitch_diameter(self))),
        )

    def wanted_cutter(self, unit: Unit) -> Wanted:
        return cutter_fit.named_width(self.cutter_width, widest_cutter(self), unit)


def read(table: Table) -> WormWheel:
    """The figures of the table, lengths in mm: 12 to 1000 teeth; each fault goes into
    the table's list.
    """
    module = _read_module(table)
    return WormWheel(
        teeth=table.whole("teeth", 12, 1000),
        module=Millimetres(module),
        pressure_degrees=table.degrees("pressure_angle", Degrees(Fraction(20))),
        starts=table.whole("starts", 1, 12, 1),
        worm_diameter=table.length("worm_diameter"),
        hand=table.choice("hand", ("right", "left"), "right"),
        face=table.length("face"),
        cutter_width=table.length("cutter_width"),
        leave=Millimetres(table.maybe_length("leave") or module / 8),
        passes=common.read_passes(table),
    )


def _read_module(table: Table) -> Fraction:
    if table.one_of("module", "axial_pitch") == "axial_pitch":
        return near(float(table.length("axial_pitch")) / pi)
    return table.number("module", 0.1, 100) if table.has("module") else Fraction(1)


# --- the figures ------------------------------------------------------------------------


def pitch_diameter(work: WormWheel) -> Millimetres:
    """In mm."""
    return Millimetres(work.teeth * work.module)


def centre_distance(work: WormWheel) -> Millimetres:
    """From the axis of the wheel to that of the worm, in mm."""
    return Millimetres((pitch_diameter(work) + work.worm_diameter) / 2)


def throat_diameter(work: WormWheel) -> Millimetres:
    """Where the throat is deepest, mm: pitch diameter and two addenda."""
    return Millimetres(pitch_diameter(work) + 2 * work.module)


def throat_radius(work: WormWheel) -> Millimetres:
    """Of the hollow, mm: the worm's root side reaches in by an addendum."""
    return Millimetres(work.worm_diameter / 2 - work.module)


def hob_diameter(work: WormWheel) -> Millimetres:
    """The worm's outside with the clearance, mm: nothing larger may be sunk to the floor."""
    return Millimetres(work.worm_diameter + 2 * work.module * (1 + _CLEARANCE))


def gash_depth(work: WormWheel) -> Millimetres:
    """Below the throat, mm: two addenda and the clearance, less what is left for the hob."""
    return Millimetres(work.module * (2 + _CLEARANCE) - work.leave)


def widest_cutter(work: WormWheel) -> float:
    """As wide as the worm's thread is where the gash ends, square to it, mm: there the hob goes
    nearly straight in, and a wider gash would cut into the fillets (geometry of the rack)."""
    below = float(work.module * (1 + _CLEARANCE) - work.leave)
    thread = pi * float(work.module) / 2 - 2 * below * tan(radians(work.pressure_degrees))
    return thread * cos(work.lead_angle)


def before_throat(work: WormWheel, cutter: Fraction) -> Millimetres:
    """How far the cutter is sunk from its first touch, at the edges of the hollow, until it would
    touch the throat, mm: it is rounder than the throat is hollow (geometry). One corner of its
    width touches first, that which lies nearer to the wheel's crown."""
    radius, half = float(cutter) / 2, float(work.cutter_width) / 2
    sides = (half * n / 4 for n in range(-4, 5))
    highest = max(_touch(work, radius, side) for side in sides)
    return near(highest - radius - float(centre_distance(work) - throat_radius(work)))


def _touch(work: WormWheel, radius: float, side: float) -> float:
    """The height of the cutter's middle over the axis as a circle of it, `side` mm from its middle
    plane, meets the hollow."""
    lean, hollow = work.lead_angle, float(throat_radius(work))
    centre, edge = float(centre_distance(work)), float(work.face) / 2
    highest = 0.0
    for n in range(-_STEPS, _STEPS + 1):
        along = edge * n / _STEPS  # the wheel's axis
        way = (along + side * sin(lean)) / cos(lean)
        across = way * sin(lean) + side * cos(lean)
        ring = centre - sqrt(hollow**2 - along**2)
        if abs(way) < radius and abs(across) < ring:
            highest = max(highest, sqrt(ring**2 - across**2) + sqrt(radius**2 - way**2))
    return highest


# --- the part ---------------------------------------------------------------------------


def _check(work: WormWheel, shop: Shop, found: Findings) -> None:
    unit, cutter = shop.unit, shop.cutter
    swing = shop.machine.table_swing_degrees
    if work.lead_angle > radians(swing):
        found.refuse(
            "starts",
            f"the worm's lead angle is {angle_shown(work.lead_angle * 180 / pi)}, and the table "
            f"swings to {float(swing):g} degrees: fewer starts, or a larger worm",
        )
    if throat_radius(work) <= 0:
        least = shown(Millimetres(2 * work.module), unit)
        found.refuse("worm_diameter", f"the worm has no body: more than {least} at its pitch line")
    elif work.face >= 2 * throat_radius(work):
        most = shown(Millimetres(2 * throat_radius(work)), unit)
        found.refuse("face", f"the throat can't be wider than its own hollow: less than {most}")
    if gash_depth(work) <= 0:
        found.refuse("leave", f"nothing is left to gash: less than {shown(work.module, unit)}")
    if found.refusals:
        return
    if cutter.diameter is None:
        found.refuse("cutter_width", "the diameter of the cutter is not known, and its first touch "
                     'is reckoned with it: add [cutter] diameter = "60 mm"')  # fmt: skip
    elif cutter.diameter > hob_diameter(work):
        found.refuse("cutter_width", f"a cutter of {shown(cutter.diameter, unit)} is flatter than "
                     "the throat and cuts into what the hob has to leave: "
                     f"{shown(hob_diameter(work), unit)} or less")  # fmt: skip
    if float(work.cutter_width) > widest_cutter(work):
        found.refuse("cutter_width", "the cutter is wider than the worm's thread where the gash "
                     f"ends: {shown(max(0.0, widest_cutter(work)), unit)} or less")  # fmt: skip


def _plan(work: WormWheel, shop: Shop) -> str:
    return sentences(
        say(
            "A worm wheel of {teeth}, gashed with the table swung {angle}.",
            teeth=spur_gear.teeth_said(work.teeth), angle=angle_said(work.lead_angle * 180 / pi),
        ),
        capital(say("{left} are left on the floor for the hob, which is another set-up.",
                    left=said(work.leave, shop.unit))),
    )  # fmt: skip


def _figures(
    work: WormWheel, above: Fraction, passes: tuple[Pass, ...], shop: Shop
) -> tuple[Figure, ...]:
    unit = shop.unit
    return (
        Figure("throat diameter", shown(throat_diameter(work), unit)),
        Figure("throat radius", shown(throat_radius(work), unit)),
        Figure("pitch diameter", shown(pitch_diameter(work), unit)),
        Figure("centre distance", shown(centre_distance(work), unit)),
        Figure("lead angle of the worm", angle_shown(work.lead_angle * 180 / pi)),
        Figure("table swing", f"{angle_shown(work.lead_angle * 180 / pi)} "
               f"{helical_gear.swing_words(work.hand)}"),
        Figure("gash below the throat", shown(gash_depth(work), unit)),
        Figure("first touch above the throat", shown(Millimetres(above), unit)),
        Figure("depths", depths_shown(passes, unit)),
        Figure("left on the floor for the hob", shown(work.leave, unit)),
        Figure("widest cutter", shown(widest_cutter(work), unit)),
        Figure("largest cutter", shown(hob_diameter(work), unit)),
    )  # fmt: skip


def _steps(work: WormWheel, passes: tuple[Pass, ...], shop: Shop) -> tuple[str, ...]:
    """The middle of the face is found after the swing, which carries the wheel along."""
    return (
        say("Side cutter {size} wide on the arbor, running the right way.",
            size=said(work.cutter_width, shop.unit)),
        say(
            "Wheel on a mandrel, dogged and running true. Its throat should measure {size}.",
            size=said(throat_diameter(work), shop.unit),
        ),
        _across(work, shop),
        say(
            "Now swing the table {angle} {way}. Clamp it.",
            angle=angle_said(work.lead_angle * 180 / pi), way=helical_gear.swing_words(work.hand),
        ),
        say("Run the table along until the cutter stands over the middle of the face."),
        say("Table and saddle clamped for good: only the knee is fed, and lowered clear again."),
        say("Raise the wheel until the turning cutter touches the edges of its hollow on both "
            "sides. Set the depth dial to nought."),
        common.depth_step(depths_said(passes, shop.unit), by_knee=True),
    )  # fmt: skip


def _across(work: WormWheel, shop: Shop) -> str:
    """Beside the mandrel, whose diameter is on it: the wheel's hollow sides give no true touch."""
    return say(
        "Cutter over the axis: touch one side of the mandrel with the side of the cutter. "
        "Lower the table clear. Move across half the mandrel and {size}.",
        size=said(Millimetres(work.cutter_width / 2), shop.unit),
    )


def _draw(work: WormWheel) -> Drawing:
    """The section through the throat, as the hob will leave it."""
    top = float(throat_diameter(work)) / 2
    root = top - float(work.module * (2 + _CLEARANCE))
    return gear_drawing.gear(
        top, root, float(work.module), work.teeth, radians(work.pressure_degrees)
    )


# --- what is asked ----------------------------------------------------------------------

QUESTIONS = (
    gear_questions.TEETH,
    Question(
        "work", "module", mark("Which module?"), mark("That of the worm, along its axis."),
        Form.NUMBER,
    ),
    gear_questions.PRESSURE_ANGLE,
    ask.whole("starts", mark("How many starts has the worm?"), mark("One as a rule."), "1"),
    ask.length(
        "worm_diameter", mark("Which diameter has the worm?"),
        mark("At its pitch line: outside less two modules."),
    ),
    Question(
        "work", "hand", mark("Which hand has the worm?"), mark("The wheel's teeth lean alike."),
        Form.CHOICE, ask.HANDS, lambda _: "right",
    ),
    ask.length("face", mark("How wide is the hollow of the wheel?"), mark("From edge to edge.")),
    ask.length(
        "cutter_width", mark("How wide is the cutter for the gashes?"),
        mark("So narrow that the hob finds stock on both flanks."),
    ),
    ask.length(
        "leave", mark("How much is left for the hob?"),
        mark("On the floor. Enter: an eighth of the module."), needed=False,
    ),
    ask.PASSES, ask.FINISH,
)  # fmt: skip

KIND = Kind(
    "worm-wheel",
    mark("a worm wheel, gashed for the hob"),
    rank=50,
    keys=KEYS,
    read=read,
    questions=QUESTIONS,
)
