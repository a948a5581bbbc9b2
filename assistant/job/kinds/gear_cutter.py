"""The form cutter that a gear asks of the drawer."""

from __future__ import annotations

from math import ceil

from assistant.job.cutter_fit import RIGHT, Fit, Wanted, unfit
from assistant.job.kept import Kept
from assistant.job.kinds import cutters
from assistant.job.kinds.gear_teeth import Tooth
from assistant.job.units import MM_PER_INCH
from assistant.words.language import say


def wanted(tooth: Tooth, teeth: float, special: bool, form: str) -> Wanted:
    """A form cutter of that tooth for so many (virtual) teeth; where a `special` one was made, that
    one. `form` is its form in the drawer.
    """
    number = cutters.dp_number(teeth)

    def judge(kept: Kept) -> Fit:
        if kept.form != form:
            return unfit(say("another form"))
        if kept.module != tooth.module:
            return unfit(say("another pitch"))
        if kept.pressure_degrees not in (None, tooth.pressure_degrees):
            return unfit(say("another pressure angle"))
        if special or number is None:
            return RIGHT if kept.number is None else unfit(say("made for more teeth"))
        return _numbered(kept, number, teeth)

    return Wanted(_gear_named(tooth, number, form), judge)


def _numbered(kept: Kept, number: int, teeth: float) -> Fit:
    """Both numbers as a set by diametral pitch counts: high is few teeth. A number with a half cuts
    the upper part of the range of the next whole one, and no fewer teeth."""
    if kept.number is None:
        return Fit(True, say("its number is not known: see what is stamped on it"))
    of_set = kept.number if kept.by_dp else 9 - kept.number
    if of_set == number:
        return RIGHT
    if ceil(of_set) == number and teeth + 0.5 >= cutters.half_number_from(of_set):
        return Fit(True, say("of a set of fifteen, nearer than one of eight: see its stamp"))
    if of_set > number:
        return Fit(True, say("made for fewer teeth: the tips come out a little thin"))
    return unfit(say("made for more teeth: the flanks would be too full to run"))


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
