"""Plate cams of uniform rise, the table screw driving the head.

The table screw drives the head, so that the work turns as the table goes. Of the table's travel
only the part square to the work's axis raises the cam:
    lead of the cam = lead of the gears x sin(inclination of the head)
(Practical Treatise on Milling and Milling Machines, 1914, chapter 9). So a lead that no train gives
is had from a longer one by the inclination. The gears may be those that are on already: then the
angle alone gives it (the same, page 249). Or both stand upright, and the lead is the nearest that
gears give. Each lobe is cut from its point, at the rim, to its low
place, and the mill leaves the work the way that it came.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from functools import partial
from math import asin, cos, degrees, pi, prod, radians, sin, sqrt, tan, tau

from assistant.job.cutter_fit import ALIKE, RIGHT, Fit, Wanted, unfit
from assistant.job.kept import Kept
from assistant.job.kinds import ask, common, helical_gear, lead_train
from assistant.job.kinds.cam_questions import cam_questions
from assistant.job.kinds.lead_train import GearOrder, LeadTrain
from assistant.job.part import Figure, Findings, Part, Rim, Round, Shop, equal_cuts
from assistant.job.question import Form, Question
from assistant.job.reader import Table
from assistant.job.shapes import Drawing, Point, Shape, disc, polar, ring_anchors, turned
from assistant.job.units import NO_LENGTH, Unit, angle_said, angle_shown, near, said, shown
from assistant.job.work import Kind, Work
from assistant.words.choice import Choice
from assistant.words.language import mark, number, say, say_n
from assistant.words.spoken import sentences
from solver import Degrees, Millimetres, Turns, in_degrees

KEYS = ("lobes", "outside", "rise", "over", "rises", "thickness", "mill", "way", "train")

_SHARE = 0.02  # of a lobe's space (common practice)
_LEAST, _MOST = 15, 80  # degrees: flatter wants a long mill, steeper leaves the spindle no room
_GOOD = 0.0005  # of the lead: nearer than any head is set to its angle
_UPRIGHT = 90
_FAR = 0.02  # of the lead: so far off it is another cam


@dataclass(frozen=True, slots=True)
class PlateCam(Work):
    """`outside`: over the points, as the blank is turned, mm. Each lobe rises by `rise` mm `over` a
    part of a turn; `rises` is the way round in which it grows, seen on the face. `upright`: nothing
    is inclined. `train`: the gears that are on, from the head to the screw; empty: any held."""

    lobes: int
    outside: Millimetres
    rise: Millimetres
    over: Turns
    rises: str
    thickness: Millimetres
    mill: Millimetres
    upright: bool = False
    train: GearOrder = ()

    def make(self, shop: Shop, found: Findings) -> Part | None:
        _check(self, shop, found)
        inclined = None if found.refusals else _check_lead(self, shop, found)
        if found.refusals or inclined is None:
            return None
        labels = [say("lobe {n}", n=number(n + 1)) for n in range(self.lobes)]
        return Part(
            plan=_plan(self, inclined, shop),
            figures=_figures(self, inclined, shop),
            rounds=(Round(equal_cuts(self.lobes, labels), unlocked=True),),
            steps=_steps(self, inclined, shop),
            draw=partial(_draw, self),
            gears=helical_gear.order_written(inclined.train.orders[0]),
            between_centres=False,
            level=False,
            trial_moves=True,
            methods=("plain", "nearest"),  # the back pin is out and the plate driven
            rim=Rim(
                float(self.outside), _SHARE * pi * float(self.outside) / self.lobes,
                mark("such a cam"), mark("from one lobe to the next"),
            ),
        )  # fmt: skip

    def wanted_cutter(self, unit: Unit) -> Wanted:
        return _cutter(self, unit)


@dataclass(frozen=True, slots=True)
class Inclined:
    """Gears and the inclination of the head, degrees from level."""

    train: LeadTrain
    degrees: float

    @property
    def lead(self) -> float:
        """Of the cam, mm a turn."""
        return cam_lead(float(self.train.lead), self.degrees)


def read(table: Table) -> PlateCam:
    """The figures of the table, lengths in mm, `over` in turns: 2 to 60 lobes; each fault goes into
    the table's list.
    """
    return PlateCam(
        lobes=table.whole("lobes", 2, 60),
        outside=table.length("outside"),
        rise=table.length("rise"),
        over=table.turns("over"),
        rises=table.choice("rises", ("clockwise", "anticlockwise")),
        thickness=table.length("thickness"),
        mill=table.length("mill"),
        upright=table.choice("way", ("inclined", "upright"), "inclined") == "upright",
        train=_train(table),
    )


def _train(table: Table) -> GearOrder:
    """Two or four gears, from the head to the screw; empty where the job names none."""
    given = table.data.get("train", [])
    whole = isinstance(given, list) and all(type(each) is int and each > 0 for each in given)
    if whole and len(given) in (0, 2, 4):
        return tuple(given)
    table.fault("train", "train: give two or four gears, from the head to the table screw, like "
                "[24, 72, 32, 86]")  # fmt: skip
    return ()


# --- the figures ------------------------------------------------------------------------


def whole_turn_lead(work: PlateCam) -> float:
    """What a whole turn would rise, mm."""
    return float(work.rise / work.over)


def cam_lead(gears: float, inclination: float) -> float:
    """The lead of a cam, in the unit of the gears' lead; `inclination` of the head in degrees."""
    return gears * sin(radians(inclination))


def chosen_train(work: PlateCam, shop: Shop) -> Inclined | None:
    """Of all that come near enough the steepest, which needs the shortest mill; else the nearest.
    None: no train of the gears held reaches the lead at an angle that the head has."""
    found = list(_inclinations(work, shop))
    if not found:
        return None
    wanted = whole_turn_lead(work)
    good = [each for each in found if abs(each.lead / wanted - 1) < _GOOD]
    if good:
        return max(good, key=lambda each: (each.degrees, -len(each.train.driven)))
    return min(found, key=lambda each: abs(each.lead / wanted - 1))


def _inclinations(work: PlateCam, shop: Shop) -> Iterator[Inclined]:
    """Each train at the half degree that comes nearest: so the angle can be set by a scale."""
    if len(shop.head.change_gears) < 2:
        return
    machine = lead_train.lead_of_machine(shop.head, shop.machine.table_screw or NO_LENGTH)
    for step in _angles(work, shop):
        wanted = whole_turn_lead(work) / sin(radians(step))
        train = _kept(work, machine) or lead_train.nearest_train(
            shop.head.change_gears, machine, wanted
        )
        if work.upright or work.train or abs(float(train.lead) / wanted - 1) < 0.02:
            yield Inclined(train, step)


def _angles(work: PlateCam, shop: Shop) -> list[float]:
    """Half degrees of the head; for gears that stay on, the sine's own to a minute,
    since nothing else can be chosen."""
    if work.upright:
        return [_UPRIGHT] if shop.head.tilt_degrees[1] >= _UPRIGHT else []
    least = max(_LEAST, float(shop.head.tilt_degrees[0]))
    most = min(_MOST, float(shop.head.tilt_degrees[1]))
    kept = _kept(work, lead_train.lead_of_machine(shop.head, shop.machine.table_screw or NO_LENGTH))
    if kept is not None:
        share = whole_turn_lead(work) / float(kept.lead)
        angle = round(degrees(asin(share)) * 60) / 60 if share < 1 else 0.0
        return [angle] if least <= angle <= most else []
    return [half / 2 for half in range(int(2 * least), int(2 * most) + 1)]


def _kept(work: PlateCam, machine: Millimetres) -> LeadTrain | None:
    """The train that is on already; None where the job names none."""
    if not work.train:
        return None
    driven, drivers = work.train[::2], work.train[1::2]  # in turn, the last one on the screw
    ratio = Fraction(prod(driven), prod(drivers))
    return LeadTrain(driven, drivers, Millimetres(machine * ratio), (work.train,))


def lobe_travel(work: PlateCam, inclined: Inclined) -> Millimetres:
    """Of the table for a lobe, mm: the rise, longer by the inclination. Upright the lead is off,
    and the angle is kept: short of it the roller would stand at the wall of the drop."""
    if work.upright:
        return near(rise_given(work, inclined))
    return near(float(work.rise) / sin(radians(inclined.degrees)))


def turns_over(work: PlateCam, inclined: Inclined) -> float:
    """What the work turns while the table goes that far, degrees."""
    return float(lobe_travel(work, inclined)) / float(inclined.train.lead) * 360


def mill_length(work: PlateCam, inclined: Inclined) -> float:
    """Of the mill's edges at the least, mm: the work goes along the mill as the table goes."""
    along = 0.0 if work.upright else float(work.rise) / tan(radians(inclined.degrees))
    return float(work.thickness) + along


def low_radius(work: PlateCam) -> Millimetres:
    """Where the lobe begins, in mm from the axis."""
    return Millimetres(work.outside / 2 - work.rise)


def spares_the_point(work: PlateCam, mill: float) -> bool:
    """Whether a mill of so many mm at the low place leaves the point of the lobe beside it."""
    gap = tau * (1 / work.lobes - float(work.over))
    middle = float(low_radius(work)) + mill / 2
    point = float(work.outside) / 2
    apart = sqrt(middle**2 + point**2 - 2 * middle * point * cos(gap))
    return gap > 0 and apart >= mill / 2 - 1e-9


def largest_mill(work: PlateCam) -> float:
    """mm; 0 where none spares the points (halving the interval)."""
    low, high = 0.0, float(work.outside)
    for _ in range(60):
        middle = (low + high) / 2
        if spares_the_point(work, middle):
            low = middle
        else:
            high = middle
    return low


# --- the part ---------------------------------------------------------------------------


def _check(work: PlateCam, shop: Shop, found: Findings) -> None:
    unit, radius = shop.unit, work.outside / 2
    if not shop.head.change_gears:
        found.refuse(
            "head",
            f"head {shop.head.name} has no change gears: such a cam needs a head that the table "
            'screw can drive, like three-plate-40-geared; kind = "stepped-cam" needs no gears',
        )
    elif shop.machine.table_screw is None:
        found.refuse(
            "rise",
            'the lead of the table screw is not known: add [machine] table_screw = "5 mm"',
        )
    elif not 0 < work.over < Fraction(1, work.lobes):
        most = angle_shown(Degrees(Fraction(360, work.lobes)))
        found.refuse("over", f"over: the rises of {work.lobes} lobes leave no room for the drops: "
                     f"more than 0 and less than {most} each")  # fmt: skip
    elif work.rise >= radius * Fraction(9, 10):
        most = shown(Millimetres(radius * Fraction(9, 10)), unit)
        found.refuse("rise", f"the low places reach the axis: less than {most}")
    elif not spares_the_point(work, float(work.mill)):
        largest = largest_mill(work)
        cure = f"{shown(largest, unit)} at most, or a shorter rise" if largest > 1 else (
            "a shorter rise leaves it room")  # fmt: skip
        found.refuse("mill", "at the low place the mill would take off the point of the lobe "
                     f"beside it: {cure}")  # fmt: skip


def _check_lead(work: PlateCam, shop: Shop, found: Findings) -> Inclined | None:
    if work.upright:
        common.check_upright(shop, "way", found)
    best = chosen_train(work, shop)
    if best is None:
        _refuse_lead(work, shop, found)
        return None
    off = abs(best.lead / whole_turn_lead(work) - 1)
    if off > _FAR:
        most = shown(best.lead, shop.unit)
        found.refuse("way", f"upright the nearest lead is {most} for "
                     f"{shown(whole_turn_lead(work), shop.unit)}: way = \"inclined\"")  # fmt: skip
    elif off * float(work.rise) > 0.02:
        off_rise = shown(off * float(work.rise), shop.unit)
        found.warn("rise", f"the nearest gears and angle are {off_rise} of rise off")
    return best


def _refuse_lead(work: PlateCam, shop: Shop, found: Findings) -> None:
    """Said once: a head that can't stand upright was refused before."""
    wanted, unit = shown(whole_turn_lead(work), shop.unit), shop.unit
    machine = lead_train.lead_of_machine(shop.head, shop.machine.table_screw or NO_LENGTH)
    if found.refusals:
        return
    if kept := _kept(work, machine):
        least, most = (shown(cam_lead(float(kept.lead), each), unit) for each in (_LEAST, _MOST))
        found.refuse(
            "train",
            f"these gears give {shown(kept.lead, unit)}, and with the head at {_LEAST} to {_MOST} "
            f"degrees leads of {least} to {most}: this cam has {wanted}",
        )
        return
    found.refuse(
        "rise",
        f"no train of the gears held gives a lead of {wanted} with the "
        f"head at {_LEAST} to {_MOST} degrees: another rise, or other gears",
    )


def _plan(work: PlateCam, inclined: Inclined, shop: Shop) -> str:
    return sentences(
        say(
            "A cam of {lobes}, each rising {rise} over {angle}.",
            lobes=say_n(work.lobes, "one lobe", "{count} lobes"),
            rise=said(work.rise, shop.unit),
            angle=angle_said(in_degrees(work.over)),
        ),
        say(
            "The head is tilted to {angle}, the vertical spindle parallel to it.",
            angle=angle_said(inclined.degrees),
        )
        if not work.upright
        else _near(work, inclined, shop),
        say("The table screw drives the head, so the spindle stays unlocked in the cut."),
    )


def _near(work: PlateCam, inclined: Inclined, shop: Shop) -> str:
    """Upright the lead is what the gears give: the rise is off by so much."""
    off = abs(rise_given(work, inclined) - float(work.rise))
    if off < 0.001:
        return say("Head and vertical spindle stand upright.")
    size = said(off, shop.unit)
    return say("Upright, the nearest gears leave the rise {size} off.", size=size)


def rise_given(work: PlateCam, inclined: Inclined) -> float:
    """Over the angle of a lobe, mm."""
    return inclined.lead * float(work.over)


def _figures(work: PlateCam, inclined: Inclined, shop: Shop) -> tuple[Figure, ...]:
    unit = shop.unit
    return (
        Figure("lead of the cam", shown(whole_turn_lead(work), unit)),
        Figure("low radius", shown(low_radius(work), unit)),
        Figure("tilt of the head", angle_shown(inclined.degrees)),
        Figure("vertical spindle out of the upright", angle_shown(90 - inclined.degrees)),
        Figure("lead of the gears", shown(Millimetres(inclined.train.lead), unit)),
        Figure("change gears", helical_gear.order_shown(inclined.train.orders[0])),
        Figure("lead given", shown(inclined.lead, unit)),
        Figure("rise given over the angle", shown(rise_given(work, inclined), unit)),
        Figure("table travel for a lobe", shown(lobe_travel(work, inclined), unit)),
        Figure("the work turns meanwhile", angle_shown(turns_over(work, inclined))),
        Figure("mill's edges at least", shown(mill_length(work, inclined), unit)),
        *_largest(work, unit),
        Figure("roller that follows it truly", shown(work.mill, unit)),
    )


def _largest(work: PlateCam, unit: Unit) -> tuple[Figure, ...]:
    """Said where there is one."""
    if spares_the_point(work, float(work.outside)):
        return ()
    return (Figure("largest mill", shown(largest_mill(work), unit)),)


def _steps(work: PlateCam, inclined: Inclined, shop: Shop) -> tuple[str, ...]:
    unit = shop.unit
    return (
        say(
            "End mill of {size}, its edges {long} long or more. Most of the stock sawn off before.",
            size=said(work.mill, unit), long=said(mill_length(work, inclined), unit),
        ),
        common.runs_true(work.outside, shop),
        say("Head tilted to {angle}, and its bolts tight.", angle=angle_said(inclined.degrees)),
        _parallel(work, inclined),
        common.over_axis(work.outside, work.mill, shop),
        say("Change gears: {gears}. Guard over the gears.",
            gears=helical_gear.order_said(inclined.train.orders[0])),
        say("Back pin out, so that the plate is free to turn. Index with the crank pin only."),
        _try_way(work.rises),
        say(helical_gear.UNLOCKED),
        say(
            "Crank pin out of the plate, so that the work stands still. Run the table out clear. "
            "Raise it until the mill's edges cover the work all the way in."
        ),
        say(
            "Bring the table in until the turning mill touches the rim. Set the table's dial to "
            "nought."
        ),
        say(
            "Choose the mill's turn so that it cuts against the feed, never with it. "
            "Otherwise the slack of the gears drags the work in."
        ),
        sentences(
            say(
                "Every lobe: feed the table in {size} by its dial. Then run it out the same way.",
                size=said(lobe_travel(work, inclined), unit),
            ),
            common.clamped(),
        ),
        say(
            "Index outside only: run the table out, two turns of its screw beyond nought. "
            "Come in one turn, and index there. So the slack lies alike."
        ),
        say("The drop after each lobe is for saw and file."),
    )  # fmt: skip


def _parallel(work: PlateCam, inclined: Inclined) -> str:
    if work.upright:
        return say("Vertical spindle upright, parallel to the work. Prove it with a square.")
    return say(
        "Vertical spindle swung {angle} out of the upright, parallel to the work. Prove it "
        "with a bar in either.",
        angle=angle_said(90 - inclined.degrees),
    )


def _try_way(rises: str) -> str:
    """While work and mill part, the place that is cut goes the way the cam rises; so the work goes
    the other (geometry)."""
    if rises == "clockwise":
        turn = say("Turn the table screw by hand so that work and mill part. "
                   "Seen on its face, the work must turn anticlockwise.")  # fmt: skip
    else:
        turn = say("Turn the table screw by hand so that work and mill part. "
                   "Seen on its face, the work must turn clockwise.")  # fmt: skip
    return sentences(turn, say("If not, put one idler more between the gears, or one fewer."))


# --- the drawing ------------------------------------------------------------------------


def cut_shape(work: PlateCam) -> tuple[Point, ...]:
    """Between rise and rim, for the first lobe: its point at the top, rising clockwise to it."""
    radius, low = float(work.outside) / 2, float(low_radius(work))
    over, gap = float(work.over), 1 / work.lobes - float(work.over)
    steps = [n / 48 for n in range(49)]
    rise = [polar(low + (radius - low) * part, over * (part - 1)) for part in steps]
    rim = [polar(radius, -(over + gap) * part) for part in steps]
    points = (*rise, *rim)
    return points if work.rises == "clockwise" else tuple((-x, y) for x, y in points)


def _draw(work: PlateCam) -> Drawing:
    places = [n / work.lobes for n in range(work.lobes)]
    shape = cut_shape(work)
    radius = float(work.outside) / 2
    cuts = [Shape(turned(shape, place), cut=n) for n, place in enumerate(places)]
    return Drawing((disc(radius), *cuts), ring_anchors(radius * 1.1, places))


def _cutter(work: PlateCam, unit: Unit) -> Wanted:
    """The roller that follows the cam is as large as the mill, and the settings are reckoned by it:
    another one does once the job says it."""

    def judge(kept: Kept) -> Fit:
        if kept.form != "end" or kept.cutter.diameter is None:
            return unfit(say("another form"))
        if abs(kept.cutter.diameter - work.mill) <= ALIKE:
            return RIGHT
        size = shown(kept.cutter.diameter, unit)
        return Fit(True, say('{size} in diameter: write mill = "{size}"', size=size), "mill")

    return Wanted(say("an end mill of {size}", size=shown(work.mill, unit)), judge)


# --- what is asked ----------------------------------------------------------------------

QUESTIONS = (
    *cam_questions("3"),
    ask.length("thickness", mark("How thick is the blank?"), mark("The mill goes along it.")),
    ask.length(
        "mill",
        mark("Which diameter has the end mill?"),
        mark("A roller as large follows the cam truly."),
    ),
    Question(
        "work",
        "way",
        mark("How is the lead given?"),
        mark("Inclined, a longer one is shortened. Upright, it is the nearest that gears give."),
        Form.CHOICE,
        (
            Choice("inclined", mark("head and vertical spindle inclined alike")),
            Choice("upright", mark("both upright, the nearest gears")),
        ),
        lambda _: "inclined",
    ),
    ask.TABLE_SCREW,  # the table screw drives the head here too
)

KIND = Kind(
    "plate-cam",
    mark("a plate cam that rises evenly"),
    rank=110,
    keys=KEYS,
    read=read,
    questions=QUESTIONS,
)
