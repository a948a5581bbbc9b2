"""Which cutters of the drawer a piece of work can be cut with, and what would do instead.

A form cutter is made for the fewest teeth of its range and only clears the others: a gear of more
teeth may be cut with it, its flanks come out a little thin at the tips; one made for more teeth
leaves the flanks too full to run (common practice; the ranges are those of `kinds/cutters.py`).
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from fractions import Fraction
from math import ceil, radians
from typing import Any

from assistant.job.drawer import Kept
from assistant.job.kinds import (
    bevel_gear,
    clutch,
    cutters,
    helical_gear,
    splines,
    spur_gear,
    worm_wheel,
)
from assistant.job.kinds.angular_clutch import AngularClutch
from assistant.job.kinds.bevel_gear import BevelGear
from assistant.job.kinds.bolt_circle import BoltCircle
from assistant.job.kinds.by_name import Work
from assistant.job.kinds.clutch import Clutch
from assistant.job.kinds.flutes import Flutes
from assistant.job.kinds.gear_teeth import Tooth
from assistant.job.kinds.helical_gear import HelicalGear
from assistant.job.kinds.helical_grooves import HelicalGrooves
from assistant.job.kinds.keyways import Keyways
from assistant.job.kinds.plate_cam import PlateCam
from assistant.job.kinds.plate_circle import PlateCircle
from assistant.job.kinds.polygon import Polygon
from assistant.job.kinds.ratchet import Ratchet
from assistant.job.kinds.splines import Splines
from assistant.job.kinds.spur_gear import SpurGear
from assistant.job.kinds.worm_wheel import WormWheel
from assistant.job.units import MM_PER_INCH, angle_shown, shown
from assistant.words.language import say

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
        return self.does and not self.why


RIGHT = Fit()


@dataclass(frozen=True, slots=True)
class Wanted:
    """`what` names the cutter that the work asks for; `judge` looks at one of the drawer."""

    what: str
    judge: Callable[[Kept], Fit]


def wanted(work: Work, unit: str) -> Wanted | None:
    """What this work is cut with; None where any tool may serve, or none of a drawer."""
    asked = _ASKED.get(type(work))
    return asked(work, unit) if asked else None


def _not(what: str) -> Fit:
    return Fit(False, what)


def _one_of(*forms: str) -> Callable[[Kept], Fit]:
    def judge(kept: Kept) -> Fit:
        return RIGHT if kept.form in forms else _not(say("another form"))

    return judge


def _form(form: str) -> Wanted:
    what = say("a side cutter") if form == "side" else say("a form cutter")
    return Wanted(what, _one_of(form))


# --- gears --------------------------------------------------------------------------------


def _gear(tooth: Tooth, teeth: float, special: bool, form: str) -> Wanted:
    number = cutters.dp_number(teeth)

    def judge(kept: Kept) -> Fit:
        if kept.form != form:
            return _not(say("another form"))
        if kept.module != tooth.module:
            return _not(say("another pitch"))
        if kept.pressure_degrees not in (None, tooth.pressure_degrees):
            return _not(say("another pressure angle"))
        if special or number is None:
            return RIGHT if kept.number is None else _not(say("made for more teeth"))
        return _numbered(kept, number)

    return Wanted(_gear_named(tooth, number, form), judge)


def _numbered(kept: Kept, number: int) -> Fit:
    """Both numbers as a set by diametral pitch counts: high is few teeth. A number with a half cuts
    the upper part of the range of the next whole one (sets of fifteen; common practice)."""
    if kept.number is None:
        return Fit(True, say("its number is not known: see what is stamped on it"))
    of_set = kept.number if kept.by_dp else 9 - kept.number
    if of_set == number:
        return RIGHT
    if ceil(of_set) == number:
        return Fit(True, say("of a set of fifteen: see the range stamped on it"))
    if of_set > number:
        return Fit(True, say("made for fewer teeth: the tips come out a little thin"))
    return _not(say("made for more teeth: the flanks would be too full to run"))


def _gear_named(tooth: Tooth, number: int | None, form: str) -> str:
    pitch = say("module {module}", module=f"{float(tooth.module):g}")
    counted = number and 9 - number
    if tooth.by_dp:
        pitch = say("diametral pitch {pitch}", pitch=f"{float(MM_PER_INCH / tooth.module):g}")
        counted = number
    what = say("a gear cutter") if form == "gear" else say("a cutter for bevel gears")
    if counted is None:
        return f"{what}, {pitch}"
    return f"{what}, {pitch}, " + say("number {number}", number=counted)


# --- by size ------------------------------------------------------------------------------


def _named_width(named: Fraction, most: float, unit: str) -> Wanted:
    """The work names the width of its cutter, and is reckoned with it; `most` is the widest that
    cuts nothing it should not, mm."""

    def judge(kept: Kept) -> Fit:
        wide = kept.across
        if kept.form not in ("side", "saw", "end") or wide is None:
            return _not(say("another form"))
        if abs(wide - named) <= ALIKE:
            return RIGHT
        size = shown(wide, unit)
        if float(wide) > most:
            return _not(say("{size} wide", size=size))
        why = say('{size} wide: write cutter_width = "{size}"', size=size)
        return Fit(True, why, "cutter_width")

    return Wanted(say("a side cutter {size} wide", size=shown(named, unit)), judge)


def _slot(width: Fraction, unit: str) -> Wanted:
    def judge(kept: Kept) -> Fit:
        wide = kept.across
        if kept.form not in ("side", "saw", "end") or wide is None:
            return _not(say("another form"))
        if abs(wide - width) <= ALIKE:
            return RIGHT
        if wide > width or 2 * wide < width:
            return _not(say("{size} wide", size=shown(wide, unit)))
        less = shown(width - wide, unit)
        return Fit(True, say("{size} too narrow: open the slot on each side by half", size=less))

    return Wanted(say("a cutter {size} wide", size=shown(width, unit)), judge)


def _groove(work: HelicalGrooves, unit: str) -> Wanted:
    """As wide as the groove: moved aside, a cutter would leave the helix that the gears give."""
    wide = shown(work.width, unit)

    def judge(kept: Kept) -> Fit:
        if kept.form != work.form:
            return _not(say("another form"))
        if work.form == "form" or kept.across is None:
            return RIGHT
        if abs(kept.across - work.width) <= ALIKE:
            return RIGHT
        return _not(say("{size} wide", size=shown(kept.across, unit)))

    names = {
        "end": say("an end mill of {size}", size=wide),
        "side": say("a side cutter {size} wide", size=wide),
        "form": say("a form cutter"),
    }
    return Wanted(names[work.form], judge)


def _angle(degrees: Fraction) -> Wanted:
    def judge(kept: Kept) -> Fit:
        if kept.form != "angle" or kept.angle_degrees is None:
            return _not(say("another form"))
        if kept.angle_degrees == degrees:
            return RIGHT
        return _not(say("{angle} between its flanks", angle=angle_shown(kept.angle_degrees)))

    return Wanted(say("an angle cutter of {angle}", angle=angle_shown(degrees)), judge)


def _drill(hole: Fraction, unit: str) -> Wanted:
    def judge(kept: Kept) -> Fit:
        if kept.form not in ("drill", "end") or kept.cutter.diameter is None:
            return _not(say("another form"))
        if abs(kept.cutter.diameter - hole) <= ALIKE:
            return RIGHT
        size = shown(kept.cutter.diameter, unit)
        if kept.cutter.diameter > hole:
            return _not(say("{size} in diameter", size=size))
        return Fit(True, say("{size} in diameter: the hole is bored to size after", size=size))

    return Wanted(say("a drill of {size}", size=shown(hole, unit)), judge)


def _mill(diameter: Fraction, unit: str) -> Wanted:
    """The roller that follows the cam is as large as the mill, and the settings are reckoned by it:
    another one does once the job says it."""

    def judge(kept: Kept) -> Fit:
        if kept.form != "end" or kept.cutter.diameter is None:
            return _not(say("another form"))
        if abs(kept.cutter.diameter - diameter) <= ALIKE:
            return RIGHT
        size = shown(kept.cutter.diameter, unit)
        return Fit(True, say('{size} in diameter: write mill = "{size}"', size=size), "mill")

    return Wanted(say("an end mill of {size}", size=shown(diameter, unit)), judge)


# --- kind by kind -------------------------------------------------------------------------


def _helical(work: HelicalGear, _: str) -> Wanted:
    virtual = helical_gear.virtual_teeth(work.teeth, radians(work.helix_degrees))
    return _gear(work.tooth, virtual, work.special_cutter, "gear")


def _bevel(work: BevelGear, _: str) -> Wanted:
    virtual = bevel_gear.virtual_teeth(work)
    return _gear(work.tooth, virtual, work.special_cutter, "bevel-gear")


_ASKED: dict[type[Any], Callable[[Any, str], Wanted]] = {
    SpurGear: lambda w, _: _gear(
        w.tooth, float(spur_gear.teeth_at_the_cutter(w)), w.special_cutter, "gear"
    ),
    HelicalGear: _helical,
    BevelGear: _bevel,
    WormWheel: lambda w, unit: _named_width(w.cutter_width, worm_wheel.widest_cutter(w), unit),
    Clutch: lambda w, unit: _named_width(w.cutter_width, clutch.widest_cutter(w), unit),
    Splines: lambda w, unit: _named_width(w.cutter_width, splines.widest_cutter(w), unit),
    Keyways: lambda w, unit: _slot(w.width, unit),
    HelicalGrooves: _groove,
    Ratchet: lambda w, _: _angle(w.cutter_degrees),
    Flutes: lambda w, _: _angle(w.angle_degrees) if w.cutter == "angle" else _form(w.cutter),
    Polygon: lambda *_: Wanted(say("a side cutter or an end mill"), _one_of("side", "end")),
    AngularClutch: lambda w, _: _angle(w.cutter_degrees),
    BoltCircle: lambda w, unit: _drill(w.hole, unit),
    PlateCircle: lambda w, unit: _drill(w.hole, unit),
    PlateCam: lambda w, unit: _mill(w.mill, unit),
}
