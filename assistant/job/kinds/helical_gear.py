"""Helical gears: the head is driven from the table screw while the cutter is in the work."""

from __future__ import annotations

from dataclasses import dataclass
from functools import partial
from math import atan, cos, pi, tan

from assistant.job.cutter_fit import Wanted
from assistant.job.kinds import (
    ask,
    common,
    cutters,
    gear_cutter,
    gear_drawing,
    gear_questions,
    gear_teeth,
    spur_gear,
)
from assistant.job.kinds.gear_teeth import Tooth
from assistant.job.kinds.lead_train import LeadTrain, lead_of_machine, nearest_trains
from assistant.job.part import (
    ONE_PASS,
    Figure,
    Findings,
    Part,
    Pass,
    Passes,
    Round,
    Shop,
    depths_shown,
    equal_cuts,
    passes_to,
)
from assistant.job.question import Form, Question
from assistant.job.reader import Table
from assistant.job.shapes import Drawing
from assistant.job.units import NO_LENGTH, Unit, angle_said, angle_shown, near, said, shown
from assistant.job.work import Kind
from assistant.words.language import mark, number, on_paper, say
from assistant.words.spoken import capital, sentences
from solver import Degrees, Millimetres

KEYS = (
    "teeth", "helix_angle", "hand", "special_cutter", "face",
    *gear_teeth.KEYS, *common.PASS_KEYS,
)  # fmt: skip

_HELIX_ERROR_MINUTES = 3  # beyond this the pair bears on its ends (common practice)

UNLOCKED = mark(
    "In this work the spindle lock stays OFF while you cut: the table screw drives the head. "
    "With the lock on, the worm or the gears would break."
)
_HEAD_END = mark("on the head")


@dataclass(frozen=True, slots=True)
class HelicalGear(gear_teeth.Toothed):
    """`tooth` is the normal one, as stamped on the cutter; the helix is taken at the pitch line."""

    teeth: int
    tooth: Tooth
    helix_degrees: Degrees
    hand: str
    face: Millimetres | None = None
    special_cutter: bool = False
    passes: Passes = ONE_PASS

    @property
    def helix(self) -> float:
        """Radians."""
        return float(self.helix_degrees) * pi / 180

    def make(self, shop: Shop, found: Findings) -> Part | None:
        spur_gear.check_tooth(self.tooth, found)
        train = _check(self, shop, found)
        if found.refusals or train is None:
            return None
        passes = passes_to(self.tooth.depth, self.passes, found, shop.unit)
        if found.refusals:
            return None
        labels = [say("tooth space {n}", n=number(n + 1)) for n in range(self.teeth)]
        return Part(
            plan=_plan(self, shop),
            figures=_figures(self, train, passes, shop),
            rounds=(Round(equal_cuts(self.teeth, labels), unlocked=True),),
            passes=passes,
            steps=_steps(self, train, passes, shop),
            draw=partial(_draw, self),
            rim=spur_gear.gear_rim(float(self.tooth.module), pitch_diameter(self)),
            methods=("plain", "nearest"),  # the back pin is out and the plate driven
            gears=order_written(train.orders[0]),
        )

    def wanted_cutter(self, unit: Unit) -> Wanted:
        virtual = virtual_helical_teeth(self.teeth, self.helix)
        return gear_cutter.wanted(self.tooth, virtual, self.special_cutter, "gear")


def read(table: Table) -> HelicalGear:
    """The figures of the table, lengths in mm: 5 to 1000 teeth; each fault goes into
    the table's list.
    """
    return HelicalGear(
        teeth=table.whole("teeth", 5, 1000),
        tooth=gear_teeth.read(table),
        helix_degrees=table.degrees("helix_angle"),
        hand=table.choice("hand", ("right", "left")),
        face=table.maybe_length("face"),
        special_cutter=table.flag("special_cutter"),
        passes=common.read_passes(table),
    )


# --- the figures ------------------------------------------------------------------------


def pitch_diameter(work: HelicalGear) -> float:
    """N m / cos(helix), mm."""
    return work.teeth * float(work.tooth.module) / cos(work.helix)


def helix_lead(work: HelicalGear) -> float:
    """pi PD / tan(helix), mm a turn."""
    return pi * pitch_diameter(work) / tan(work.helix)


def virtual_helical_teeth(teeth: int, helix: float) -> float:
    """N / cos^3(helix): the spur gear whose teeth have this shape across the helix."""
    return teeth / cos(helix) ** 3


def outside(work: HelicalGear) -> float:
    """The blank's diameter in mm."""
    return pitch_diameter(work) + 2 * float(work.tooth.module)


def helix_of(work: HelicalGear, true_lead: float) -> float:
    """The helix angle, radians, that a lead gives at this pitch diameter."""
    return atan(pi * pitch_diameter(work) / true_lead)


def swing_words(hand: str) -> str:
    """Which way the table goes, told twice over so that it can't be taken the wrong way round.

    Seen from above, a right-hand helix on top of the work runs towards the operator as it
    goes to the right; swung anticlockwise it lies in the cutter's plane (geometry).
    """
    if hand == "right":
        return say("anticlockwise seen from above: its right end goes away from you")
    return say("clockwise seen from above: its left end goes away from you")


# --- the part ---------------------------------------------------------------------------


def _check(work: HelicalGear, shop: Shop, found: Findings) -> LeadTrain | None:
    if not 0 < work.helix_degrees <= shop.machine.table_swing_degrees:
        most = float(shop.machine.table_swing_degrees)
        found.refuse(
            "helix_angle",
            f"helix {angle_shown(work.helix_degrees)}: the table swings to {most:g} degrees: "
            "give more than 0 and no more than that; with no helix it is a spur-gear",
        )
        return None
    virtual = virtual_helical_teeth(work.teeth, work.helix)
    spur_gear.check_cutter(virtual, work.special_cutter, found, "teeth", "virtual teeth")
    return _check_train(work, shop, found)


def _check_train(work: HelicalGear, shop: Shop, found: Findings) -> LeadTrain | None:
    head = shop.head
    if not head.change_gears:
        found.refuse(
            "head",
            f"head {head.name} has no change gears: a helix needs a head that the table screw "
            "can drive, like three-plate-40-geared",
        )
        return None
    if shop.machine.table_screw is None:
        found.refuse(
            "helix_angle",
            'the lead of the table screw is not known: add [machine] table_screw = "5 mm"',
        )
        return None
    machine = lead_of_machine(head, shop.machine.table_screw)
    best = nearest_trains(head.change_gears, machine, helix_lead(work))[0]
    _judge_train(work, best, found, shop.unit)
    return best


def _judge_train(work: HelicalGear, best: LeadTrain, found: Findings, unit: Unit) -> None:
    off = abs(helix_of(work, float(best.lead)) - work.helix) * 180 / pi * 60
    if off > 60:
        found.refuse(
            "helix_angle",
            f"no train of the gears held comes near a lead of {shown(helix_lead(work), unit)}: "
            f"{shown(Millimetres(best.lead), unit)} is the nearest, a helix of "
            f"{angle_shown(helix_of(work, float(best.lead)) * 180 / pi)}",
        )
    elif off > _HELIX_ERROR_MINUTES:
        found.warn(
            "helix_angle",
            f"the nearest train is {off:.1f} minutes of helix off: cut the mate with the same "
            "train, or choose another helix",
        )


def _plan(work: HelicalGear, shop: Shop) -> str:
    teeth, helix = spur_gear.teeth_said(work.teeth), angle_said(work.helix_degrees)
    if work.hand == "right":
        what = say("A right-hand helical gear of {teeth}, helix {angle}.", teeth=teeth, angle=helix)
    else:
        what = say("A left-hand helical gear of {teeth}, helix {angle}.", teeth=teeth, angle=helix)
    virtual = virtual_helical_teeth(work.teeth, work.helix)
    finer = "" if work.special_cutter else cutters.finer_said(virtual)
    return sentences(
        what,
        finer,
        say("The table screw drives the head, so the spindle stays unlocked in the cut."),
        capital(say("{depth} deep.", depth=said(work.tooth.depth, shop.unit))),
    )


def _figures(
    work: HelicalGear, train: LeadTrain, passes: tuple[Pass, ...], shop: Shop
) -> tuple[Figure, ...]:
    unit, virtual = shop.unit, virtual_helical_teeth(work.teeth, work.helix)
    module = float(work.tooth.module)
    true = helix_of(work, float(train.lead)) * 180 / pi
    return (
        Figure("blank diameter", shown(outside(work), unit)),
        Figure("pitch diameter", shown(pitch_diameter(work), unit)),
        *spur_gear.tooth_figures(work.tooth, unit),
        Figure("depths", depths_shown(passes, unit)),
        Figure("lead wanted", shown(helix_lead(work), unit)),
        Figure("lead of the machine", shown(_machine_lead(shop), unit)),
        *train_figures(train, helix_lead(work), unit),
        Figure("helix with that train", angle_shown(true)),
        *_face_figures(work, train, shop),
        Figure("table swing", f"{angle_shown(work.helix_degrees)} {swing_words(work.hand)}"),
        Figure("virtual teeth", f"{virtual:.2f}"),
        Figure("cutter", cutters.cutter_shown(virtual, special=work.special_cutter)),
        Figure(
            "chordal thickness, square to the helix",
            shown(gear_teeth.chordal_thickness(module, virtual), unit),
        ),
        Figure("chordal addendum", shown(gear_teeth.chordal_addendum(module, virtual), unit)),
        *_measured(work, unit),
    )


def _measured(work: HelicalGear, unit: Unit) -> tuple[Figure, ...]:
    """Over teeth, where the face holds both jaws, and over balls or pins."""
    module, pressure = float(work.tooth.module), work.tooth.pressure
    k = gear_teeth.helical_span_teeth(work.teeth, pressure, work.helix)
    span = gear_teeth.helical_span(module, work.teeth, k, pressure, work.helix)
    face = gear_teeth.face_for_span(span, pressure, work.helix)
    pin = gear_teeth.pin(module)
    over = gear_teeth.helical_over_pins(module, work.teeth, pressure, work.helix, pin)
    told = f"{shown(span, unit)}, square to the helix"
    if work.face is not None and float(work.face) <= face:
        told = f"none: the jaws need a face over {shown(face, unit)}"
    return (
        Figure(f"span over {k} teeth", told),
        Figure("face that the span needs", shown(face, unit)),
        Figure(f"over balls or pins of {shown(pin, unit)}", shown(over, unit)),
    )


def _face_figures(work: HelicalGear, train: LeadTrain, shop: Shop) -> tuple[Figure, ...]:
    """How far the error of the lead carries a flank aside over the face."""
    if work.face is None:
        return ()
    around = pi * pitch_diameter(work)
    aside = float(work.face) * around * abs(1 / float(train.lead) - 1 / helix_lead(work))
    return (Figure(f"flank off over a face of {shown(work.face, shop.unit)}",
                   shown(aside, shop.unit)),)  # fmt: skip


def _machine_lead(shop: Shop) -> Millimetres:
    return lead_of_machine(shop.head, shop.machine.table_screw or NO_LENGTH)


def train_figures(train: LeadTrain, wanted: float, unit: Unit) -> tuple[Figure, ...]:
    """What a train gives: its lead and how far that is off for each turn, in the job's lengths,
    and its gears.
    """
    sign = "+" if train.error(wanted) >= 0 else "-"
    others = ["-".join(map(str, order)) for order in train.orders]
    return (
        Figure("lead given", shown(Millimetres(train.lead), unit)),
        Figure("error of the lead", f"{sign}{shown(abs(train.error(wanted)), unit)} a turn"),
        Figure("change gears", order_shown(train.orders[0])),
        Figure("orders that mesh, head to screw", ", ".join(others)),
    )


def order_shown(order: tuple[int, ...], place: str = "on the head") -> str:
    """A train of two or four gears, from the head (or `place`) to the table screw."""
    if len(order) == 2:
        return f"{order[0]} {place}, idler, {order[1]} on the table screw"
    return (
        f"{order[0]} {place}, {order[1]} first on the stud, {order[2]} second on the stud, "
        f"{order[3]} on the table screw"
    )


def order_written(order: tuple[int, ...], place: str = _HEAD_END) -> str:
    """The same for the eye, in the language in force."""
    with on_paper():
        return order_said(order, place)


def order_said(order: tuple[int, ...], place: str = _HEAD_END) -> str:
    """`place` is where the first gear sits, as it is marked for other languages."""
    names = [number(gear) for gear in order]
    if len(order) == 2:
        return say(
            "{first} {place}, an idler, {second} on the table screw",
            first=names[0], place=say(place), second=names[1],
        )  # fmt: skip
    return say(
        "{first} {place}, meshing with {second} on the stud. Beside it on the stud {third}, "
        "meshing with {fourth} on the table screw",
        first=names[0], place=say(place), second=names[1], third=names[2], fourth=names[3],
    )  # fmt: skip


def _steps(
    work: HelicalGear, train: LeadTrain, passes: tuple[Pass, ...], shop: Shop
) -> tuple[str, ...]:
    virtual = virtual_helical_teeth(work.teeth, work.helix)
    first = spur_gear.steps(virtual, near(outside(work)), passes, shop, work.special_cutter)
    return (
        *first[:3],
        say(
            "Now swing the table {angle} {way}. Clamp it.",
            angle=angle_said(work.helix_degrees), way=swing_words(work.hand),
        ),
        say("Change gears: {gears}. Guard over the gears.", gears=order_said(train.orders[0])),
        say("Back pin out, so that the plate is free to turn. Index with the crank pin only."),
        try_hand(work.hand),
        say(UNLOCKED),
        say(
            "After each cut lower the table clear before you run it back. Otherwise the slack of "
            "the gears drags the cutter through the tooth."
        ),
        *first[3:],
    )  # fmt: skip


def try_hand(hand: str) -> str:
    """Proven by what the work does: how many idlers that takes differs from head to head."""
    if hand == "right":
        turn = say("Turn the table screw by hand: the work must turn as a right-hand screw.")
    else:
        turn = say("Turn the table screw by hand: the work must turn as a left-hand screw.")
    return sentences(turn, say("If not, put one idler more between the gears, or one fewer."))


def _draw(work: HelicalGear) -> Drawing:
    """The section square to the axis: the transverse module and pressure angle."""
    module = float(work.tooth.module) / cos(work.helix)
    pressure = atan(tan(work.tooth.pressure) / cos(work.helix))
    top = outside(work) / 2
    return gear_drawing.gear(top, top - float(work.tooth.depth), module, work.teeth, pressure)


# --- what is asked ----------------------------------------------------------------------

QUESTIONS = (
    gear_questions.TEETH, *gear_questions.TOOTH, gear_questions.SPECIAL,
    ask.angle_question(
        "helix_angle", mark("Which helix angle?"),
        mark("At the pitch line, from the axis."),
    ),
    Question(
        "work", "hand", mark("Which hand?"),
        mark("Right: the teeth rise to the right when the axis stands upright before you."),
        Form.CHOICE, ask.HANDS, lambda _: "right",
    ),
    gear_questions.FACE, ask.PASSES, ask.FINISH,
    Question(
        "machine", "table_screw", mark("Lead of the table screw?"),
        mark("How far one turn of its handle moves the table."), Form.LENGTH,
        default=lambda a: "5 mm" if a.unit == "mm" else "1/4 in",
    ),
)  # fmt: skip

KIND = Kind(
    "helical-gear",
    mark("a gear with helical teeth"),
    rank=20,
    keys=KEYS,
    read=read,
    questions=QUESTIONS,
)
