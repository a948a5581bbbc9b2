"""Keyways along a shaft, two or more: one needs no dividing head. The cutter is as wide."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from functools import partial
from itertools import pairwise
from math import asin, pi, sqrt, tan, tau

from assistant.job import cutter_fit, standards
from assistant.job.cutter_fit import Wanted
from assistant.job.kinds import ask, common, plain_cuts
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
from assistant.job.shapes import Drawing, Shape, disc, ring_anchors, slot_shape, turned
from assistant.job.units import A_TURN, MM_PER_INCH, Unit, angle_said, near, said, shown
from assistant.job.work import Kind, Work
from assistant.words.choice import Choice
from assistant.words.language import mark, number, say, say_n
from assistant.words.spoken import capital, sentences
from solver import Millimetres, Turns, in_degrees

_HUB_BEARS = 0.05  # mm: two keys are fitted to their hub (common practice)
_CLOSE = Fraction(16, 100)  # half way to the next key and less
KEYS = ("keyways", "angles", "width", "shaft", "depth", "depth_from", *common.PASS_KEYS)


@dataclass(frozen=True, slots=True)
class Keyways(Work):
    """`depth` in mm from the top of the round (`crown`) or from the slot's edge (`side`). `places`
    in turns from the first keyway, clockwise on the free end; empty: equal spaces."""

    keyways: int
    width: Millimetres
    shaft: Millimetres
    depth: Millimetres
    depth_from: str = "crown"
    passes: Passes = ONE_PASS
    limits: Limits | None = None  # of the depth, which is then their middle
    places: tuple[Turns, ...] = ()

    def make(self, shop: Shop, found: Findings) -> Part | None:
        _check(self, shop, found)
        if found.refusals:
            return None
        room = room_within(self.limits)
        passes = passes_to(depth(self), self.passes, found, shop.unit, room)
        if found.refusals:
            return None
        cuts = tuple(
            Cut(place, say("keyway {n}", n=number(n)))
            for n, place in enumerate(keyway_places(self), 1)
        )
        return Part(
            plan=_plan(self, shop),
            figures=_figures(self, passes, shop),
            rounds=(Round(cuts),),
            passes=passes,
            steps=_steps(self, passes, shop),
            measurements=_measurements(self, passes),
            limited="depth",
            draw=partial(_draw, self),
            rim=Rim(
                float(self.shaft), _HUB_BEARS, mark("a hub on such keys"),
                mark("from one keyway to the next"),
            ),
        )  # fmt: skip

    def wanted_cutter(self, unit: Unit) -> Wanted:
        return cutter_fit.slot_cutter(self.width, unit)

    def odd_size(self, unit: Unit) -> Objection | None:
        return _standard(self, unit)


def read(table: Table) -> Keyways:
    """The figures of the table, lengths in mm: 2 to 60 keyways; each fault goes into
    the table's list.
    """
    deep, limits = table.limited("depth")
    places = plain_cuts.listed_angles(table, table.data["angles"]) if table.has("angles") else ()
    listed = max(2, len(places or ())) if table.has("angles") else None
    count = table.whole("keyways", 2, 60, listed)
    if places and count != len(places):
        table.fault("angles", f"{len(places)} angles for {count} keyways: leave keyways out")
    return Keyways(
        keyways=count,
        places=places or (),
        width=table.length("width"),
        shaft=table.length("shaft"),
        depth=deep,
        limits=limits,
        depth_from=table.choice("depth_from", ("crown", "side"), "crown"),
        passes=common.read_passes(table),
    )


# --- the figures ------------------------------------------------------------------------


def keyway_places(work: Keyways) -> tuple[Turns, ...]:
    """Each in turns from the first."""
    return work.places or tuple(Turns(Fraction(n, work.keyways)) for n in range(work.keyways))


def least_gap(work: Keyways) -> Turns:
    """From one keyway to the nearest other, in turns."""
    places = keyway_places(work)
    return Turns(min(b - a for a, b in pairwise((*places, A_TURN))))


def far_side_is_cut(work: Keyways) -> bool:
    """A keyway takes off the crown that stands opposite the first one."""
    half = asin(float(work.width / work.shaft)) / tau
    return any(abs(float(place) - 0.5) <= half for place in keyway_places(work))


def arc_height(work: Keyways) -> float:
    """From the slot's edge to the top of the round, mm: D/2 - sqrt(D^2/4 - w^2/4)."""
    return float(work.shaft) / 2 - sqrt(float(work.shaft**2 - work.width**2)) / 2


def depth(work: Keyways) -> Millimetres:
    """From the first touch on top of the shaft, mm."""
    return work.depth if work.depth_from == "crown" else near(float(work.depth) + arc_height(work))


def over_shaft(work: Keyways) -> Millimetres:
    """From the floor of a keyway to the far side of the shaft, mm: what is measured."""
    return Millimetres(work.shaft - depth(work))


# --- the part ---------------------------------------------------------------------------


def _check(work: Keyways, shop: Shop, found: Findings) -> None:
    unit = shop.unit
    if work.width >= work.shaft:
        most = shown(work.shaft, unit)
        found.refuse("width", f"the keyway is as wide as the shaft: less than {most}")
        return
    common.check_cutter_in_bar(depth(work), Millimetres(work.shaft / 2), "depth", found, unit)
    wide = shop.cutter.width
    if wide and wide > work.width:
        found.refuse("width", f"the cutter is {shown(wide, unit)} wide, more than the keyway: "
                     f"use one of {shown(work.width, unit)}")  # fmt: skip
    room = _room(work)
    if room is not None and float(work.width) >= room:
        found.refuse("keyways", f"{work.keyways} keyways of {shown(work.width, unit)} run into "
                     f"each other: less than {shown(room, unit)} wide")  # fmt: skip
    if work.width > work.shaft / 3:
        quarter = shown(Millimetres(work.shaft / 4), unit)
        found.warn("width", f"a key wider than a third of the shaft: {quarter} is customary")
    if depth(work) > work.shaft / 4:
        found.warn("depth", f"deeper than a quarter of the shaft: {shown(depth(work), unit)} "
                   "weakens it")  # fmt: skip


def _room(work: Keyways) -> float | None:
    """The widest that the nearest two keyways can be before their floors meet, mm."""
    gap = least_gap(work)
    if gap >= Fraction(1, 2):
        return None
    floor = float(work.shaft / 2 - depth(work))
    return 2 * floor * tan(pi * float(gap))


def _plan(work: Keyways, shop: Shop) -> str:
    what = say(
        "{keyways} {width} wide.",
        keyways=say_n(work.keyways, "one keyway", "{count} keyways"),
        width=said(work.width, shop.unit),
    )
    deep = say("{depth} deep from the top of the shaft.", depth=said(depth(work), shop.unit))
    asked = not far_side_is_cut(work) or work.passes.number <= 2
    ask = ""
    if asked and not work.places:  # the angles take its time: three sentences are enough to hear
        ask = say("I ask for the size from the floor to the far side of the shaft.")
    return sentences(capital(what), _angles_said(work), capital(deep), ask)


def _angles_said(work: Keyways) -> str:
    if not work.places:
        return ""
    angles = [angle_said(in_degrees(place)) for place in work.places[1:]]
    return say("From the first one they stand at {angles}.", angles=", ".join(angles))


def _figures(work: Keyways, passes: tuple[Pass, ...], shop: Shop) -> tuple[Figure, ...]:
    unit = shop.unit
    return (
        Figure("depth from the top of the shaft", shown(depth(work), unit)),
        Figure("depths", depths_shown(passes, unit)),
        *common.limit_figures("depth", work.limits, unit),
        Figure("edge of the slot below the top", shown(arc_height(work), unit)),
        Figure("floor to the far side", shown(over_shaft(work), unit)),
        *common.centre_figures(work.shaft, shop),
    )


def _steps(work: Keyways, passes: tuple[Pass, ...], shop: Shop) -> tuple[str, ...]:
    return (
        common.runs_true(work.shaft, shop),
        *([_way_round()] if work.places and shop.head.plate_drive != "block" else []),
        common.over_centre(work.shaft, shop),
        common.touch_top(),
        common.depth_step(depths_said(passes, shop.unit)),
    )


def _way_round() -> str:
    """What is cut later lies against the turning (geometry); a block's faces are numbered so."""
    return say(
        "Seen on its free end the work must turn anticlockwise from keyway to keyway. Try it. "
        "Every move goes the way that does it."
    )


def _measurements(work: Keyways, passes: tuple[Pass, ...]) -> tuple[Measurement, ...]:
    """After the first keyway, while nothing is cut opposite it: so where one stands opposite
    the first, in the first pass alone. With more than two the last would be reckoned
    from a pass that was not measured, and nothing is asked."""
    opposite = far_side_is_cut(work)
    if opposite and len(passes) > 2:
        return ()
    return tuple(
        Measurement(
            say("from the floor of the keyway to the far side of the shaft"), 0, n, 1, work.shaft,
            Millimetres(work.shaft - (each.depth or depth(work))), over_shaft(work), Fraction(1),
        ).within(work.limits)
        for n, each in enumerate(passes[:1] if opposite else passes, 1)
    )  # fmt: skip


def _draw(work: Keyways) -> Drawing:
    radius, half = float(work.shaft) / 2, float(work.width) / 2
    shape = slot_shape(radius, -half, half, radius - float(depth(work)))
    places = [float(place) for place in keyway_places(work)]
    slots = [Shape(turned(shape, place), cut=n) for n, place in enumerate(places)]
    return Drawing((disc(radius), *slots), ring_anchors(radius * 1.1, places))


def _standard(work: Keyways, unit: Unit) -> Objection | None:
    """By the shaft: its key is the one that the standard has for it."""
    kept = standards.standard_table("keys-inch" if unit == "in" else "keys")
    scale = MM_PER_INCH if kept.unit == "in" else Fraction(1)
    row = next((r for r in kept.sizes if r["over"] < work.shaft / scale <= r["to"]), None)
    if row is None:
        return None
    width, deep = row["width"] * scale, row["depth"] * scale
    if kept.unit == "in" and work.depth_from == "crown":
        deep += Fraction(arc_height(work))
    elif kept.unit == "mm" and work.depth_from == "side":
        deep -= Fraction(arc_height(work))
    depth = work.limits.nominal if work.limits else work.depth
    for key, given, size in (("width", work.width, width), ("depth", depth, deep)):
        if standards.SAME < abs(given - size) <= _CLOSE * size:
            return Objection(
                key,
                f"{key} {shown(given, unit)}: {kept.name} has a key of {shown(width, kept.unit)} "
                f"for this shaft, its keyway {shown(deep, kept.unit)} deep: look again",
            )
    return None


# --- what is asked ----------------------------------------------------------------------


def _key_width(answers: Answers) -> str:
    """The key that belongs to the shaft (DIN 6885-1, ANSI B17.1)."""
    row, scale = _key(answers)
    return "" if row is None else answers.shown(Millimetres(row["width"] * scale))


def _key_depth(answers: Answers) -> str:
    """The depth of its keyway, where the width is the table's."""
    row, scale = _key(answers)
    width = answers.length("width")
    if row is None or width != row["width"] * scale:
        return ""
    return answers.shown(Millimetres(row["depth"] * scale))


def _key_depth_from(answers: Answers) -> str:
    """DIN counts from the top of the round, the inch table from the edge of the slot."""
    return "side" if answers.unit == "in" else "crown"


def _key(answers: Answers) -> tuple[dict[str, Fraction] | None, Fraction]:
    kept = standards.standard_table("keys-inch" if answers.unit == "in" else "keys")
    scale = MM_PER_INCH if kept.unit == "in" else Fraction(1)
    shaft = answers.length("shaft")
    if shaft is None:
        return None, scale
    return next((r for r in kept.sizes if r["over"] < shaft / scale <= r["to"]), None), scale


QUESTIONS = (
    ask.whole("keyways", mark("How many keyways?"), mark("Two or more."), "2"),
    Question(
        "work", "angles", mark("At which angles?"),
        mark("Clockwise on the free end, from the first, which is 0, like 0 60 180. Enter: "
             "equally spaced."),
        Form.ANGLES, needed=False,
    ),
    ask.length("shaft", mark("Diameter of the shaft?"), mark("The standard has a key for each.")),
    Question(
        "work", "width", mark("How wide is a keyway?"),
        mark("In brackets the standard key of this shaft."), Form.LENGTH,
        default=_key_width,
    ),
    Question(
        "work", "depth_from", mark("From where does the drawing count the depth?"),
        mark("The two differ by the height of the round over the slot."), Form.CHOICE,
        (Choice("crown", mark("from the top of the round")),
         Choice("side", mark("from the edge of the slot"))),
        _key_depth_from,
    ),
    Question(
        "work", "depth", mark("How deep, with its limits?"),
        mark("Like 5, or 5 -0 +0.1. In brackets the standard's."), Form.LENGTH,
        default=_key_depth,
    ),
    ask.PASSES, ask.FINISH,
)  # fmt: skip

KIND = Kind(
    "keyways",
    mark("keyways in a shaft"),
    rank=80,
    keys=KEYS,
    read=read,
    questions=QUESTIONS,
    as_wide=True,
)
