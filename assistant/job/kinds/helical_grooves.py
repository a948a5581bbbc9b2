"""Grooves along a helix, by their lead: spiral flutes, oil grooves, threads of many starts.

The table screw drives the head, so that the work turns as the table goes. Leads shorter than the
gears give through the worm come from the same gears set on the head's own spindle, with the
worm out of mesh: a turn of the spindle then costs so many turns fewer of the screw as the worm
ratio says. The gear on the spindle is then the only thing that can be moved on from one groove to
the next, by whole teeth (Practical Treatise on Milling and Milling Machines, 1914, p. 63).
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache, partial
from math import atan, atan2, cos, hypot, pi, prod, radians, sin, sqrt, tan

from assistant.job.cutter_fit import ALIKE, RIGHT, Fit, Wanted, unfit
from assistant.job.kept import Kept
from assistant.job.kinds import ask, common, helical_gear, lead_train
from assistant.job.kinds.lead_train import GearOrder
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
from assistant.job.question import ASKED, Form, Question
from assistant.job.reader import Table
from assistant.job.shapes import Drawing, Shape, disc, ring_anchors, slot_shape, turned
from assistant.job.units import NO_LENGTH, Unit, angle_said, angle_shown, said, shown
from assistant.job.work import Kind, Work
from assistant.words.choice import Choice
from assistant.words.language import mark, number, say, say_n
from assistant.words.spoken import capital, sentences
from solver import Millimetres

KEYS = (
    "grooves", "diameter", "lead", "helix_angle", "hand", "length", "width", "depth",
    "cutter_form", *common.PASS_KEYS,
)  # fmt: skip

_SHARE = 0.02  # of the space (common practice)
_NEAR, _REACHED = 0.002, 0.05  # of the lead: good, and farther off it is another groove
_SEEN = 0.05  # mm aside over the length: what a mating part or an eye finds (common practice)
_ON_SPINDLE = mark("on the head's spindle")
_ON_HEAD = mark("on the head")


@dataclass(frozen=True, slots=True)
class HelicalGrooves(Work):
    """Lengths in mm. `lead` is that of one groove, a whole turn; `length` runs along the axis;
    `width` is square to the groove. `form`: a "side" or "form" cutter on the arbor, to whose plane
    the table is swung, or an "end" mill, which needs no swing."""

    grooves: int
    diameter: Millimetres
    lead: float
    hand: str
    length: Millimetres
    width: Millimetres
    depth: Millimetres
    form: str = "end"
    passes: Passes = ONE_PASS

    @property
    def helix(self) -> float:
        """At the outside diameter, from the axis; radians."""
        return helix_at(float(self.diameter), self.lead)

    def make(self, shop: Shop, found: Findings) -> Part | None:
        _check(self, shop, found)
        driven = None if found.refusals else _check_lead(self, shop, found)
        if found.refusals or driven is None:
            return None
        passes = passes_to(self.depth, self.passes, found, shop.unit)
        if found.refusals:
            return None
        labels = [say("groove {n}", n=number(n + 1)) for n in range(self.grooves)]
        return Part(
            plan=_plan(self, driven, shop),
            figures=_figures(self, driven, passes, shop),
            rounds=(Round(equal_cuts(self.grooves, labels), unlocked=True),),
            passes=passes,
            steps=_steps(self, driven, passes, shop),
            draw=partial(_draw, self),
            gears=helical_gear.order_written(driven.order, _place(driven)),
            # The back pin is out and the plate driven; with the worm out of mesh no plate serves.
            methods=("direct",) if driven.at_spindle else ("plain", "nearest"),
            rim=Rim(
                float(self.diameter), _SHARE * pi * float(self.diameter) / self.grooves,
                mark("such a groove"), mark("from one groove to the next"),
            ),
        )  # fmt: skip

    def wanted_cutter(self, unit: Unit) -> Wanted:
        return _wanted(self, unit)


@dataclass(frozen=True, slots=True)
class Driven:
    """Gears from the head to the screw; `lead` in mm. `at_spindle`: the first sits on the head's
    own spindle, and the worm is out of mesh."""

    order: GearOrder
    lead: Millimetres
    at_spindle: bool = False


def read(table: Table) -> HelicalGrooves:
    """The figures of the table, lengths in mm: 2 to 60 grooves; each fault goes into
    the table's list.
    """
    diameter = table.length("diameter")
    return HelicalGrooves(
        grooves=table.whole("grooves", 2, 60),
        diameter=diameter,
        lead=_read_lead(table, diameter),
        hand=table.choice("hand", ("right", "left")),
        length=table.length("length"),
        width=table.length("width"),
        depth=table.length("depth"),
        form=table.choice("cutter_form", ("end", "side", "form"), "end"),
        passes=common.read_passes(table),
    )


def _read_lead(table: Table, diameter: Millimetres) -> float:
    """As it is given, or from the helix angle at the outside; 1 where there is a fault."""
    if table.one_of("lead", "helix_angle") != "helix_angle":
        return float(table.length("lead")) if table.has("lead") else 1.0
    angle = float(table.degrees("helix_angle"))
    if not 0 < angle < 90:
        table.fault("helix_angle", "helix_angle: more than 0 and less than 90 degrees")
        return 1.0
    return lead_of(float(diameter), angle)


# --- the figures ------------------------------------------------------------------------


def lead_of(diameter: float, helix_degrees: float) -> float:
    """pi D / tan(helix), in the unit of the diameter."""
    return pi * diameter / tan(radians(helix_degrees))


def helix_at(diameter: float, lead: float) -> float:
    """The angle from the axis at this diameter, radians: tan = circumference / lead (J. Rose,
    Modern Machine-Shop Practice, fig. 1978)."""
    return atan(pi * diameter / lead)


def drives(work: HelicalGrooves, shop: Shop) -> Driven | None:
    """The gears for this lead: through the worm where that comes near, else whichever comes nearer
    of that and a gear on the spindle. None: no train of the gears held comes near."""
    worm, spindle = _through_worm(work, shop), _at_spindle(work, shop)
    best = worm
    if spindle and _off(work, worm) > max(_NEAR, _off(work, spindle)):
        best = spindle
    return best if _off(work, best) <= _REACHED else None


def _off(work: HelicalGrooves, driven: Driven) -> float:
    """As a part of the lead."""
    return abs(float(driven.lead) / work.lead - 1)


def _through_worm(work: HelicalGrooves, shop: Shop) -> Driven:
    machine = lead_train.lead_of_machine(shop.head, _screw(shop))
    train = lead_train.nearest_train(shop.head.change_gears, machine, work.lead)
    return Driven(train.orders[0], Millimetres(train.lead))


def _at_spindle(work: HelicalGrooves, shop: Shop) -> Driven | None:
    if not _takes_spindle_gear(shop) or not _direct_counts(work, shop):
        return None
    held = _by_spindle_gear(tuple(shop.head.change_gears), work.grooves)
    if not held:
        return None
    screw = _screw(shop)
    best = min(held, key=lambda ratio: abs(float(screw * ratio) - work.lead))
    return Driven(held[best], Millimetres(screw * best), at_spindle=True)


@lru_cache(maxsize=8)
def _by_spindle_gear(gears: GearOrder, grooves: int) -> dict[Fraction, GearOrder]:
    """The roomiest order for each ratio whose first gear moves on by whole teeth a groove."""
    found: dict[Fraction, GearOrder] = {}
    for driven, drivers in lead_train.trains(gears):
        ratio = Fraction(prod(driven), prod(drivers))
        orders = lead_train.meshing_orders(driven, drivers)
        fit = next((order for order in orders if order[0] % grooves == 0), None)
        if fit and ratio not in found:
            found[ratio] = fit
    return found


def _takes_spindle_gear(shop: Shop) -> bool:
    return lead_train.takes_spindle_gear(shop.head)


def _direct_counts(work: HelicalGrooves, shop: Shop) -> bool:
    """The holes of the direct plate are the second count, beside the teeth of the gear."""
    return any(circle % work.grooves == 0 for circle in shop.head.direct_circle)


def _screw(shop: Shop) -> Millimetres:
    return shop.machine.table_screw or NO_LENGTH


def aside(work: HelicalGrooves, given: Fraction) -> float:
    """How far the error of the lead carries a groove aside at the outside, over its length, mm"""
    return float(work.length * work.diameter) * pi * abs(1 / float(given) - 1 / work.lead)


def opened(work: HelicalGrooves, cutter: Fraction) -> float:
    """How wide a disc of plane sides and this diameter cuts at the outside, square to the groove.

    Before and behind its middle the disc stands straight where the groove goes round, so its
    sides take more than its width (geometry: every point of a side, carried back along the
    helix to one section; the widest counts). On the chord, mm.
    """
    radius, disc_radius = float(work.diameter) / 2, float(cutter) / 2
    middle = radius - float(work.depth) + disc_radius
    reach = sqrt(max(0.0, disc_radius**2 - (middle - radius) ** 2)) * 1.2
    lean, half = work.helix, float(work.width) / 2
    widest = 0.0
    for n in range(-400, 401):
        along = reach * n / 400
        x = along * cos(lean) - half * sin(lean)
        y = along * sin(lean) + half * cos(lean)
        if abs(y) >= radius:
            continue
        high = sqrt(radius**2 - y**2)
        if hypot(along, high - middle) <= disc_radius:
            widest = max(widest, atan2(y, high) - 2 * pi * x / work.lead)
    return 2 * radius * sin(widest) * cos(lean)


# --- the part ---------------------------------------------------------------------------


def _check(work: HelicalGrooves, shop: Shop, found: Findings) -> None:
    unit = shop.unit
    if not shop.head.change_gears:
        found.refuse(
            "head",
            f"head {shop.head.name} has no change gears: a helix needs a head that the table "
            "screw can drive, like three-plate-40-geared",
        )
    if shop.machine.table_screw is None:
        found.refuse(
            "lead", 'the lead of the table screw is not known: add [machine] table_screw = "5 mm"'
        )
    common.check_cutter_in_bar(work.depth, Millimetres(work.diameter / 2), "depth", found, unit)
    if not found.refusals:
        _check_room(work, found, unit)
        _check_swing(work, shop, found)
        _check_width(work, shop, found)


def _check_room(work: HelicalGrooves, found: Findings, unit: Unit) -> None:
    """Side by side round the work, each as wide as its slant makes it, at the outside and at the
    floor."""
    least = min(
        pi * around * cos(helix_at(around, work.lead)) / work.grooves
        for around in (float(work.diameter), float(work.diameter - 2 * work.depth))
    )
    if float(work.width) >= least:
        found.refuse(
            "width",
            f"{work.grooves} grooves of {shown(work.width, unit)} run into each other: less than "
            f"{shown(least, unit)} wide, fewer grooves or a longer lead",
        )


def _check_swing(work: HelicalGrooves, shop: Shop, found: Findings) -> None:
    most = shop.machine.table_swing_degrees
    if work.form != "end" and work.helix > radians(most):
        found.refuse(
            "cutter_form",
            f"the helix is {angle_shown(work.helix * 180 / pi)} from the axis, and the table "
            f'swings to {float(most):g} degrees: cutter_form = "end", which needs no swing, or a '
            f"lead of {shown(lead_of(float(work.diameter), float(most)), shop.unit)} or more",
        )


def _check_width(work: HelicalGrooves, shop: Shop, found: Findings) -> None:
    unit, cutter = shop.unit, shop.cutter
    if cutter.width and cutter.width > work.width:
        found.refuse("width", f"the cutter is {shown(cutter.width, unit)} wide, more than the "
                     f"groove: use one of {shown(work.width, unit)}")  # fmt: skip
    elif work.form == "side" and cutter.diameter:
        wide = opened(work, cutter.diameter)
        if wide - float(work.width) > _SEEN:
            found.warn(
                "cutter_form",
                f"a side cutter of {shown(cutter.diameter, unit)} opens the groove to "
                f"{shown(wide, unit)} at the top: its straight sides drag along a helix; an end "
                "mill or a smaller cutter doesn't",
            )


def _check_lead(work: HelicalGrooves, shop: Shop, found: Findings) -> Driven | None:
    driven, unit = drives(work, shop), shop.unit
    if driven is None:
        found.refuse("lead", _out_of_reach(work, shop))
        return None
    off = aside(work, driven.lead)
    if off > _SEEN:
        found.warn(
            "lead",
            f"the nearest gears give a lead of {shown(driven.lead, unit)}: the groove ends "
            f"{shown(off, unit)} aside over its length",
        )
    return driven


def _out_of_reach(work: HelicalGrooves, shop: Shop) -> str:
    """Says how far the gears reach, and what would let them reach farther."""
    unit, gears = shop.unit, shop.head.change_gears
    machine = lead_train.lead_of_machine(shop.head, _screw(shop))
    short, long = lead_train.reach(gears)
    least, most = (shown(Millimetres(machine * each), unit) for each in (short, long))
    told = (
        f"no train of the gears held comes near a lead of {shown(work.lead, unit)}: through the "
        f"worm they give {least} to {most}"
    )
    if work.lead > machine * short:
        nearest = shown(_through_worm(work, shop).lead, unit)
        return f"{told}, and {nearest} is the nearest: another lead, or other gears"
    if not _takes_spindle_gear(shop):
        return f"{told}, and {shop.head.name} takes no gear on its own spindle: a longer lead"
    held = _by_spindle_gear(tuple(gears), work.grooves)
    if not held or not _direct_counts(work, shop):
        return (
            f"{told}; for a gear on the spindle the {work.grooves} grooves must divide its teeth "
            "and the direct plate's holes"
        )
    least = shown(Millimetres(_screw(shop) * min(held)), unit)
    return f"{told}, on the spindle {least} and more: a longer lead"


def _plan(work: HelicalGrooves, driven: Driven, shop: Shop) -> str:
    grooves = say_n(work.grooves, "one groove", "{count} grooves")
    lead = said(work.lead, shop.unit)
    if work.hand == "right":
        what = say("{grooves}, right hand, with a lead of {lead}.", grooves=grooves, lead=lead)
    else:
        what = say("{grooves}, left hand, with a lead of {lead}.", grooves=grooves, lead=lead)
    if driven.at_spindle:
        drive = say("The table screw drives the head's spindle itself, and the worm is out.")
    else:
        drive = say("The table screw drives the head, so the spindle stays unlocked in the cut.")
    deep = say("{depth} deep.", depth=said(work.depth, shop.unit))
    return sentences(capital(what), drive, capital(deep))


def _place(driven: Driven) -> str:
    """Where the first gear sits."""
    return _ON_SPINDLE if driven.at_spindle else _ON_HEAD


def _figures(
    work: HelicalGrooves, driven: Driven, passes: tuple[Pass, ...], shop: Shop
) -> tuple[Figure, ...]:
    unit = shop.unit
    inner = float(work.diameter - 2 * work.depth)
    return (
        Figure("depths", depths_shown(passes, unit)),
        Figure("lead wanted", shown(work.lead, unit)),
        Figure("change gears", helical_gear.order_shown(driven.order, _place(driven))),
        Figure("lead given", shown(driven.lead, unit)),
        Figure("error of the lead", _error_shown(float(driven.lead) - work.lead, unit)),
        Figure(f"groove aside over {shown(work.length, unit)}",
               shown(aside(work, driven.lead), unit)),
        Figure("helix at the outside", angle_shown(work.helix * 180 / pi)),
        Figure("helix at the floor", angle_shown(helix_at(inner, work.lead) * 180 / pi)),
        Figure("table swing", _swing_shown(work)),
        Figure("table travel for a groove", shown(work.length, unit)),
        Figure("the work turns meanwhile", angle_shown(float(work.length / driven.lead) * 360)),
        *_opening(work, shop),
        *_teeth_figures(work, driven),
    )  # fmt: skip


def _error_shown(off: float, unit: Unit) -> str:
    if abs(off) < 1e-6:
        return "none"
    return f"{'+' if off > 0 else '-'}{shown(abs(off), unit)} a turn"


def _swing_shown(work: HelicalGrooves) -> str:
    if work.form == "end":
        return "none: an end mill"
    return f"{angle_shown(work.helix * 180 / pi)} {helical_gear.swing_words(work.hand)}"


def _opening(work: HelicalGrooves, shop: Shop) -> tuple[Figure, ...]:
    if work.form != "side" or not shop.cutter.diameter:
        return ()
    return (Figure("groove at the top", shown(opened(work, shop.cutter.diameter), shop.unit)),)


def _teeth_figures(work: HelicalGrooves, driven: Driven) -> tuple[Figure, ...]:
    if not driven.at_spindle:
        return ()
    return (Figure("teeth of the gear on the spindle a groove", f"{teeth_a_groove(work, driven)}"),)


def teeth_a_groove(work: HelicalGrooves, driven: Driven) -> int:
    """By how many teeth of the spindle's own gear the mesh is moved from groove to groove."""
    return driven.order[0] // work.grooves


# --- the set-up -------------------------------------------------------------------------


def _steps(
    work: HelicalGrooves, driven: Driven, passes: tuple[Pass, ...], shop: Shop
) -> tuple[str, ...]:
    return (
        _cutter(work, shop),
        common.runs_true(work.diameter, shop),
        _over_axis(work, shop),
        _swing(work),
        *_drive(work, driven),
        helical_gear.try_hand(work.hand),
        say(helical_gear.UNLOCKED),
        *_table(work, shop),
        common.touch_top(),
        common.depth_step(depths_said(passes, shop.unit)),
    )


def _cutter(work: HelicalGrooves, shop: Shop) -> str:
    wide = said(work.width, shop.unit)
    if work.form == "end":
        return say("End mill {size} wide in the vertical spindle, running true.", size=wide)
    if work.form == "form":
        return say(
            "Form cutter {size} wide at the top on the arbor, running the right way.", size=wide
        )
    return say("Side cutter {size} wide on the arbor, running the right way.", size=wide)


def _over_axis(work: HelicalGrooves, shop: Shop) -> str:
    """Before the swing. A form cutter's sides may reach out beyond the groove."""
    if work.form == "form":
        return common.over_centre(work.diameter, shop)
    return common.over_axis(work.diameter, work.width, shop)


def _swing(work: HelicalGrooves) -> str:
    if work.form == "end":
        return say("Table square, its swing at nought, and clamped. An end mill needs no swing.")
    return say(
        "Now swing the table {angle} {way}. Clamp it.",
        angle=angle_said(work.helix * 180 / pi), way=helical_gear.swing_words(work.hand),
    )  # fmt: skip


def _drive(work: HelicalGrooves, driven: Driven) -> tuple[str, ...]:
    gears = say(
        "Change gears: {gears}. Guard over the gears.",
        gears=helical_gear.order_said(driven.order, _place(driven)),
    )
    if not driven.at_spindle:
        free = say(
            "Back pin out, so that the plate is free to turn. Index with the crank pin only."
        )
        together = say("The gears stay in mesh from the first cut to the last. Only so the grooves "
                       "stay alike.")  # fmt: skip
        return gears, free, together
    teeth = say_n(teeth_a_groove(work, driven), "one tooth", "{count} teeth")
    return (
        # Before the screw is turned to prove the hand: a worm in mesh can't be driven backward.
        say("Worm out of mesh before the gears go on: the table screw turns the spindle itself."),
        gears,
        sentences(
            say("Index with the table at its start: direct pin in, swing the gears out of mesh."),
            say("Then the move. It is {teeth} of the gear on the spindle: count them too.",
                teeth=teeth),
            say("Gears in mesh again, direct pin out."),
        ),
        say(
            "The direct pin is out whenever the table moves. With it in, pin or gears would break."
        ),
    )  # fmt: skip


def _table(work: HelicalGrooves, shop: Shop) -> tuple[str, ...]:
    return (
        sentences(
            say("Bring the table to where the grooves begin, in the direction of the cut."),
            say("Set the table's dial to nought there."),
            say("Every groove: feed the table {size} by its dial.",
                size=said(work.length, shop.unit)),
        ),
        say(
            "After each cut lower the table clear before you run it back. Otherwise the slack of "
            "the gears drags the cutter through the groove."
        ),
        say(
            "Run back two turns of the screw beyond the start. Come up to the start in the "
            "direction of the cut. So the slack is out before each cut."
        ),
    )  # fmt: skip


def _draw(work: HelicalGrooves) -> Drawing:
    """The section square to the axis: a groove is wider there by its slant."""
    radius = float(work.diameter) / 2
    floor = radius - float(work.depth)
    half = min(float(work.width) / 2 / cos(work.helix), floor * 0.98)
    shape = slot_shape(radius, -half, half, floor)
    places = [n / work.grooves for n in range(work.grooves)]
    slots = [Shape(turned(shape, place), cut=n) for n, place in enumerate(places)]
    return Drawing((disc(radius), *slots), ring_anchors(radius * 1.1, places))


def _wanted(work: HelicalGrooves, unit: Unit) -> Wanted:
    """As wide as the groove: moved aside, a cutter would leave the helix that the gears give."""
    wide = shown(work.width, unit)

    def judge(kept: Kept) -> Fit:
        if kept.form != work.form:
            return unfit(say("another form"))
        if work.form == "form" or kept.across is None:
            return RIGHT
        if abs(kept.across - work.width) <= ALIKE:
            return RIGHT
        return unfit(say("{size} wide", size=shown(Millimetres(kept.across), unit)))

    names = {
        "end": say("an end mill of {size}", size=wide),
        "side": say("a side cutter {size} wide", size=wide),
        "form": say("a form cutter"),
    }
    return Wanted(names[work.form], judge)


# --- what is asked ----------------------------------------------------------------------

QUESTIONS = (
    ask.whole("grooves", mark("How many grooves?"), mark("Equally spaced, two or more."), "2"),
    ask.length(
        "diameter", mark("Diameter of the work?"),
        mark("Outside, where the grooves begin."),
    ),
    Question(
        ASKED, "helix", mark("How does the drawing give the helix?"),
        mark("The angle is taken at the outside, from the axis."), Form.CHOICE,
        (Choice("lead", mark("by its lead")), Choice("helix_angle", mark("by its angle"))),
        lambda _: "lead",
    ),
    Question(
        "work", "lead", mark("Which lead?"),
        mark("How far along the work one groove goes in a whole turn round it."), Form.LENGTH,
        when=lambda a: a.of("helix", ASKED) != "helix_angle",
    ),
    Question(
        "work", "helix_angle", mark("Which helix angle?"),
        mark("The angle is taken at the outside, from the axis."), Form.ANGLE,
        when=lambda a: a.of("helix", ASKED) == "helix_angle",
    ),
    Question(
        "work", "hand", mark("Which hand?"),
        mark("Right: the groove rises to the right when the axis stands upright before you."),
        Form.CHOICE, ask.HANDS, lambda _: "right",
    ),
    ask.length(
        "length", mark("How long is a groove?"),
        mark("Along the axis, as the table goes."),
    ),
    ask.length("width", mark("How wide is a groove?"), mark("Square to its own way.")),
    ask.length("depth", mark("How deep is a groove?"), mark("From the outside.")),
    Question(
        "work", "cutter_form", mark("Which cutter cuts it?"),
        mark("For a disc the table is swung, up to its stop. An end mill needs no swing."),
        Form.CHOICE,
        (
            Choice("end", mark("an end mill in the vertical spindle")),
            Choice("form", mark("a form cutter on the arbor")),
            Choice("side", mark("a side cutter on the arbor")),
        ),
        lambda _: "end",
    ),
    ask.PASSES, ask.FINISH,
    ask.TABLE_SCREW,
)  # fmt: skip

KIND = Kind(
    "helical-grooves",
    mark("grooves or flutes along a helix"),
    rank=30,
    keys=KEYS,
    read=read,
    questions=QUESTIONS,
    as_wide=True,
)
