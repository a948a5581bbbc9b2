"""Lines along a flat rule: the head is geared to the table screw, and the crank moves the table.

Table travel a crank turn = screw lead x (screw turns a spindle turn) / worm ratio (Practical
Treatise on Milling and Milling Machines, 1914, p. 183: 0.25 in, 1 to 1, 40 to 1: 0.00625 in).
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from functools import partial
from math import prod
from typing import NamedTuple

from assistant.job.kinds import ask, common, lines
from assistant.job.kinds.helical_gear import order_said, order_shown, order_written
from assistant.job.kinds.lead_train import meshing_orders, trains
from assistant.job.kinds.lines import Pattern
from assistant.job.part import Along, Figure, Findings, Part, Pass, Round, Shop
from assistant.job.reader import Table
from assistant.job.shapes import Drawing, Shape
from assistant.job.units import NO_LENGTH, Unit, said, shown
from assistant.job.work import Kind, Work
from assistant.words.language import mark, say, say_n
from assistant.words.spoken import capital, sentences
from solver import Head, Millimetres, Move, Turns

_PLACE = mark("on the head's spindle")
KEYS = ("lines", "spacing", "width", "gears", *lines.KEYS)


@dataclass(frozen=True, slots=True)
class Rule(Work):
    """`lines` lines, `spacing` mm apart; `equal_gears`: the head is geared 1 to 1 as it is."""

    lines: int
    spacing: Millimetres
    pattern: Pattern
    width: Millimetres | None = None
    equal_gears: bool = False

    def make(self, shop: Shop, found: Findings) -> Part | None:
        gearing = _check(self, shop, found)
        if found.refusals or gearing is None:
            return None
        pattern = self.pattern
        screw = shop.machine.table_screw or Millimetres(Fraction(1))
        spindle = gearing.turns / shop.head.worm_ratio
        cuts = tuple(pattern.cut(n, Turns(spindle * n)) for n in range(self.lines))
        return Part(
            plan=_plan(self, gearing, shop),
            figures=_figures(self, gearing, screw, shop),
            rounds=(Round(cuts, closed=False),),
            passes=(Pass("", pattern.depth),),
            steps=_steps(self, gearing, shop),
            draw=partial(_draw, self),
            gears=gears_written(gearing),
            between_centres=False,
            trial_moves=True,
            along=Along(
                gearing.circle, moves(gearing), Turns(gearing.worst * spindle / self.spacing)
            ),
        )


class TableDrive(NamedTuple):
    """How crank turns become lines. `turns` is crank turns from line to line, exact.

    `holes` on `circle` are where each line is reached, counted from the first line;
    `worst` the largest error of any line's place, mm.
    """

    order: tuple[int, ...]
    turns: Turns
    circle: int
    holes: tuple[int, ...]
    worst: Millimetres


def read(table: Table) -> Rule:
    """The figures of the table, lengths in mm: 2 to 100,000 lines; each fault goes into
    the table's list.
    """
    return Rule(
        lines=table.whole("lines", 2, 100_000),
        spacing=table.length("spacing"),
        pattern=lines.read(table),
        width=table.maybe_length("width"),
        equal_gears=table.choice("gears", ("best", "equal"), "best") == "equal",
    )


# --- the figures ------------------------------------------------------------------------


def travel_of_turn(
    head: Head, table_screw: Millimetres, ratio: Fraction = Fraction(1)
) -> Millimetres:
    """Table travel for one crank turn, mm; `ratio` is screw turns a
    spindle turn."""
    return Millimetres(table_screw * ratio / head.worm_ratio)


class _Way(NamedTuple):
    """A gearing before its lines are counted out; `worst` in mm."""

    order: tuple[int, ...]
    turns: Turns
    circle: int
    worst: Millimetres


def _ways(work: Rule, head: Head, table_screw: Millimetres) -> Iterator[_Way]:
    """Exact ones on their largest circle, and the near ones: with equal gears and one pair
    only, since a longer train gains little."""
    circles = _circles(head)
    for order, ratio in _ratios(work, head):
        turns = Turns(work.spacing / travel_of_turn(head, table_screw, ratio))
        circle = max((c for c in circles if (turns * c).denominator == 1), default=0)
        if circle:
            yield _Way(order, turns, circle, NO_LENGTH)
        elif len(order) <= 2:
            yield from (_Way(order, turns, c, _worst(work, turns, c)) for c in circles)


def _worst(work: Rule, turns: Turns, circle: int) -> Millimetres:
    """The largest error of a line, mm, each at its own nearest hole; it comes back to nought
    after as many lines as the fraction of a hole has parts."""
    over, under = (turns * circle).as_integer_ratio()
    lines = range(min(work.lines, under))
    most = max(abs((2 * over * n + under) // (2 * under) * under - over * n) for n in lines)
    return Millimetres(Fraction(most, under) * work.spacing / turns / circle)


def _circles(head: Head) -> list[int]:
    return sorted({circle for plate in head.plates for circle in plate.circles})


def _ratios(work: Rule, head: Head) -> Iterator[tuple[tuple[int, ...], Fraction]]:
    """Orders from the spindle to the screw, with the screw's turns for a turn of the spindle."""
    yield (), Fraction(1)
    if work.equal_gears:
        return
    for driven, drivers in trains(head.change_gears):
        orders = meshing_orders(driven, drivers)
        if orders:
            yield orders[0], Fraction(prod(driven), prod(drivers))


def _on_circle(work: Rule, way: _Way) -> TableDrive:
    """Every line to its own nearest hole, so that errors never add up."""
    over, under = (way.turns * way.circle).as_integer_ratio()
    holes = tuple((2 * over * n + under) // (2 * under) for n in range(work.lines))
    return TableDrive(way.order, way.turns, way.circle, holes, way.worst)


def unseen(work: Rule) -> Millimetres:
    """An error in the place of a line that no eye finds, mm: a fiftieth of a line's width."""
    return Millimetres(work.pattern.line_width / 50)


def best(work: Rule, head: Head, table_screw: Millimetres) -> TableDrive | None:
    """The least turning among those whose error can't be seen; where it always can be, among
    those of about the smallest error (within a factor of two)."""
    ways = _ways(work, head, table_screw)
    found = min(ways, key=partial(_cost, work), default=None)
    return None if found is None else _on_circle(work, found)


# In turns of the crank, about a second each (common practice): another pair of gears than equal
# ones to be found and meshed, a train of four; for each line the holes, and a count that changes.
_GEARS = {0: 0, 2: 200, 4: 600}
_HOLES, _UNEVEN = 3, 3


def _cost(work: Rule, way: _Way) -> tuple[Fraction | int, ...]:
    """Smaller is better: what is seen, then what is turned and counted."""
    seen = 0 if way.worst <= unseen(work) else int(way.worst / unseen(work)).bit_length()
    counted = _HOLES * (way.turns.denominator > 1) + _UNEVEN * (way.worst > 0)
    turning = work.lines * (way.turns + counted) + _GEARS[len(way.order)]
    return seen, turning, way.worst, -way.circle, *way.order


def moves(gearing: TableDrive) -> tuple[Move, ...]:
    """From each line to the next; there is no move back."""
    steps = (b - a for a, b in zip(gearing.holes, gearing.holes[1:], strict=False))
    return tuple(Move(*divmod(step, gearing.circle), gearing.circle) for step in steps)


# --- the part ---------------------------------------------------------------------------


def _check(work: Rule, shop: Shop, found: Findings) -> TableDrive | None:
    lines.check_pattern(work.pattern, work.lines, False, found)
    cure = f"{shown(Millimetres(2 * work.pattern.line_width), shop.unit)} or more"
    lines.spacing(work.pattern, float(work.spacing), cure, "spacing", found, shop.unit)
    longest = work.pattern.longest
    if longest and work.width and longest > work.width:
        most = shown(work.width, shop.unit)
        found.refuse("pattern", f"a line is longer than the rule is wide: {most} or less")
    if shop.machine.table_screw is None:
        found.refuse("spacing", 'the lead of the table screw is not known: '
                     'add [machine] table_screw = "5 mm"')  # fmt: skip
    if not shop.head.change_gears or not shop.head.plates:
        found.refuse("head", f"head {shop.head.name} can't be geared to the table screw: use a "
                     "head with plates and change gears, like three-plate-40-geared")  # fmt: skip
    if found.refusals:
        return None
    gearing = best(work, shop.head, shop.machine.table_screw or Millimetres(Fraction(1)))
    if gearing is None:
        found.refuse("spacing", "no circle of this head serves this rule: use another head")
    elif gearing.worst > unseen(work):
        worst = shown(float(gearing.worst), shop.unit)
        found.warn("spacing", f"not exact with the gears held: each line is at most {worst} off, "
                   "and the errors don't add up")  # fmt: skip
    return gearing


def _plan(work: Rule, gearing: TableDrive, shop: Shop) -> str:
    what = say(
        "{lines} along the rule, {spacing} apart, the table moved by the crank.",
        lines=say_n(work.lines, "one line", "{count} lines"),
        spacing=said(work.spacing, shop.unit),
    )
    lengths = say("{lengths}.", lengths=lines.lengths_said(work.pattern, shop.unit))
    return sentences(capital(what), capital(lengths), say("I call each line by its length."))


def _figures(work: Rule, gearing: TableDrive, screw: Millimetres, shop: Shop) -> tuple[Figure, ...]:
    unit = shop.unit
    whole, holes = divmod(gearing.holes[1], gearing.circle)
    return (
        Figure("lines", str(work.lines)),
        Figure("from line to line", shown(work.spacing, unit)),
        Figure("whole scale", shown(Millimetres(work.spacing * (work.lines - 1)), unit)),
        Figure("lengths", lines.lengths_shown(work.pattern, unit)),
        gears_figure(gearing),
        Figure("travel for one crank turn", shown(float(work.spacing / gearing.turns), unit)),
        Figure("first move", f"{whole} turns + {holes} holes on {gearing.circle}"),
        Figure("worst place of a line", off_shown(gearing.worst, unit)),
        Figure("table screw", shown(screw, unit)),
    )


def off_shown(worst: Millimetres, unit: Unit) -> str:
    """An error in mm as words, in the job's lengths; under a micrometre it has no figure."""
    if not worst:
        return "exact"
    figure = shown(float(worst), unit)
    return f"{figure} off" if worst >= Fraction(1, 1000) else "under a micrometre off"


def gears_figure(gearing: TableDrive) -> Figure:
    """The gears as they are met from the head's spindle to the table screw."""
    gears = order_shown(gearing.order, _PLACE) if gearing.order else "equal, 1 to 1"
    return Figure("change gears", gears)


def gears_written(gearing: TableDrive) -> str:
    """The same in the language in force, for a record."""
    if gearing.order:
        return order_written(gearing.order, _PLACE)
    return say("equal gears on the head's spindle and the table screw")


def gears_step(gearing: TableDrive) -> str:
    """From the head's spindle to the table screw."""
    if gearing.order:
        gears = order_said(gearing.order, _PLACE)
        return say("Change gears: {gears}. Guard over the gears.", gears=gears)
    return say(
        "Equal gears on the head's spindle and the table screw, with idlers between. "
        "Guard over the gears."
    )


def _steps(work: Rule, gearing: TableDrive, shop: Shop) -> tuple[str, ...]:
    return (
        say(
            "Rule clamped flat and square to the cutter's travel, its end against a stop. "
            "Table feed out of gear."
        ),
        gears_step(gearing),
        say(
            "Turn the crank once and measure how far the table goes: {size}.",
            size=said(float(work.spacing / gearing.turns), shop.unit),
        ),
        common.point_held(),
        lines.stops_said(work.pattern, shop.unit),
        common.touch_point(),
        sentences(lines.depth_said(work.pattern, shop.unit), say("Knee clamped in every cut.")),
        say(
            "Table locks off. The crank is turned one way only, so that the screw's slack stays "
            "out."
        ),
    )


def _draw(work: Rule) -> Drawing:
    space, width = float(work.spacing), float(work.width or 5 * work.spacing)
    length = space * (work.lines + 1)
    body = Shape(((-space, 0.0), (length - space, 0.0), (length - space, width), (-space, width)))
    shapes, anchors = [body], []
    for n in range(work.lines):
        grade = work.pattern.grade(n)
        rank = work.pattern.grades.index(grade)
        tall = min(float(grade.length or 0) or width * (0.8 - 0.2 * rank), width)
        shapes.append(Shape(((n * space, 0.0), (n * space, tall)), cut=n, closed=False))
        anchors.append((n * space, width * 1.1))
    return Drawing(tuple(shapes), tuple(anchors), flat=True)


# --- what is asked ----------------------------------------------------------------------

QUESTIONS = (
    ask.whole("lines", mark("How many lines?"), mark("With the first and the last.")),
    ask.length("spacing", mark("How far apart?"), mark("From line to line.")),
    ask.length("width", mark("How wide is the rule?"), mark("Enter: not known."), needed=False),
    *lines.QUESTIONS,
    ask.TABLE_SCREW,
)  # fmt: skip

KIND = Kind(
    "rule",
    mark("lines along a flat rule"),
    rank=150,
    keys=KEYS,
    read=read,
    questions=QUESTIONS,
)
