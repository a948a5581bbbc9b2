"""Bevel gears by form cutter: gashed in the middle, then trimmed on each side with the
work offset and rolled, because one cutter can't have the width of both ends of a space.

Formulae: NAVEDTRA 14345, Machinery Repairman, ch. 14; common form-cutter practice for the
face angle. Lengths in mm, angles in radians unless named degrees.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from functools import partial
from math import atan, atan2, cos, pi, sin

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
from assistant.job.part import (
    ONE_PASS,
    Figure,
    Findings,
    Part,
    Pass,
    Passes,
    Round,
    Shop,
    depths_said,
    depths_shown,
    equal_cuts,
    passes_to,
)
from assistant.job.reader import Table
from assistant.job.shapes import Drawing, Point, Shape
from assistant.job.units import Unit, angle_said, angle_shown, near, said, shown
from assistant.job.work import Kind
from assistant.words.language import mark, number, say
from solver import Degrees, Millimetres

_CALIPER = 0.1  # mm: two sizes measured on the curved side of a cutter agree no better
KEYS = (
    "teeth", "mate", "shaft_angle", "face", "face_angle", "cutter_thickness_large",
    "cutter_thickness_small", "special_cutter", *gear_teeth.KEYS, *common.PASS_KEYS,
)  # fmt: skip


_RIGHT_ANGLE = Degrees(Fraction(90))


@dataclass(frozen=True, slots=True)
class BevelGear(gear_teeth.Toothed):
    """`face_angle` is the school: `addendum`, or `dedendum` for clearance of one width.

    The cutter's thicknesses are measured on the cutter at the height of the pitch line of
    each end: a dedendum above its edge, that of the small end in proportion. mm. One of them
    is enough: the other follows from the cutter's own outline.
    """

    teeth: int
    mate: int
    tooth: Tooth
    face: Millimetres
    shaft_degrees: Degrees = _RIGHT_ANGLE
    face_angle: str = "addendum"
    thickness_large: Millimetres | None = None
    thickness_small: Millimetres | None = None
    special_cutter: bool = False
    passes: Passes = ONE_PASS

    def make(self, shop: Shop, found: Findings) -> Part | None:
        spur_gear.check_tooth(self.tooth, found)
        _check(self, shop, found)
        if found.refusals:
            return None
        passes = passes_to(self.tooth.depth, self.passes, found, shop.unit)
        if found.refusals:
            return None
        _suspect(self, found, shop.unit)
        return Part(
            plan=_plan(self),
            figures=_figures(self, passes, shop),
            rounds=_rounds(self, shop),
            passes=passes,
            steps=_steps(self, passes, shop),
            draw=partial(_draw, self),
            between_centres=False,
            level=False,
            rim=spur_gear.gear_rim(float(self.tooth.module), float(pitch_diameter(self))),
            # The roll needs the crank.
            methods=("plain", "compound", "nearest"),
        )

    def wanted_cutter(self, unit: Unit) -> Wanted:
        return gear_cutter.wanted(
            self.tooth, virtual_bevel_teeth(self), self.special_cutter, "bevel-gear"
        )


def read(table: Table) -> BevelGear:
    """The figures of the table, lengths in mm: 5 to 500 teeth; each fault goes into
    the table's list.
    """
    return BevelGear(
        teeth=table.whole("teeth", 5, 500),
        mate=table.whole("mate", 5, 500),
        tooth=gear_teeth.read(table),
        face=table.length("face"),
        shaft_degrees=table.degrees("shaft_angle", _RIGHT_ANGLE),
        face_angle=table.choice("face_angle", ("addendum", "dedendum"), "addendum"),
        thickness_large=table.maybe_length("cutter_thickness_large"),
        thickness_small=table.maybe_length("cutter_thickness_small"),
        special_cutter=table.flag("special_cutter"),
        passes=common.read_passes(table),
    )


# --- the figures ------------------------------------------------------------------------


def pitch_angle(work: BevelGear) -> float:
    """atan(sin S / (Nmate/N + cos S)); at 90 degrees atan(N / Nmate)."""
    shafts = float(work.shaft_degrees) * pi / 180
    return atan2(sin(shafts), work.mate / work.teeth + cos(shafts))


def pitch_diameter(work: BevelGear) -> Millimetres:
    """At the large end, in mm."""
    return Millimetres(work.teeth * work.tooth.module)


def cone_distance(work: BevelGear) -> float:
    """From the apex along the pitch line to the large end, mm: PD / (2 sin(pitch angle))."""
    return float(pitch_diameter(work)) / 2 / sin(pitch_angle(work))


def addendum_angle(work: BevelGear) -> float:
    """From pitch cone to tip, in radians: atan(addendum / cone distance)."""
    return atan(float(work.tooth.module) / cone_distance(work))


def dedendum_angle(work: BevelGear) -> float:
    """From pitch cone to root, in radians: atan(dedendum / cone distance)."""
    return atan(float(work.tooth.dedendum) / cone_distance(work))


def face_angle(work: BevelGear) -> float:
    """The turned cone, radians: pitch angle plus addendum angle, or plus dedendum angle."""
    more = addendum_angle(work) if work.face_angle == "addendum" else dedendum_angle(work)
    return pitch_angle(work) + more


def cutting_angle(work: BevelGear) -> float:
    """What the head is tilted to, radians: pitch angle less dedendum angle."""
    return pitch_angle(work) - dedendum_angle(work)


def outside(work: BevelGear) -> float:
    """Over the large end, mm: PD + 2 a cos(pitch angle)."""
    return float(pitch_diameter(work)) + 2 * float(work.tooth.module) * cos(pitch_angle(work))


def virtual_bevel_teeth(work: BevelGear) -> float:
    """Teeth of the spur gear that the cutter is chosen by: N / cos(pitch angle)."""
    return work.teeth / cos(pitch_angle(work))


def small_end_ratio(work: BevelGear) -> float:
    """The small end over the large one, 0 to 1: (cone distance - face) / cone distance."""
    return 1 - float(work.face) / cone_distance(work)


def roll_and_offset(work: BevelGear) -> tuple[float, float]:
    """Roll in radians and offset in mm, so that the cutter trims a flank right at both ends.

    With the spaces s1, s2 at the pitch line of the large and the small end, their pitch radii
    R1, R2 and the cutter's thicknesses t1, t2 there, a flank rolled by r stands s/2 - R r from
    the middle of the cutter, set x off: x + t1/2 = s1/2 - R1 r and the same for the small
    end. With t1 = t2 this is the trade's start: a quarter of the pitch, half the thickness.
    """
    large, small = thicknesses(work)
    ratio = small_end_ratio(work)
    s1 = pi * float(work.tooth.module) / 2
    r1 = float(pitch_diameter(work)) / 2
    roll = (s1 * (1 - ratio) - (large - small)) / (2 * r1 * (1 - ratio))
    return roll, (large - s1) / 2 + r1 * roll


def offset_for(work: BevelGear, roll: float) -> float:
    """The offset that goes with a roll as it is made, in whole holes: the small error left is
    shared between the two ends. Half the flanks' own offsets at both, mm."""
    large, small = thicknesses(work)
    s1, r1 = pi * float(work.tooth.module) / 2, float(pitch_diameter(work)) / 2
    ends = ((large, 1.0), (small, small_end_ratio(work)))
    return sum((thick - s1 * size) / 2 + r1 * size * roll for thick, size in ends) / 2


def thicknesses(work: BevelGear) -> tuple[float, float]:
    """Of the cutter at both pitch lines, mm. Where only one is measured the taper gives the other;
    where none is, the cutter is taken to fill the space at the small end."""
    large, small = work.thickness_large, work.thickness_small
    if large is not None:
        return float(large), float(large) - taper(work) if small is None else float(small)
    thin = small_space(work) if small is None else float(small)
    return thin + taper(work), thin


def small_space(work: BevelGear) -> float:
    """Between two teeth at the pitch line of the small end, mm."""
    return pi * float(work.tooth.module) / 2 * small_end_ratio(work)


def cutter_teeth(work: BevelGear) -> float:
    """The teeth that the cutter's outline is made for: the fewest of its range."""
    number = cutters.dp_number(virtual_bevel_teeth(work))
    if number is None or work.special_cutter:
        return virtual_bevel_teeth(work)
    return cutters.teeth_range(number)[0]


def taper(work: BevelGear) -> float:
    """How much thinner the cutter is at the height of the small end's pitch line, mm.

    A bevel cutter has the outline of the large end's teeth, only thinner all along by as much
    as the small end asks for. Its edge runs along the root, so that the pitch line of either
    end is a dedendum of that end above it.
    """
    module, teeth = float(work.tooth.module), cutter_teeth(work)
    pitch_line = module * teeth / 2
    lower = pitch_line - float(work.tooth.dedendum) * (1 - small_end_ratio(work))
    at, below = (
        gear_teeth.space_width(radius, module, teeth, work.tooth.pressure)
        for radius in (pitch_line, lower)
    )
    return at - below


# --- the part ---------------------------------------------------------------------------


def _check(work: BevelGear, shop: Shop, found: Findings) -> None:
    if not 10 <= work.shaft_degrees <= 170:
        found.refuse("shaft_angle", "shaft angle: give 10 to 170 degrees, 90 where none is said")
        return
    if pitch_angle(work) >= pi / 2:
        found.refuse("shaft_angle", _internal(work))
        return
    spur_gear.check_cutter(virtual_bevel_teeth(work), work.special_cutter, found, "teeth",
                           "virtual teeth")  # fmt: skip
    if float(work.face) >= cone_distance(work) / 2:
        most = shown(cone_distance(work) / 3, shop.unit)
        found.refuse("face", f"the face is too wide for one cutter: {most} is the most by custom")
    else:
        _check_taper(work, found, shop.unit)
    _check_tilt(work, shop, found)


def _check_taper(work: BevelGear, found: Findings, unit: Unit) -> None:
    """Two sizes that no cutter of this pitch can have would put offset and roll far out."""
    large, small = work.thickness_large, work.thickness_small
    if large is None or small is None or work.special_cutter:
        return
    made = taper(work)
    if abs(float(large - small) - made) > max(_CALIPER, made / 5):
        found.refuse(
            "cutter_thickness_small",
            f"{shown(large, unit)} and {shown(small, unit)}: a cutter for {cutter_teeth(work):g} "
            f"teeth of this pitch gets {shown(made, unit)} thinner between those heights, not "
            f"{shown(Millimetres(large - small), unit)}: measure again, or give one of the two",
        )


def _internal(work: BevelGear) -> str:
    return (
        f"shafts at {float(work.shaft_degrees):g} degrees make this an internal bevel gear, which "
        "a form cutter can't reach: give a smaller shaft angle"
    )


def _check_tilt(work: BevelGear, shop: Shop, found: Findings) -> None:
    least, most = (float(end) for end in shop.head.tilt_degrees)
    wanted = cutting_angle(work) * 180 / pi
    if not least <= wanted <= most:
        found.refuse(
            "teeth",
            f"the head would have to be tilted to {angle_shown(wanted)}, and {shop.head.name} goes "
            f"from {least:g} to {most:g} degrees: another head, or another ratio of teeth",
        )


def _suspect(work: BevelGear, found: Findings, unit: Unit) -> None:
    third = cone_distance(work) / 3
    if float(work.face) > third:
        found.warn(
            "face",
            f"the face is more than a third of the cone distance: {shown(third, unit)} or less "
            "keeps the small end true",
        )
    large, small = thicknesses(work)
    if work.thickness_large is None and work.thickness_small is None:
        found.warn(
            "cutter_thickness_large",
            f"the cutter is not measured: it is taken as {shown(large, unit)} thick at the pitch "
            "line of the large end, so offset and roll are only a start: measure the teeth at "
            "both ends and mend them",
        )
    if small > small_space(work) + 1e-6:
        key = "large" if work.thickness_small is None else "small"
        found.warn(
            f"cutter_thickness_{key}",
            "the cutter is thicker than the space at the small end: "
            f"{shown(small_space(work), unit)} or less there, or the tooth comes out thin",
        )


def _plan(work: BevelGear) -> str:
    tilt = cutting_angle(work) * 180 / pi
    return say(
        "A bevel gear of {teeth} for a mate of {mate}, the head tilted to {angle}. "
        "Three times round: gash the middle, then one side, then the other. "
        "Between them you offset the table and roll the blank.",
        teeth=spur_gear.teeth_said(work.teeth), mate=number(work.mate), angle=angle_said(tilt),
    )  # fmt: skip


def _figures(work: BevelGear, passes: tuple[Pass, ...], shop: Shop) -> tuple[Figure, ...]:
    unit, module = shop.unit, float(work.tooth.module)
    roll, offset = roll_and_offset(work)
    angles = {
        "pitch angle": pitch_angle(work),
        "addendum angle": addendum_angle(work),
        "dedendum angle": dedendum_angle(work),
        f"face angle (by the {work.face_angle})": face_angle(work),
        "cutting angle: tilt of the head": cutting_angle(work),
        "back cone angle": pitch_angle(work),
    }
    return (
        Figure("blank diameter, large end", shown(outside(work), unit)),
        Figure("pitch diameter", shown(pitch_diameter(work), unit)),
        Figure("cone distance", shown(cone_distance(work), unit)),
        *(Figure(name, angle_shown(value * 180 / pi)) for name, value in angles.items()),
        *spur_gear.tooth_figures(work.tooth, unit),
        Figure("depths, large end", depths_shown(passes, unit)),
        Figure("virtual teeth", f"{virtual_bevel_teeth(work):.2f}"),
        Figure("cutter", _cutter_shown(work) + ", thin enough for the small end"),
        Figure("chordal thickness, large end",
               shown(gear_teeth.chordal_thickness(module, virtual_bevel_teeth(work)), unit)),
        Figure("chordal thickness, small end",
               shown(gear_teeth.chordal_thickness(module, virtual_bevel_teeth(work))
                     * small_end_ratio(work), unit)),
        Figure("chordal addendum, large end",
               shown(gear_teeth.chordal_addendum(module, virtual_bevel_teeth(work)), unit)),
        Figure("cutter thickness, large and small end",
               f"{shown(thicknesses(work)[0], unit)}, {shown(thicknesses(work)[1], unit)}"),
        Figure("measured above its edge, large and small end",
               f"{shown(work.tooth.dedendum, unit)}, "
               f"{shown(float(work.tooth.dedendum) * small_end_ratio(work), unit)}"),
        Figure("offset for trimming",
               f"{shown(offset, unit)} for this roll; I call that for the holes it is made in"),
        Figure("roll for trimming", angle_shown(roll * 180 / pi)),
    )  # fmt: skip


_AWAY = mark(
    "Offset the table {offset} away from you, out of the middle. The blank is then rolled so that "
    "its top comes towards you."
)
_TOWARDS = mark(
    "Bring the table {offset} towards you and one turn more. Then one turn back, away from you: "
    "the slack lies as it did. That is as far on the other side of the middle. The blank is then "
    "rolled so that its top goes away from you."
)


def _rounds(work: BevelGear, shop: Shop) -> tuple[Round, ...]:
    roll, _ = roll_and_offset(work)
    turn = roll * 180 / pi

    def away(made: float) -> tuple[str, ...]:
        offset = offset_for(work, made * pi / 180)
        return (say(_AWAY, offset=said(abs(offset), shop.unit)),)

    def towards(made: float) -> tuple[str, ...]:
        offset = offset_for(work, -made * pi / 180)
        return (say(_TOWARDS, offset=said(abs(2 * offset), shop.unit)),)

    labels = [say("tooth space {n}", n=number(n + 1)) for n in range(work.teeth)]
    cuts = equal_cuts(work.teeth, labels)
    return (
        Round(cuts, say("gash the middle")),
        Round(
            cuts,
            say("trim one side"),
            roll_degrees=turn,
            rolled=away,
        ),
        Round(
            cuts,
            say("trim the other side"),
            roll_degrees=-turn,
            rolled=towards,
        ),
    )


def _cutter_shown(work: BevelGear) -> str:
    return cutters.cutter_shown(virtual_bevel_teeth(work), special=work.special_cutter)


def _steps(work: BevelGear, passes: tuple[Pass, ...], shop: Shop) -> tuple[str, ...]:
    tilt = cutting_angle(work) * 180 / pi
    first = spur_gear.steps(
        virtual_bevel_teeth(work), near(outside(work)), passes, shop, work.special_cutter
    )
    return (
        first[0],
        say(
            "Blank turned to a face angle of {angle}, running true.",
            angle=angle_said(face_angle(work) * 180 / pi),
        ),
        common.over_centre_going_away(near(outside(work)), shop),
        say("Head tilted to {angle}, and its bolts tight.", angle=angle_said(tilt)),
        say(
            "Touch the large end of the blank with the turning cutter, and set the depth dial "
            "to nought. The depth is that of the large end."
        ),
        common.depth_step(depths_said(passes, shop.unit)),
    )


def _draw(work: BevelGear) -> Drawing:
    """The large end as it is seen along the axis: gashes, and the two halves trimmed after."""
    lean = cos(pitch_angle(work))
    root = float(pitch_diameter(work)) / 2 - float(work.tooth.dedendum) * lean
    gear = gear_drawing.gear(
        outside(work) / 2, root, float(work.tooth.module), work.teeth, work.tooth.pressure
    )
    gashes = [shape for shape in gear.shapes if shape.cut is not None]
    halves = [
        Shape(_half(shape.points, first), cut=(shape.cut or 0) + work.teeth * (1 if first else 2))
        for first in (True, False)
        for shape in gashes
    ]
    return Drawing((*gear.shapes, *halves), gear.anchors)


def _half(points: tuple[Point, ...], first: bool) -> tuple[Point, ...]:
    """One side of a space: `gear_drawing.tooth_space` goes down one flank, up the other, and back
    over the top, whose middle point closes both halves."""
    flank = (len(points) - _TOP) // 2
    middle_top = points[2 * flank + _TOP // 2]
    down, up = points[:flank], points[flank : 2 * flank]
    middle_root = ((down[-1][0] + up[0][0]) / 2, (down[-1][1] + up[0][1]) / 2)
    return (*down, middle_root, middle_top) if first else (*up, middle_top, middle_root)


_TOP = 5  # points of the rim in a drawn space


# --- what is asked ----------------------------------------------------------------------

QUESTIONS = (
    gear_questions.TEETH,
    ask.whole(
        "mate", mark("How many teeth has the mate?"),
        mark("Both together give the cones."),
    ),
    *gear_questions.TOOTH, gear_questions.SPECIAL,
    ask.angle_question(
        "shaft_angle", mark("Angle between the shafts?"),
        mark("As a rule a right one."), "90d",
    ),
    gear_questions.FACE,
    ask.length(
        "cutter_thickness_large", mark("How thick is the cutter at the pitch line?"),
        mark("Measured a dedendum above its edge: the blank is rolled and set over by it."),
    ),
    ask.PASSES, ask.FINISH,
)  # fmt: skip

KIND = Kind(
    "bevel-gear",
    mark("a bevel gear with straight teeth"),
    rank=40,
    keys=KEYS,
    read=read,
    questions=QUESTIONS,
)
