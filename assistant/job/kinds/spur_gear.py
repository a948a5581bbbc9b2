"""Spur gears with an involute form cutter."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import partial
from math import cos, hypot, pi, sin
from typing import NamedTuple

from assistant.job.cutter_fit import Wanted
from assistant.job.kinds import (
    ask,
    at_the_rim,
    common,
    cutters,
    gear_cutter,
    gear_drawing,
    gear_questions,
    gear_teeth,
)
from assistant.job.kinds.gear_teeth import Tooth
from assistant.job.kinds.shifted_gear import SetCutter, Shifted, best_cut, span_at, tip_width
from assistant.job.measuring import Measurement
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
from assistant.job.question import Answers, Form, Question
from assistant.job.reader import Table
from assistant.job.shapes import Drawing
from assistant.job.units import Unit, near, said, shown
from assistant.job.work import Kind
from assistant.words.language import mark, number, say, say_n
from assistant.words.spoken import capital, sentences
from solver import Millimetres

KEYS = (
    "teeth",
    "blank",
    "special_cutter",
    "addendum",
    "shift",
    "span_limits",
    "thickness_limits",
    *gear_teeth.KEYS,
    *common.PASS_KEYS,
)

_TOP = 0.2  # modules: thinner at the top, a tooth that is hardened chips (common practice)
_FORM = 0.1  # modules: flanks so far off no longer run (common practice)


@dataclass(frozen=True, slots=True)
class SpurGear(gear_teeth.Toothed):
    """`blank` is the diameter that the blank was turned to, mm; None: as it should be.
    `span_limits` are the deviations allowed of the span that is measured, mm; None: none given.
    `shift`: of the profile, in modules, outward over 0.
    """

    teeth: int
    tooth: Tooth
    blank: Millimetres | None = None
    special_cutter: bool = False
    passes: Passes = ONE_PASS
    span_limits: tuple[Millimetres, Millimetres] | None = None
    shift: Fraction = Fraction(0)

    @property
    def shifted(self) -> Shifted:
        """Its teeth, for the geometry of a shift."""
        return Shifted(
            self.teeth, float(self.shift), self.tooth.pressure, float(self.tooth.addendum)
        )

    @property
    def cut(self) -> SetCutter | None:
        """How a cutter of a set gives the shift; None where there is none, or the cutter's own."""
        return None if not self.shift or self.special_cutter else best_cut(self.shifted)

    def make(self, shop: Shop, found: Findings) -> Part | None:
        check_tooth(self.tooth, found)
        check_cutter(self.teeth, self.special_cutter, found)
        _check_blank(self, found, shop.unit)
        if not found.refusals:
            _check_shift(self, found, shop.unit)
        if found.refusals:
            return None
        passes = passes_to(depth(self), self.passes, found, shop.unit, _room(self))
        if found.refusals:
            return None
        _suspect(self, found)
        return Part(
            plan=_plan(self, passes, shop),
            figures=_figures(self, passes, shop),
            rounds=(Round(equal_cuts(self.teeth, _labels(self.teeth))),),
            passes=passes,
            steps=steps(
                teeth_at_the_cutter(self),
                self.blank or outside(self),
                passes,
                shop,
                self.special_cutter,
            ),
            measurements=_measurements(self, passes),
            limited="span_limits",
            sizes_in=partial(_measurements_in, self, passes),
            rim=gear_rim(float(self.tooth.module), float(self.teeth * self.tooth.module)),
            draw=partial(_draw, self),
        )

    def wanted_cutter(self, unit: Unit) -> Wanted:
        return gear_cutter.wanted(
            self.tooth, float(teeth_at_the_cutter(self)), self.special_cutter, "gear"
        )


def read(table: Table) -> SpurGear:
    """The figures of the table, lengths in mm: 5 to 1000 teeth, a shift of -0.6 to 1 module; each
    fault goes into the table's list.
    """
    tooth = gear_teeth.read(table)
    return SpurGear(
        teeth=table.whole("teeth", 5, 1000),
        tooth=tooth,
        blank=table.maybe_length("blank"),
        special_cutter=table.flag("special_cutter"),
        passes=common.read_passes(table),
        span_limits=_span_limits(table, tooth),
        shift=table.number("shift", -0.6, 1, "0"),
    )


def _span_limits(table: Table, tooth: Tooth) -> tuple[Millimetres, Millimetres] | None:
    """As given, or from those of the tooth's thickness at the pitch line, as drawings give them for
    backlash: the span's are smaller by cos a (ISO 21771, base tangent length; from memory)."""
    span_, thick = table.deviations("span_limits"), table.deviations("thickness_limits")
    if span_ and thick:
        table.fault("thickness_limits", "span_limits and thickness_limits: give one of them")
    if thick is None:
        return span_
    low, high = (near(float(each) * cos(tooth.pressure)) for each in thick)
    return low, high


# --- the figures ------------------------------------------------------------------------


def outside(work: SpurGear) -> Millimetres:
    """Outside diameter, mm: (N + 2) m; N and twice addendum and shift where these are others."""
    return Millimetres((work.teeth + 2 * tip_height(work)) * work.tooth.module)


def tip_height(work: SpurGear) -> Fraction:
    """Of a tooth above the pitch line, in modules."""
    return work.tooth.addendum + work.shift


def teeth_at_the_cutter(work: SpurGear) -> int:
    """That the cutter is chosen for: for a shifted gear those of the cutter that comes nearest."""
    return work.cut.made_for if work.cut else work.teeth


def depth(work: SpurGear) -> Millimetres:
    """Depth below the top of the blank as it is, mm: a small blank is cut less deep, and teeth that
    are to be thinner, to the middle of the limits of their span, are cut deeper."""
    return Millimetres(_standard_depth(work) + _for_thinner_teeth(work))


def _standard_depth(work: SpurGear) -> Fraction:
    deep: Fraction = work.tooth.depth
    if work.cut:
        deep += (work.shift - near(work.cut.raised)) * work.tooth.module
    if work.blank is None:
        return deep
    return deep - (outside(work) - work.blank) / 2


def _for_thinner_teeth(work: SpurGear) -> Fraction:
    if work.span_limits is None:
        return Fraction(0)
    return -near(float(sum(work.span_limits)) / 2 / span_per_depth(work, spanned(work)))


def _room(work: SpurGear) -> Millimetres | None:
    """What the limits of the span leave the depth, mm; None: no limits."""
    if work.span_limits is None:
        return None
    low, high = work.span_limits
    return near(float(high - low) / span_per_depth(work, spanned(work)))


def span_per_depth(work: SpurGear, k: int) -> float:
    """What a span over k teeth loses for each mm of depth. Its two outer spaces stand k pitches
    apart, and a form cutter sinks straight into each: their flanks go sideways, along the span, by
    sin(180 k / z) of the depth (geometry). It is not 2 sin a, which holds for a rack that rolls."""
    return 2 * sin(pi * k / work.teeth)


def spanned(work: SpurGear) -> int:
    """Over how many teeth the span is measured."""
    return gear_teeth.span_teeth(work.teeth, work.tooth.pressure, float(work.shift))


def span_size(work: SpurGear) -> float:
    """Size over the spanned teeth of the finished gear without backlash, mm."""
    return _span_over(work, spanned(work))


def _span_over(work: SpurGear, k: int) -> float:
    """As the cutter at its depth leaves it, mm."""
    module, shift = float(work.tooth.module), float(work.shift)
    if work.cut:
        return module * span_at(work.shifted, work.cut.made_for, work.cut.raised, k)
    return gear_teeth.base_tangent(module, work.teeth, k, work.tooth.pressure, shift)


def over_pins(work: SpurGear) -> tuple[float, float]:
    """The pin's diameter and the size over two of them, mm."""
    module = float(work.tooth.module)
    pressure, shift = work.tooth.pressure, float(work.shift)
    pin = gear_teeth.pin(module)
    if shift:
        pin = gear_teeth.shifted_pin(module, work.teeth, pressure, shift)
    return pin, gear_teeth.size_over_pins(module, work.teeth, pressure, pin, shift)


# --- the part ---------------------------------------------------------------------------


def gear_rim(module: float, pitch_diameter: float) -> Rim:
    """What a gear so cut needs at its pitch line, both in mm."""
    return Rim(
        pitch_diameter,
        at_the_rim.gear_need(module, pitch_diameter),
        mark("a gear so cut"),
        mark("from one tooth to the next"),
        "at the pitch line",
    )


def _labels(teeth: int) -> list[str]:
    return [say("tooth space {n}", n=number(n + 1)) for n in range(teeth)]


def teeth_said(teeth: int) -> str:
    """So many teeth, counted in words."""
    return say_n(teeth, "one tooth", "{count} teeth")


def check_tooth(tooth: Tooth, found: Findings) -> None:
    """Refuses a pressure angle beyond 10 to 30 degrees, and warns of one that is
    no standard one.
    """
    if not 10 <= tooth.pressure_degrees <= 30:
        found.refuse(
            "pressure_angle",
            f"pressure angle {float(tooth.pressure_degrees):g} degrees: "
            "14.5, 20 and 25 are the standard ones, and 10 to 30 can be worked out",
        )
    elif tooth.pressure_degrees not in (Fraction(29, 2), 20, 25):
        found.warn(
            "pressure_angle",
            f"pressure angle {float(tooth.pressure_degrees):g} degrees is not a standard one "
            "(14.5, 20, 25): the cutter must be made for it",
        )
    _check_whole_depth(tooth, found)


def _check_whole_depth(tooth: Tooth, found: Findings) -> None:
    """The mate's addendum, one module or 1/P, has to find room below the pitch line."""
    given = f"whole depth {float(tooth.whole_depth):g}"
    if tooth.whole_depth <= 2 * tooth.addendum:
        found.refuse(
            "whole_depth",
            f"{given}: the teeth of the mate, with an addendum of {float(tooth.addendum):g}, would "
            f"touch the floor: give more than {2 * float(tooth.addendum):g}",
        )
        return
    if tooth.addendum != 1:
        return  # what is stamped on the cutter alone says it
    least, most, where = (
        (gear_teeth.BY_PITCH, gear_teeth.BY_MODULE, "teeth of 20 degrees")
        if tooth.by_dp
        else (gear_teeth.BY_MODULE, gear_teeth.BY_FINE_MODULE, "fine teeth")
    )
    if not least <= tooth.whole_depth <= most:
        custom = f"{float(least):g}, or {float(most):g} for {where}"
        found.warn(
            "whole_depth",
            f"{given}: {custom} is customary here; what is stamped on the cutter comes first",
        )


def check_cutter(
    teeth: float, special: bool, found: Findings, key: str = "teeth", kind: str = "teeth"
) -> None:
    """No form cutter of the usual sets cuts fewer than twelve teeth."""
    if cutters.dp_number(teeth) is None and not special:
        found.refuse(
            key,
            f"{teeth:.4g} {kind}: form cutters begin at {cutters.FEWEST}: give more teeth, "
            "or special_cutter = true where you have one made for it",
        )


def _check_blank(work: SpurGear, found: Findings, unit: Unit) -> None:
    if work.blank is None:
        return
    off = work.blank - outside(work)
    if abs(off) > work.tooth.module / 2:
        found.refuse(
            "blank",
            f"blank {shown(work.blank, unit)} is not this gear's: "
            f"turn it to {shown(outside(work), unit)}",
        )
    elif abs(off) > work.tooth.module / 20:
        more = "less" if off < 0 else "more"
        found.warn(
            "blank",
            f"the blank should be {shown(outside(work), unit)}: the depth is taken as "
            f"{shown(Millimetres(abs(off) / 2), unit)} {more}",
        )


def _check_shift(work: SpurGear, found: Findings, unit: Unit) -> None:
    """A tooth has to keep a top, and a cutter of a set to come near; the floor is told where it
    comes out nearer than drawn to the mate's tip."""
    module, cut = float(work.tooth.module), work.cut
    if (wide := tip_width(work.shifted) * module) < _TOP * module:
        found.refuse(
            "shift",
            f"the teeth come to {shown(max(wide, 0.0), unit)} at the top: "
            f"{shown(_TOP * module, unit)} or more: a smaller shift, or a smaller addendum",
        )
    if cut is None:
        return
    if cut.off > _FORM:
        found.refuse(
            "shift",
            f"a cutter of unshifted teeth leaves the flanks {shown(cut.off * module, unit)} off: a "
            "smaller shift, or special_cutter = true where you have one made for it",
        )
    else:
        found.warn(
            "shift",
            f"with a cutter of unshifted teeth the span is true, the flanks are up to "
            f"{shown(cut.off * module, unit)} off, and the floor is {_floor_told(work, cut, unit)}",
        )


def _floor_told(work: SpurGear, cut: SetCutter, unit: Unit) -> str:
    lower = float(work.shift) - cut.raised
    off = shown(abs(lower) * float(work.tooth.module), unit)
    return f"{off} deeper than drawn" if lower >= 0 else f"{off} higher than drawn"


def _suspect(work: SpurGear, found: Findings) -> None:
    reach = float(work.tooth.addendum - work.shift)
    fewest = gear_teeth.fewest_without_undercut(work.tooth.pressure, reach)
    if work.teeth < fewest - 0.2:
        found.warn(
            "teeth",
            f"undercut: under {fewest:.1f} teeth at this pressure angle the flanks foul near the "
            "root when the mate is large: try the pair before you rely on it",
        )


def _plan(work: SpurGear, passes: tuple[Pass, ...], shop: Shop) -> str:
    dp, teeth = cutters.dp_number(teeth_at_the_cutter(work)), teeth_said(work.teeth)
    if dp is None or work.special_cutter:
        what = say("A gear of {teeth}, a special cutter.", teeth=teeth)
    else:
        what = say(
            "A gear of {teeth}, cutter {dp} by diametral pitch or cutter {module} by module.",
            teeth=teeth, dp=number(dp), module=number(9 - dp),
        )  # fmt: skip
        what = sentences(what, cutters.finer_said(teeth_at_the_cutter(work)))
    times = say_n(len(passes), "one pass", "{count} passes")
    deep = say("{depth} deep in {passes}.", depth=said(depth(work), shop.unit), passes=times)
    # Over how many teeth depends on the order of the cuts: the question alone says it.
    ask = say("I ask for the size over teeth as soon as it can be measured.")
    return sentences(what, capital(deep), ask)


def _figures(work: SpurGear, passes: tuple[Pass, ...], shop: Shop) -> tuple[Figure, ...]:
    unit = shop.unit
    pin, over = over_pins(work)
    return (
        Figure("blank diameter", shown(outside(work), unit)),
        Figure("pitch diameter", shown(Millimetres(work.teeth * work.tooth.module), unit)),
        *tooth_figures(work.tooth, unit),
        *_shift_figures(work, unit),
        Figure("depths", depths_shown(passes, unit)),
        Figure(
            "cutter", cutters.cutter_shown(teeth_at_the_cutter(work), special=work.special_cutter)
        ),
        Figure("chordal thickness", shown(_chordal_thickness(work), unit)),
        Figure("chordal addendum", shown(_chordal_addendum(work), unit)),
        Figure(f"span over {spanned(work)} teeth", shown(span_size(work), unit), one_by_one=True),
        Figure(f"over pins of {shown(pin, unit)}", shown(over, unit)),
        *common.centre_figures(work.blank or outside(work), shop),
    )


def _shift_figures(work: SpurGear, unit: Unit) -> tuple[Figure, ...]:
    if not work.shift:
        return ()
    module = float(work.tooth.module)
    shift = Figure("profile shift", f"{float(work.shift):g}: {shown(work.shift * module, unit)}")
    top = Figure("top of a tooth", shown(tip_width(work.shifted) * module, unit))
    if work.cut is None:
        return shift, top
    off = Figure("flanks off at most", shown(work.cut.off * module, unit))
    return shift, top, off, Figure("floor", _floor_told(work, work.cut, unit))


def _chordal_thickness(work: SpurGear) -> float:
    shift, pressure = float(work.shift), work.tooth.pressure
    return gear_teeth.chordal_thickness(float(work.tooth.module), work.teeth, shift, pressure)


def _chordal_addendum(work: SpurGear) -> float:
    """From the top of the blank as it is."""
    off = 0 if work.blank is None else float(work.blank - outside(work)) / 2
    shift, module = float(work.shift), float(work.tooth.module)
    return off + gear_teeth.chordal_addendum(
        module, work.teeth, float(tip_height(work)), shift, work.tooth.pressure
    )


def tooth_figures(tooth: Tooth, unit: Unit) -> tuple[Figure, ...]:
    """Module, diametral pitch, addendum, dedendum and depth, in the job's lengths."""
    return (
        Figure("module", f"{float(tooth.module):.5g} mm"),
        Figure("diametral pitch", f"{float(tooth.diametral_pitch):.6g}"),
        Figure("addendum", shown(Millimetres(tooth.addendum * tooth.module), unit)),
        Figure("dedendum", shown(tooth.dedendum, unit)),
        Figure("whole depth", shown(tooth.depth, unit)),
    )


def steps(
    teeth: float, blank: Fraction, passes: tuple[Pass, ...], shop: Shop, special: bool
) -> tuple[str, ...]:
    """The items of the set-up: cutter by both counts of its set, work, centre and depth; `teeth` as
    the cutter meets them, `blank` in mm.
    """
    dp = cutters.dp_number(teeth)
    if dp is None or special:
        cutter = say("Your special cutter on the arbor, running the right way.")
    else:
        cutter = say(
            "Cutter {dp} by diametral pitch, or cutter {module} by module, "
            "on the arbor, running the right way.",
            dp=number(dp), module=number(9 - dp),
        )  # fmt: skip
        cutter = sentences(cutter, cutters.finer_said(teeth))
    return (
        cutter,
        common.runs_true(Millimetres(blank), shop),
        common.over_centre(Millimetres(blank), shop),
        common.touch_top(),
        common.depth_step(depths_said(passes, shop.unit)),
    )


def _measurements(work: SpurGear, passes: tuple[Pass, ...]) -> tuple[Measurement, ...]:
    """Over k teeth, once k + 1 spaces are cut: they bound the k teeth between them."""
    k = spanned(work)
    if k + 1 > work.teeth:
        return ()
    return _over(work, passes, k, say("over {teeth}", teeth=teeth_said(k)), k + 1)


def _measurements_in(
    work: SpurGear, passes: tuple[Pass, ...], order: Sequence[int]
) -> tuple[Measurement, ...]:
    """The same where the spaces are cut in another order: over the teeth whose two outer spaces
    are there first. One tooth more or fewer is spanned where that can be measured far sooner."""
    ideal = spanned(work)
    found = [_first_span(order, k) for k in _spannable(work)]
    best = next((span for span in found if span.teeth == ideal), None)
    soonest = min(found, key=lambda span: span.after, default=None)
    if soonest and (best is None or best.after > 2 * soonest.after):
        best = soonest
    if best is None:
        return ()
    what = say(
        "over {teeth}, from tooth space {first} on to tooth space {last}",
        teeth=teeth_said(best.teeth), first=number(best.first + 1), last=number(best.last + 1),
    )  # fmt: skip
    return _over(work, passes, best.teeth, what, best.after)


class _Span(NamedTuple):
    """Teeth between two spaces (from 0); both are cut after so many cuts."""

    teeth: int
    first: int
    last: int
    after: int


def _first_span(order: Sequence[int], k: int) -> _Span:
    """Between its two outer spaces a span may be uncut: the jaws reach into these alone."""
    made = {place: n for n, place in enumerate(order, 1)}
    total = len(order)
    spans = (
        _Span(k, place, (place + k) % total, max(n, made[(place + k) % total]))
        for place, n in made.items()
    )
    return min(spans, key=lambda span: span.after)


def _spannable(work: SpurGear) -> list[int]:
    """Counts of teeth over which the jaws still touch well on the flank: within seven tenths of
    the addendum from the middle of the flank (geometry)."""
    module = float(work.tooth.module)
    base = float(work.teeth) / 2 * module * cos(work.tooth.pressure)
    middle = (float(work.teeth) / 2 + float(work.shift)) * module
    most = 0.7 * module * float(work.tooth.addendum)

    def touches(k: int) -> bool:
        return abs(hypot(base, _span_over(work, k) / 2) - middle) < most

    ideal = spanned(work)
    near = (k for k in (ideal - 1, ideal, ideal + 1) if 2 <= k < work.teeth)
    return [k for k in near if k == ideal or touches(k)]


def _over(
    work: SpurGear, passes: tuple[Pass, ...], k: int, what: str, after: int
) -> tuple[Measurement, ...]:
    """One size for each pass. At the standard depth it is that of a gear without backlash."""
    per_depth = span_per_depth(work, k)
    finished = _span_over(work, k)
    whole = _standard_depth(work)
    full = finished + per_depth * float(whole)
    return tuple(
        Measurement(
            what, 0, n, after, near(full),
            near(finished + per_depth * float(whole - (each.depth or whole))),
            near(finished), near(per_depth),
        ).between(work.span_limits)
        for n, each in enumerate(passes, 1)
    )  # fmt: skip


def _draw(work: SpurGear) -> Drawing:
    top = float(outside(work)) / 2
    root = top - float(work.tooth.depth)
    return gear_drawing.gear(
        top, root, float(work.tooth.module), work.teeth, work.tooth.pressure, float(work.shift)
    )


# --- what is asked ----------------------------------------------------------------------


def _gear_blank(answers: Answers) -> str:
    """(N + 2) m, with the addendum and the shift of its teeth."""
    teeth, module = answers.whole("teeth"), gear_questions.module_of(answers)
    tip = gear_questions.addendum(answers) + (answers.number("shift") or 0)
    if teeth is None or module is None:
        return ""
    return answers.shown(Millimetres((teeth + 2 * tip) * module))


QUESTIONS = (
    gear_questions.TEETH,
    Question(
        "work", "addendum", mark("How high is a tooth above the pitch line, in modules?"),
        mark("One as a rule; 0.8 for stub teeth."), Form.NUMBER, default=lambda _: "1",
    ),
    *gear_questions.TOOTH,
    gear_questions.SPECIAL,
    Question(
        "work", "shift", mark("How far is the profile shifted, in modules?"),
        mark("Outward over nought, as the drawing has it. Nought: not shifted."), Form.NUMBER,
        default=lambda _: "0",
    ),
    Question(
        "work", "span_limits", mark("Limits of the size over teeth?"),
        mark(
            "Two deviations from the size over teeth, like -0.15 -0.05. Enter: none. Where the "
            "drawing gives the thickness at the pitch line: asked next."
        ),
        Form.DEVIATIONS, needed=False,
    ),
    Question(
        "work", "thickness_limits", mark("Limits of the thickness of a tooth, for backlash?"),
        mark("At the pitch line, two deviations, like -0.16 -0.06: cut deeper by it. Enter: none."),
        Form.DEVIATIONS, needed=False, when=lambda a: a.of("span_limits") is None,
    ),
    Question(
        "work", "blank", mark("What does the blank measure?"),
        mark("Its outside diameter as it is: a small one is cut less deep."), Form.LENGTH,
        default=_gear_blank,
    ),
    ask.PASSES,
    ask.FINISH,
)  # fmt: skip

KIND = Kind(
    "spur-gear",
    mark("a gear with straight teeth"),
    rank=10,
    keys=KEYS,
    read=read,
    questions=QUESTIONS,
    counts="teeth",
)
