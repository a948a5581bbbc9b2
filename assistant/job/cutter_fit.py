"""Which cutters of the drawer a piece of work can be cut with, and what would do instead.

A form cutter is made for the fewest teeth of its range and only clears the others: a gear of more
teeth may be cut with it, its flanks come out a little thin at the tips; one made for more teeth
leaves the flanks too full to run (common practice; the ranges are those of `kinds/cutters.py`).
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from fractions import Fraction

from assistant.job.kept import Kept
from assistant.job.units import Unit, angle_shown, shown
from assistant.words.language import say
from solver import Degrees, Millimetres

ALIKE = Fraction(1, 100)  # mm: sizes of cutters that a micrometer in the shop doesn't tell apart


@dataclass(frozen=True, slots=True)
class Fit:
    """`why` is empty where the cutter is the right one; with `does` it would do, and why says how
    it differs, else it can't be used. `rewrite`: it would, with another figure in the job, under
    that key."""

    does: bool = True
    why: str = ""
    rewrite: str = ""

    @property
    def right(self) -> bool:
        """It is the cutter that is wanted, with nothing to add."""
        return self.does and not self.why


RIGHT = Fit()


@dataclass(frozen=True, slots=True)
class Wanted:
    """`what` names the cutter that the work asks for; `judge` looks at one of the drawer."""

    what: str
    judge: Callable[[Kept], Fit]


def unfit(what: str) -> Fit:
    """It can't be used, and what is other about it."""
    return Fit(False, what)


def any_form(*forms: str) -> Callable[[Kept], Fit]:
    """Any cutter of one of these forms, whatever its size."""

    def judge(kept: Kept) -> Fit:
        return RIGHT if kept.form in forms else unfit(say("another form"))

    return judge


def form(form: str) -> Wanted:
    """A cutter of that form alone."""
    what = say("a side cutter") if form == "side" else say("a form cutter")
    return Wanted(what, any_form(form))


# --- by size ------------------------------------------------------------------------------


def named_width(named: Millimetres, most: float, unit: Unit) -> Wanted:
    """The work names the width of its cutter, and is reckoned with it; `most` is the widest that
    cuts nothing it should not, mm."""

    def judge(kept: Kept) -> Fit:
        wide = kept.across
        if kept.form not in ("side", "saw", "end") or wide is None:
            return unfit(say("another form"))
        if abs(wide - named) <= ALIKE:
            return RIGHT
        size = shown(wide, unit)
        if float(wide) > most:
            return unfit(say("{size} wide", size=size))
        why = say('{size} wide: write cutter_width = "{size}"', size=size)
        return Fit(True, why, "cutter_width")

    return Wanted(say("a side cutter {size} wide", size=shown(named, unit)), judge)


def slot_cutter(width: Millimetres, unit: Unit) -> Wanted:
    """A slot of that width, in mm: side cutter, saw or end mill; from half its width on a narrower
    one does, in more cuts.
    """

    def judge(kept: Kept) -> Fit:
        wide = kept.across
        if kept.form not in ("side", "saw", "end") or wide is None:
            return unfit(say("another form"))
        if abs(wide - width) <= ALIKE:
            return RIGHT
        if wide > width or 2 * wide < width:
            return unfit(say("{size} wide", size=shown(wide, unit)))
        less = shown(Millimetres(width - wide), unit)
        return Fit(True, say("{size} too narrow: open the slot on each side by half", size=less))

    return Wanted(say("a cutter {size} wide", size=shown(width, unit)), judge)


def angle_cutter(degrees: Degrees) -> Wanted:
    """An angle cutter with exactly those degrees between its flanks."""

    def judge(kept: Kept) -> Fit:
        if kept.form != "angle" or kept.angle_degrees is None:
            return unfit(say("another form"))
        if kept.angle_degrees == degrees:
            return RIGHT
        return unfit(say("{angle} between its flanks", angle=angle_shown(kept.angle_degrees)))

    return Wanted(say("an angle cutter of {angle}", angle=angle_shown(degrees)), judge)


def drill(hole: Millimetres, unit: Unit) -> Wanted:
    """A hole of that diameter, in mm: drill or end mill; with a smaller one the hole is bored
    to size after.
    """

    def judge(kept: Kept) -> Fit:
        if kept.form not in ("drill", "end") or kept.cutter.diameter is None:
            return unfit(say("another form"))
        if abs(kept.cutter.diameter - hole) <= ALIKE:
            return RIGHT
        size = shown(kept.cutter.diameter, unit)
        if kept.cutter.diameter > hole:
            return unfit(say("{size} in diameter", size=size))
        return Fit(True, say("{size} in diameter: the hole is bored to size after", size=size))

    return Wanted(say("a drill of {size}", size=shown(hole, unit)), judge)
