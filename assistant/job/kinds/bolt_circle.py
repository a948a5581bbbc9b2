"""Holes on a circle, with the co-ordinates that each has on the finished part."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from functools import partial
from math import asin, pi, sin

from assistant.job import cutter_fit
from assistant.job.cutter_fit import Wanted
from assistant.job.kinds import ask, common
from assistant.job.part import Cut, Figure, Findings, Part, Pass, Rim, Round, Shop
from assistant.job.reader import Table
from assistant.job.shapes import Drawing, Point, Shape, disc, polar, ring_anchors
from assistant.job.units import NO_TURN, Unit, in_unit, said, shown
from assistant.job.work import Kind, Work
from assistant.words.language import mark, number, say, say_n
from assistant.words.spoken import capital
from solver import Millimetres, Turns

KEYS = ("holes", "circle", "hole", "first", "blank", "depth")


@dataclass(frozen=True, slots=True)
class BoltCircle(Work):
    """`circle` is the diameter through the holes' centres, `hole` theirs, mm; `first` is where
    the first one stands for the co-ordinates, in turns from the X axis, anticlockwise."""

    holes: int
    circle: Millimetres
    hole: Millimetres
    first: Turns = NO_TURN
    blank: Millimetres | None = None
    depth: Millimetres | None = None

    def make(self, shop: Shop, found: Findings) -> Part | None:
        check_holes(self, found, shop.unit)
        common.check_upright(shop, "kind", found)
        if found.refusals:
            return None
        cuts = tuple(
            Cut(Turns(Fraction(n, self.holes)), say("hole {n}", n=number(n + 1)))
            for n in range(self.holes)
        )
        return Part(
            plan=_plan(self, shop),
            figures=_figures(self, shop),
            rounds=(Round(cuts),),
            passes=(Pass("", self.depth),),
            steps=_steps(self, shop),
            draw=partial(circle_drawing, self),
            between_centres=False,
            level=False,
            rim=Rim(
                float(self.circle),
                0.1,
                mark("a circle of holes"),
                mark("from one hole to the next"),
                "on the circle",
            ),
        )

    def wanted_cutter(self, unit: Unit) -> Wanted:
        return cutter_fit.drill(self.hole, unit)


def read(table: Table) -> BoltCircle:
    """The figures of the table, lengths in mm: 2 to 1000 holes, the first at `first` of a turn;
    each fault goes into the table's list.
    """
    return BoltCircle(
        holes=table.whole("holes", 2, 1000),
        circle=table.length("circle"),
        hole=table.length("hole"),
        first=table.turns("first", NO_TURN),
        blank=table.maybe_length("blank"),
        depth=table.maybe_length("depth"),
    )


# --- the figures ------------------------------------------------------------------------


def chord(work: BoltCircle) -> float:
    """From centre to centre of neighbours, mm: D sin(180/n)."""
    return float(work.circle) * sin(pi / work.holes)


def co_ordinates(work: BoltCircle) -> tuple[Point, ...]:
    """X and Y of each hole from the middle of the circle, mm."""
    radius = float(work.circle) / 2
    places = (float(work.first) + n / work.holes for n in range(work.holes))
    # polar() runs clockwise from the top; the X axis and anticlockwise are the drawing office's.
    return tuple(polar(radius, 0.25 - place) for place in places)


def most_holes(work: BoltCircle) -> int:
    """How many such holes have room on the circle without touching."""
    if work.hole >= work.circle:
        return 0
    return int(pi / asin(float(work.hole / work.circle)) - 1e-9)


# --- the part ---------------------------------------------------------------------------


def check_holes(work: BoltCircle, found: Findings, unit: Unit) -> None:
    """Holes that run into each other or break out at the rim are refused."""
    if chord(work) <= float(work.hole):
        least = float(work.hole) / sin(pi / work.holes)
        found.refuse(
            "holes",
            f"{work.holes} holes of {shown(work.hole, unit)} run into each other: "
            f"{most_holes(work)} at most, or a circle over {shown(least, unit)}",
        )
    elif chord(work) < 1.5 * float(work.hole):
        wall = shown(chord(work) - float(work.hole), unit)
        found.warn("holes", f"only {wall} is left between two holes")
    if work.blank is not None and work.circle + work.hole >= work.blank:
        most = shown(Millimetres(work.blank - work.hole), unit)
        found.refuse("circle", f"the holes break out at the rim: a circle under {most}")


def _plan(work: BoltCircle, shop: Shop) -> str:
    words = say(
        "{holes} of {size} on a circle of {circle}. "
        "The work turns and the table stands still: a readout shows the same at every hole. "
        "The co-ordinates on the sheet are those on the finished part.",
        holes=say_n(work.holes, "one hole", "{count} holes"),
        size=said(work.hole, shop.unit),
        circle=said(work.circle, shop.unit),
    )
    return capital(words)


def _figures(work: BoltCircle, shop: Shop) -> tuple[Figure, ...]:
    places = 3 if shop.unit == "mm" else 4
    holes = tuple(
        Figure(
            f"hole {n}, X and Y",
            f"{_signed(x, shop.unit, places)}  {_signed(y, shop.unit, places)} {shop.unit}",
        )
        for n, (x, y) in enumerate(co_ordinates(work), 1)
    )
    return (
        Figure("centre to centre", shown(chord(work), shop.unit)),
        Figure("from the axis", shown(Millimetres(work.circle / 2), shop.unit)),
        *holes,
    )


def _signed(value: float, unit: Unit, places: int) -> str:
    # Adding nought makes minus nought a plain one.
    return f"{round(in_unit(value, unit), places) + 0.0:+.{places}f}"


def _steps(work: BoltCircle, shop: Shop) -> tuple[str, ...]:
    return (
        common.upright(),
        common.runs_true(work.blank, shop),
        say(
            "Spindle of the machine over the axis of the head. Come up to it the way that you then "
            "go out. Then {size} out, the same way. Table and saddle clamped in every cut.",
            size=said(Millimetres(work.circle / 2), shop.unit),
        ),
        *([common.touch_top()] if work.depth is not None else []),
    )


def circle_drawing(work: BoltCircle) -> Drawing:
    """The first hole at the top, as it stands when the work begins."""
    radius, hole = float(work.circle) / 2, float(work.hole) / 2
    places = [n / work.holes for n in range(work.holes)]
    holes = [Shape(_round_at(polar(radius, place), hole), cut=n) for n, place in enumerate(places)]
    rim = float(work.blank) / 2 if work.blank else radius + 2.5 * hole
    circle = Shape(disc(radius).points, "witness")
    return Drawing((disc(rim), circle, *holes), ring_anchors(rim * 1.08, places))


def _round_at(middle: Point, radius: float) -> tuple[Point, ...]:
    points = (polar(radius, n / 36) for n in range(36))
    return tuple((middle[0] + x, middle[1] + y) for x, y in points)


# --- what is asked ----------------------------------------------------------------------

QUESTIONS = (
    ask.whole("holes", mark("How many holes?"), mark("Equally spaced."), "6"),
    ask.length("circle", mark("Diameter of the circle?"), mark("Through the holes' centres.")),
    ask.length("hole", mark("Diameter of a hole?"), mark("As drilled.")),
    ask.length(
        "blank", mark("Outside diameter of the blank?"), mark("Enter: not known."), needed=False
    ),
)  # fmt: skip

KIND = Kind(
    "bolt-circle",
    mark("holes on a circle"),
    rank=160,
    keys=KEYS,
    read=read,
    questions=QUESTIONS,
)
