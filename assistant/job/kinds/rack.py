"""Racks: straight teeth along a bar, the table moved by the crank through gears to its screw.

Linear pitch = pi x module. The head's worm lets the table go on by far finer steps than its dial;
every space goes to its own nearest hole, so that errors never add up.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from functools import partial
from math import ceil, cos, pi, sin, tan

from assistant.job.cutter_fit import Wanted
from assistant.job.kinds import ask, common, gear_cutter, gear_questions, gear_teeth, rule
from assistant.job.kinds.gear_teeth import Tooth
from assistant.job.kinds.lines import Grade, Pattern
from assistant.job.kinds.rule import Rule, TableDrive
from assistant.job.measuring import Measurement
from assistant.job.part import (
    ONE_PASS,
    Along,
    Cut,
    Figure,
    Findings,
    Part,
    Pass,
    Passes,
    Round,
    Shop,
    depths_said,
    depths_shown,
    passes_to,
)
from assistant.job.reader import Table
from assistant.job.shapes import Drawing, Shape
from assistant.job.units import Unit, near, said, shown
from assistant.job.work import Kind
from assistant.words.language import mark, number, say, say_n
from assistant.words.spoken import capital, sentences
from solver import Millimetres, Turns

_LEAST_TEETH = 135  # the cutter of the rack begins there: number 1 by diametral pitch
# An error in the place of a space that no gear minds (judged): it never adds up.
_MINDED = Fraction(5, 1000)


@dataclass(frozen=True, slots=True)
class Rack(gear_teeth.Toothed):
    """`teeth` whole teeth, with a space at both ends. `height` is from the back to the tops, mm;
    with it the first space is measured over a pin."""

    teeth: int
    tooth: Tooth
    height: Millimetres | None = None
    pin: Millimetres | None = None
    equal_gears: bool = False
    passes: Passes = ONE_PASS

    def make(self, shop: Shop, found: Findings) -> Part | None:
        gearing = _check(self, shop, found)
        passes = passes_to(self.tooth.depth, self.passes, found, shop.unit)
        if found.refusals or gearing is None:
            return None
        spindle = gearing.turns / shop.head.worm_ratio
        labels = [say("space {n}", n=number(n + 1)) for n in range(self.teeth + 1)]
        return Part(
            plan=_plan(self, passes, shop),
            figures=tuple(_figures(self, gearing, passes, shop)),
            rounds=(
                Round(
                    tuple(Cut(Turns(spindle * n), label) for n, label in enumerate(labels)),
                    closed=False,
                ),
            ),
            passes=passes,
            steps=_steps(self, gearing, passes, shop),
            measurements=tuple(_measurements(self, passes, shop.unit)),
            draw=partial(_draw, self),
            gears=rule.gears_written(gearing),
            between_centres=False,
            trial_moves=True,
            along=Along(
                gearing.circle, rule.moves(gearing), Turns(gearing.worst * spindle / pitch(self))
            ),
        )

    def wanted_cutter(self, unit: Unit) -> Wanted:
        return gear_cutter.wanted(self.tooth, _LEAST_TEETH, special=False, form="gear")


def read(table: Table) -> Rack:
    """The figures of the table, lengths in mm: 1 to 10,000 teeth; each fault goes into
    the table's list.
    """
    return Rack(
        teeth=table.whole("teeth", 1, 10_000),
        tooth=gear_teeth.read(table),
        height=table.maybe_length("height"),
        pin=table.maybe_length("pin"),
        equal_gears=table.choice("gears", ("best", "equal"), "best") == "equal",
        passes=common.read_passes(table),
    )


# --- the figures ------------------------------------------------------------------------


def pitch(work: Rack) -> Millimetres:
    """Linear pitch, mm: pi x module, to a nanometre."""
    return near(pi * float(work.tooth.module))


def pin_of(work: Rack) -> Millimetres:
    """The job's own; else the one that touches at the pitch line, pi m / (2 cos a), to the next
    tenth of a millimetre (Elements of Metric Gear Technology, section 10; from memory)."""
    if work.pin is not None:
        return work.pin
    ideal = pi * float(work.tooth.module) / 2 / cos(work.tooth.pressure)
    return Millimetres(Fraction(ceil(round(10 * ideal, 6)), 10))


def over_pin(work: Rack, depth: Fraction | None = None) -> float:
    """From the back over a pin in a space, mm: H - p / (4 tan a) + d/2 (1 + 1 / sin a), H to the
    pitch line (the same). Cut less deep the pin stands higher by what is left."""
    tooth, pin = work.tooth, float(pin_of(work))
    to_pitch = float((work.height or 0) - tooth.addendum * tooth.module)
    at_depth = to_pitch - float(pitch(work)) / 4 / tan(tooth.pressure)
    left = float(tooth.depth - (tooth.depth if depth is None else depth))
    return at_depth + pin / 2 * (1 + 1 / sin(tooth.pressure)) + left


def as_lines(work: Rack) -> Rule:
    """The middles of the spaces, as lines of a rule."""
    pattern = Pattern((Grade(1, "plain", None),), line_width=Millimetres(50 * _MINDED))
    return Rule(work.teeth + 1, pitch(work), pattern, equal_gears=work.equal_gears)


# --- the part ---------------------------------------------------------------------------


def _check(work: Rack, shop: Shop, found: Findings) -> TableDrive | None:
    unit = shop.unit
    if work.height is not None and work.height <= work.tooth.depth:
        found.refuse("height", f"the spaces come out at the back: more than "
                     f"{shown(work.tooth.depth, unit)}")  # fmt: skip
    _check_pin(work, found, unit)
    if shop.machine.table_screw is None:
        found.refuse("teeth", 'the lead of the table screw is not known: '
                     'add [machine] table_screw = "5 mm"')  # fmt: skip
    if not shop.head.change_gears or not shop.head.plates:
        found.refuse("head", f"head {shop.head.name} can't be geared to the table screw: use a "
                     "head with plates and change gears, like three-plate-40-geared")  # fmt: skip
    if found.refusals:
        return None
    gearing = rule.best(
        as_lines(work), shop.head, shop.machine.table_screw or Millimetres(Fraction(1))
    )
    if gearing is None:
        found.refuse("teeth", "no circle of this head serves this rack: use another head")
    elif gearing.worst > _MINDED:
        off = shown(float(gearing.worst), unit)
        found.warn("teeth", f"not exact with the gears held: each space is at most {off} off, and "
                   "the errors don't add up")  # fmt: skip
    return gearing


def _check_pin(work: Rack, found: Findings, unit: Unit) -> None:
    """It has to touch both flanks, and to stand out over the tops."""
    if work.height is None:
        if work.pin is not None:
            found.warn("pin", "a pin is measured over from the back: give height")
        return
    tooth, pin = work.tooth, float(pin_of(work))
    touches = pin / 2 / sin(tooth.pressure) - pin / 2 * sin(tooth.pressure)
    above_pitch = touches - float(pitch(work)) / 4 / tan(tooth.pressure)
    top = float(tooth.addendum * tooth.module)
    if not -float(tooth.dedendum) < above_pitch < top or over_pin(work) <= float(work.height):
        best = pi * float(tooth.module) / 2 / cos(tooth.pressure)
        found.refuse("pin", f"a pin of {shown(pin, unit)} does not touch the flanks, or does not "
                     f"stand out: about {shown(best, unit)}")  # fmt: skip


def _plan(work: Rack, passes: tuple[Pass, ...], shop: Shop) -> str:
    what = say(
        "A rack of {teeth}, {spaces}, the table moved by the crank.",
        teeth=say_n(work.teeth, "one tooth", "{count} teeth"),
        spaces=say_n(work.teeth + 1, "one space", "{count} spaces"),
    )
    deep = say("{depth} deep.", depth=said(work.tooth.depth, shop.unit))
    measure = say("I ask for the size over a pin in the first space.") if work.height else ""
    return sentences(capital(what), capital(deep), measure)


def _figures(
    work: Rack, gearing: TableDrive, passes: tuple[Pass, ...], shop: Shop
) -> Iterator[Figure]:
    unit = shop.unit
    whole, holes = divmod(gearing.holes[1], gearing.circle)
    yield Figure("spaces", str(work.teeth + 1))
    yield Figure("linear pitch", shown(pitch(work), unit))
    yield Figure("first space to last", shown(Millimetres(pitch(work) * work.teeth), unit))
    yield Figure("cutter", "number 1 by diametral pitch, 8 by module")
    yield Figure("depths", depths_shown(passes, unit))
    yield Figure(
        "thickness of a tooth at the pitch line", shown(Millimetres(pitch(work) / 2), unit)
    )
    if work.height is not None:
        yield Figure("pin", shown(pin_of(work), unit))
        yield Figure("from the back over the pin", shown(over_pin(work), unit))
    yield rule.gears_figure(gearing)
    yield Figure("travel for one crank turn", shown(float(pitch(work) / gearing.turns), unit))
    yield Figure("first move", f"{whole} turns + {holes} holes on {gearing.circle}")
    yield Figure("worst place of a space", rule.off_shown(gearing.worst, unit))


def _steps(
    work: Rack, gearing: TableDrive, passes: tuple[Pass, ...], shop: Shop
) -> tuple[str, ...]:
    return (
        say("Bar clamped along the table, its top level, its side along the travel, its end "
            "against a stop. Table feed out of gear."),
        say("Cutter one by diametral pitch, or cutter eight by module, on the rack attachment."),
        say("Its axis lies along the table, so that the cross slide feeds it through the bar."),
        rule.gears_step(gearing),
        say("Turn the crank once and measure how far the table goes: {size}.",
            size=said(float(pitch(work) / gearing.turns), shop.unit)),
        say("Bring the cutter over the first space, the crank turned the way that it always will "
            "be."),
        common.touch_top(),
        _depth(passes, shop),
        say("Table lock with the spindle lock: on in every cut, off for every move."),
        say("The crank is turned one way only, so that the screw's slack stays out."),
    )  # fmt: skip


def _depth(passes: tuple[Pass, ...], shop: Shop) -> str:
    """The cross slide is the feed, and not clamped."""
    words = depths_said(passes, shop.unit)
    return sentences(common.depth_step(words, by_knee=True), say("Knee clamped in every cut."))


def _measurements(work: Rack, passes: tuple[Pass, ...], unit: Unit) -> Iterator[Measurement]:
    """Over a pin in the first space, from the back, as soon as it is cut."""
    if work.height is None:
        return
    pin = pin_of(work)
    what = say("from the back over a pin of {size} in space one", size=said(pin, unit))
    for n, each in enumerate(passes, 1):
        depth = work.tooth.depth if each.depth is None else each.depth
        yield Measurement(
            what, 0, n, 1, Millimetres(work.height + pin), near(over_pin(work, depth)),
            near(over_pin(work)), Fraction(1),
        )  # fmt: skip


def _draw(work: Rack) -> Drawing:
    """The bar from its side, at most so much under the teeth."""
    tooth, step = work.tooth, float(pitch(work))
    high = float(work.height or 4 * tooth.depth)
    top, floor = high, high - float(tooth.depth)
    slope, reach = tan(tooth.pressure), float(tooth.addendum * tooth.module)
    half_top = step / 4 + reach * slope
    half_floor = max(0.0, step / 4 - float(tooth.dedendum) * slope)
    length = step * work.teeth
    body = Shape(((-step, 0.0), (length + step, 0.0), (length + step, top), (-step, top)))
    spaces, anchors = [], []
    for n in range(work.teeth + 1):
        x = n * step
        outline = ((x - half_top, top), (x - half_floor, floor), (x + half_floor, floor),
                   (x + half_top, top))  # fmt: skip
        spaces.append(Shape(outline, cut=n))
        anchors.append((x, top + 0.4 * step))
    return Drawing((body, *spaces), tuple(anchors), flat=True)


KIND = Kind(
    "rack",
    mark("a rack"),
    rank=45,
    keys=("teeth", "height", "pin", "gears", *gear_teeth.KEYS, *common.PASS_KEYS),
    read=read,
    questions=(
        ask.whole("teeth", mark("How many teeth?"),
                    mark("Whole ones. A space is cut at both ends.")),
        *gear_questions.TOOTH,
        ask.length(
            "height", mark("How high is the bar, to the tops of the teeth?"),
            mark("From its back, to measure over a pin. Enter: not measured."), needed=False,
        ),
        ask.PASSES, ask.FINISH, ask.TABLE_SCREW,
    ),
)  # fmt: skip
