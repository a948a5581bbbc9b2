"""Keyways along a shaft, two or more: one needs no dividing head. The cutter is as wide."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from functools import partial
from math import pi, sqrt, tan

from assistant.job.kinds import common
from assistant.job.limits import Limits, room_within
from assistant.job.measuring import Measurement
from assistant.job.part import (
    ONE_PASS,
    Cut,
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
    passes_to,
    refused,
)
from assistant.job.reader import Table
from assistant.job.shapes import Drawing, Shape, disc, ring_anchors, slot, turned
from assistant.job.units import near, said, shown
from assistant.words.language import mark, number, say, say_n
from assistant.words.spoken import capital, sentences

KIND = "keyways"
_HUB_BEARS = 0.05  # mm: two keys are fitted to their hub (common practice)
KEYS = ("keyways", "width", "shaft", "depth", "depth_from", *common.PASS_KEYS)


@dataclass(frozen=True, slots=True)
class Keyways:
    """`depth` in mm from the top of the round (`crown`) or from the slot's edge (`side`)."""

    keyways: int
    width: Fraction
    shaft: Fraction
    depth: Fraction
    depth_from: str = "crown"
    passes: Passes = ONE_PASS
    limits: Limits | None = None  # of the depth, which is then their middle

    def work_out(self, shop: Shop) -> Part:
        return work_out(self, shop)


def read(table: Table) -> Keyways:
    deep, limits = table.limited("depth")
    return Keyways(
        keyways=table.whole("keyways", 2, 60),
        width=table.length("width"),
        shaft=table.length("shaft"),
        depth=deep,
        limits=limits,
        depth_from=table.choice("depth_from", ("crown", "side"), "crown"),
        passes=common.read_passes(table),
    )


# --- the figures ------------------------------------------------------------------------


def arc_height(work: Keyways) -> float:
    """From the slot's edge to the top of the round, mm: D/2 - sqrt(D^2/4 - w^2/4)."""
    return float(work.shaft) / 2 - sqrt(float(work.shaft**2 - work.width**2)) / 2


def depth(work: Keyways) -> Fraction:
    """From the first touch on top of the shaft, mm."""
    return work.depth if work.depth_from == "crown" else near(float(work.depth) + arc_height(work))


def over_shaft(work: Keyways) -> Fraction:
    """From the floor of a keyway to the far side of the shaft, mm: what is measured."""
    return work.shaft - depth(work)


# --- the part ---------------------------------------------------------------------------


def work_out(work: Keyways, shop: Shop) -> Part:
    found = Findings()
    _check(work, shop, found)
    if found.refusals:
        return refused(KIND, shop, found)
    room = room_within(work.limits)
    passes = passes_to(depth(work), work.passes, found, shop.unit, room)
    if found.refusals:
        return refused(KIND, shop, found)
    cuts = tuple(
        Cut(Fraction(n, work.keyways), say("keyway {n}", n=number(n + 1)))
        for n in range(work.keyways)
    )
    return Part(
        kind=KIND,
        unit=shop.unit,
        plan=_plan(work, shop),
        figures=_figures(work, passes, shop),
        warnings=tuple(found.warnings),
        rounds=(Round(cuts),),
        passes=passes,
        steps=_steps(work, passes, shop),
        measurements=_measurements(work, passes),
        draw=partial(_draw, work),
        rim=Rim(
            float(work.shaft), _HUB_BEARS, mark("a hub on such keys"),
            mark("from one keyway to the next"),
        ),
    )  # fmt: skip


def _check(work: Keyways, shop: Shop, found: Findings) -> None:
    unit = shop.unit
    if work.width >= work.shaft:
        most = shown(work.shaft, unit)
        found.refuse("width", f"the keyway is as wide as the shaft: less than {most}")
        return
    common.check_cutter_in_bar(depth(work), work.shaft / 2, "depth", found, unit)
    wide = shop.cutter.width
    if wide and wide > work.width:
        found.refuse("width", f"the cutter is {shown(wide, unit)} wide, more than the keyway: "
                     f"use one of {shown(work.width, unit)}")  # fmt: skip
    room = _room(work)
    if room is not None and float(work.width) >= room:
        found.refuse("keyways", f"{work.keyways} keyways of {shown(work.width, unit)} run into "
                     f"each other: less than {shown(room, unit)} wide")  # fmt: skip
    if work.width > work.shaft / 3:
        found.warn("width", f"a key wider than a third of the shaft: {shown(work.shaft / 4, unit)} "
                   "is customary")  # fmt: skip
    if depth(work) > work.shaft / 4:
        found.warn("depth", f"deeper than a quarter of the shaft: {shown(depth(work), unit)} "
                   "weakens it")  # fmt: skip


def _room(work: Keyways) -> float | None:
    """The widest that this many keyways can be before their floors meet, mm."""
    if work.keyways < 3:
        return None
    floor = float(work.shaft / 2 - depth(work))
    return 2 * floor * tan(pi / work.keyways)


def _plan(work: Keyways, shop: Shop) -> str:
    what = say(
        "{keyways} {width} wide.",
        keyways=say_n(work.keyways, "one keyway", "{count} keyways"),
        width=said(work.width, shop.unit),
    )
    deep = say("{depth} deep from the top of the shaft.", depth=said(depth(work), shop.unit))
    asked = work.keyways % 2 or work.passes.number <= 2
    ask = say("I ask for the size from the floor to the far side of the shaft.") if asked else ""
    return sentences(capital(what), capital(deep), ask)


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
        common.over_centre(work.shaft, shop),
        common.touch_top(),
        common.depth_step(depths_said(passes, shop.unit)),
    )


def _measurements(work: Keyways, passes: tuple[Pass, ...]) -> tuple[Measurement, ...]:
    """After the first keyway, while nothing is cut opposite it: so an even number, whose floors lie
    opposite each other, in the first pass alone. With more than two the last would be reckoned
    from a pass that was not measured, and nothing is asked."""
    opposite = work.keyways % 2 == 0
    if opposite and len(passes) > 2:
        return ()
    return tuple(
        Measurement(
            say("from the floor of the keyway to the far side of the shaft"), 0, n, 1, work.shaft,
            work.shaft - (each.depth or depth(work)), over_shaft(work), Fraction(1),
        ).within(work.limits)
        for n, each in enumerate(passes[:1] if opposite else passes, 1)
    )  # fmt: skip


def _draw(work: Keyways) -> Drawing:
    radius, half = float(work.shaft) / 2, float(work.width) / 2
    shape = slot(radius, -half, half, radius - float(depth(work)))
    places = [n / work.keyways for n in range(work.keyways)]
    slots = [Shape(turned(shape, place), cut=n) for n, place in enumerate(places)]
    return Drawing((disc(radius), *slots), ring_anchors(radius * 1.1, places))
