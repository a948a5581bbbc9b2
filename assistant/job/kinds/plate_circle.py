"""A circle of holes for a plate of the head's own, drilled on the head: a plate from a plate.

What a hole is off by is divided by the worm ratio when the plate is used, since R turns of the
crank are one of the spindle. What worm and wheel are off by stands in the new plate as well, and is
divided there; in the work it comes afresh.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from math import ceil, pi

from assistant.job import cutter_fit
from assistant.job.cutter_fit import Wanted
from assistant.job.kinds import ask, bolt_circle, common
from assistant.job.kinds.bolt_circle import BoltCircle
from assistant.job.part import Cut, Figure, Findings, Part, Pass, Rim, Round, Shop
from assistant.job.reader import Table
from assistant.job.shapes import Drawing
from assistant.job.units import Unit, said, shown
from assistant.job.work import Kind, Work
from assistant.words.language import mark, number, say, say_n
from assistant.words.spoken import capital, sentences
from solver import Head, Millimetres, Setup, Turns, error_statement, off_at

KEYS = ("holes", "circle", "hole", "blank")

_SECONDS = 1_296_000  # in a turn
_BEARS = 30  # arc-seconds at the work, from one division to the next; judged
_IN_A_ROW = 6  # holes of one line of figures
_OUT_OF_TRUE = Millimetres(Fraction(1, 100))  # mm, that the blank is shown for


@dataclass(frozen=True, slots=True)
class PlateCircle(Work):
    """`circle` is the diameter through the holes' centres, `hole` that of the pin's fit, mm."""

    holes: int
    circle: Millimetres
    hole: Millimetres
    blank: Millimetres | None = None

    def make(self, shop: Shop, found: Findings) -> Part | None:
        bolt_circle.check_holes(self.drilled, found, shop.unit)
        common.check_upright(shop, "kind", found)
        if found.refusals:
            return None
        holes = range(self.holes)
        cuts = tuple(
            Cut(Turns(Fraction(n, self.holes)), say("hole {n}", n=number(n + 1))) for n in holes
        )
        ratio = shop.head.worm_ratio
        return Part(
            plan=_plan(self, shop),
            figures=(
                Figure("centre to centre", shown(bolt_circle.chord(self.drilled), shop.unit)),
                Figure("from the axis", shown(Millimetres(self.circle / 2), shop.unit)),
            ),
            rounds=(Round(cuts),),
            passes=(Pass("", None),),
            steps=_steps(self, shop),
            draw=lambda: _draw(self),
            figures_of_errors=lambda head, setup, off: figures_of(
                self, head, setup, off, shop.unit
            ),
            between_centres=False,
            level=False,
            rim=Rim(
                float(self.circle),
                float(_BEARS * ratio / _SECONDS) * pi * float(self.circle),
                mark("a circle of an index plate"),
                mark("from one hole to the next"),
                "on the circle",
            ),
        )

    @property
    def drilled(self) -> BoltCircle:
        """The same as holes on any circle."""
        return BoltCircle(self.holes, self.circle, self.hole, blank=self.blank)

    def wanted_cutter(self, unit: Unit) -> Wanted:
        return cutter_fit.drill(self.hole, unit)


def read(table: Table) -> PlateCircle:
    """The figures of the table, lengths in mm: 3 to 400 holes; each fault goes into
    the table's list.
    """
    return PlateCircle(
        holes=table.whole("holes", 3, 400),
        circle=table.length("circle"),
        hole=table.length("hole"),
        blank=table.maybe_length("blank"),
    )


# --- the errors -------------------------------------------------------------------------


def drilled_by_it(head: Head, off: Sequence[Turns]) -> list[Turns] | None:
    """What a second plate of the same circle is off by, hole by hole, drilled by means of this one
    on the same head; in turns. None where the ratio is not whole: the circle does not serve then.

    For hole n the crank goes n R / N turns round, so its pin stands in hole n R of this plate,
    counted round and round; the worm divides what that hole is off by R, but not its own error.
    """
    if head.worm_ratio.denominator != 1:
        return None
    ratio, holes = head.worm_ratio.numerator, len(off)
    own = (
        off_at(head, Turns(Fraction(n, holes))) if head.errors.worm_wave else 0
        for n in range(holes)
    )
    return [Turns(off[n * ratio % holes] / ratio + each) for n, each in enumerate(own)]


def figures_of(
    work: PlateCircle, head: Head, setup: Setup, off: Sequence[Turns], unit: Unit
) -> tuple[Figure, ...]:
    """What each hole is off by as drilled with this set-up (`off`, in turns), and what is left of
    it at the work."""
    budget = error_statement(head, setup, divisions=work.holes).budget
    worst, ratio = Turns(max(map(abs, off))), head.worm_ratio
    by = "by the moves alone" if setup.true_error is None else "the head as measured counted"
    found = [
        Figure(
            f"worst hole, {by}", f"{_seconds(worst)}, {_along(work, worst, unit)} on the circle"
        ),
        Figure(f"the same at the work, {ratio} to 1", _seconds(Turns(worst / ratio))),
    ]
    if second := drilled_by_it(head, off):
        again = Turns(max(map(abs, second)))
        told = f"{_seconds(again)}, at the work {_seconds(Turns(again / ratio))}"
        found.append(Figure("a second plate, drilled by this one", told))
    if budget.missing:
        found.append(Figure("not in the head's file", " and ".join(budget.missing)))
    # The bounds of the head's own papers, too: nobody can trust the plate further than that.
    found.append(Figure("plate_arcsec for the head's file", str(ceil(budget.worst_case))))
    return (*found, _run_out(work, head, unit), *_each_hole(off))


def _each_hole(off: Sequence[Turns]) -> list[Figure]:
    rows = [range(n, min(n + _IN_A_ROW, len(off))) for n in range(0, len(off), _IN_A_ROW)]
    return [
        Figure(f"holes {row[0] + 1} to {row[-1] + 1}, off by", "  ".join(map(_signed, part)))
        for row, part in ((row, off[row.start : row.stop]) for row in rows)
    ]


def _run_out(work: PlateCircle, head: Head, unit: Unit) -> Figure:
    """A circle drilled about a wrong middle is off by so much of its radius, once round."""
    turns = Turns(Fraction(float(_OUT_OF_TRUE / (work.circle / 2)) / (2 * pi)))
    return Figure(
        f"a bore out of true by {shown(_OUT_OF_TRUE, unit)} adds",
        f"{_seconds(turns)}, at the work {_seconds(Turns(turns / head.worm_ratio))}",
    )


def _along(work: PlateCircle, turns: Turns, unit: Unit) -> str:
    return shown(float(turns) * pi * float(work.circle), unit)


def _seconds(turns: Turns) -> str:
    return f'{float(turns * _SECONDS):.2f}"'


def _signed(turns: Turns) -> str:
    # Adding nought makes minus nought a plain one.
    return f'{round(float(turns * _SECONDS), 1) + 0.0:+.1f}"'


# --- the part ---------------------------------------------------------------------------


def _plan(work: PlateCircle, shop: Shop) -> str:
    circle = say(
        "A plate's circle of {holes}, of {size} on {circle}.",
        holes=say_n(work.holes, "one hole", "{count} holes"),
        size=said(work.hole, shop.unit),
        circle=said(work.circle, shop.unit),
    )
    divided = say("What a hole is off by, the worm divides when the plate is used.")
    return sentences(capital(circle), divided)


def _steps(work: PlateCircle, shop: Shop) -> tuple[str, ...]:
    return (
        common.upright(),
        say(
            "Plate blank clamped on a mandrel in the spindle. Its bore runs true, not only its rim."
        ),
        say(
            "Spindle of the machine over the axis of the head. Come up to it the way that you then "
            "go out. Then {size} out, the same way. Table and saddle clamped in every cut.",
            size=said(Millimetres(work.circle / 2), shop.unit),
        ),
        say("At each hole: centre, drill and ream before the next move, so that all stand alike."),
    )


def _draw(work: PlateCircle) -> Drawing:
    return bolt_circle.circle_drawing(work.drilled)


# --- what is asked ----------------------------------------------------------------------

QUESTIONS = (
    ask.whole("holes", mark("How many holes?"), mark("Of the new circle."), "51"),
    *bolt_circle.QUESTIONS[1:],
)

KIND = Kind(
    "plate-circle",
    mark("a circle of holes for a plate of the head"),
    rank=170,
    keys=KEYS,
    read=read,
    questions=QUESTIONS,
)
