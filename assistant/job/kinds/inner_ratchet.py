"""Ratchet teeth inside a ring, planed with a tool that stands still in the machine's spindle.

The axis stands upright. The tool is racked down through the bore and fed outward between strokes;
it has the form of a space: a side along the feed makes the face, the other one the back.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from functools import partial
from math import asin, atan2, ceil, cos, degrees, floor, pi, radians, sin, sqrt, tau

from assistant.job.kinds import ask, common
from assistant.job.part import Figure, Findings, Part, Pass, Rim, Round, Shop, equal_cuts
from assistant.job.question import Form, Question
from assistant.job.reader import Table
from assistant.job.shapes import Drawing, Point, Shape, arc_points, disc, ring_anchors, turned
from assistant.job.units import Unit, angle_said, near, said, shown
from assistant.job.work import Kind, Work
from assistant.words.choice import Choice
from assistant.words.language import mark, number, say, say_n
from assistant.words.spoken import capital, sentences
from solver import Degrees, Millimetres

_SHARE = 0.02  # of the space: the pawl still falls in well before the next (common practice)
_ROOM = Fraction(1)  # mm: the tool is drawn back by so much before the ring is turned
_STROKE: dict[Unit, Millimetres] = {  # a hand's cut (common practice)
    "mm": Millimetres(Fraction(1, 10)),
    "in": Millimetres(Fraction(4 * 254, 10000)),
}
KEYS = ("teeth", "bore", "outside", "depth", "drives", "tool_angle", "tool")


@dataclass(frozen=True, slots=True)
class InnerRatchet(Work):
    """`bore` over the points of the teeth, `depth` from it outward, `tool` from the tool's point
    to the back of its bar, mm; `tool_degrees` between face and back of a tooth. `drives`: which
    way a pawl inside pushes the ring, seen from above.
    """

    teeth: int
    bore: Millimetres
    outside: Millimetres
    depth: Millimetres
    tool_degrees: Degrees
    tool: Millimetres
    drives: str = "clockwise"

    def make(self, shop: Shop, found: Findings) -> Part | None:
        _check(self, found, shop.unit)
        common.check_upright(shop, "kind", found)
        if found.refusals:
            return None
        labels = [say("tooth {n}", n=number(n + 1)) for n in range(self.teeth)]
        return Part(
            plan=_plan(self, shop),
            figures=_figures(self, shop),
            rounds=(Round(equal_cuts(self.teeth, labels)),),
            passes=(Pass("", None),),
            steps=_steps(self, shop),
            draw=partial(_draw, self),
            between_centres=False,
            level=False,
            trial_moves=True,
            rim=Rim(
                float(self.bore), _SHARE * pi * float(self.bore) / self.teeth,
                mark("such a ratchet"), mark("from one tooth to the next"), "at the bore",
            ),
        )  # fmt: skip


def read(table: Table) -> InnerRatchet:
    """The figures of the table, lengths in mm: 3 to 720 teeth; each fault goes into
    the table's list.
    """
    return InnerRatchet(
        teeth=table.whole("teeth", 3, 720),
        bore=table.length("bore"),
        outside=table.length("outside"),
        depth=table.length("depth"),
        tool_degrees=table.degrees("tool_angle"),
        tool=table.length("tool"),
        drives=table.choice("drives", ("clockwise", "anticlockwise"), "clockwise"),
    )


# --- the figures ------------------------------------------------------------------------


def flattest(work: InnerRatchet, depth: float) -> float:
    """The tool's angle, degrees, at which its back just touches the bore: asin(R / (R + depth))."""
    radius = float(work.bore) / 2
    return degrees(asin(radius / (radius + depth)))


def space_at_bore(work: InnerRatchet, depth: float) -> float:
    """The turn that one space takes at the bore. The back must come out there: `flattest`."""
    x, y = _out_of_back(work, depth)
    return atan2(x, y) / tau


def _out_of_back(work: InnerRatchet, depth: float) -> Point:
    """Where the back meets the bore, to the right of a face on the upright axis; mm."""
    radius, lean = float(work.bore) / 2, radians(float(work.tool_degrees))
    foot = radius + depth
    along = foot * cos(lean) - sqrt(max(0.0, radius**2 - (foot * sin(lean)) ** 2))
    return along * sin(lean), foot - along * cos(lean)


def deepest_in_bore(work: InnerRatchet) -> float:
    """The depth, mm, at which no land is left or the back no longer comes out (halving)."""
    low, high = 0.0, float(work.bore)
    for _ in range(60):
        middle = (low + high) / 2
        comes_out = float(work.tool_degrees) < flattest(work, middle)
        if comes_out and space_at_bore(work, middle) < 1 / work.teeth:
            low = middle
        else:
            high = middle
    return low


def land_at_bore(work: InnerRatchet) -> float:
    """What is left of the bore between two spaces, along it, mm."""
    return (1 / work.teeth - space_at_bore(work, float(work.depth))) * pi * float(work.bore)


def wall(work: InnerRatchet) -> Millimetres:
    """What is left of the ring behind the teeth, mm; 0 or less: there is none."""
    return Millimetres((work.outside - work.bore) / 2 - work.depth)


# --- the part ---------------------------------------------------------------------------


def _check(work: InnerRatchet, found: Findings, unit: Unit) -> None:
    if not 15 <= work.tool_degrees <= 80:
        found.refuse("tool_angle", "tool angle: 15 to 80 degrees between its two sides")
        return
    if wall(work) <= 0:
        if work.outside <= work.bore:
            found.refuse("outside", "the ring is no larger than its bore: more than "
                         f"{shown(Millimetres(work.bore + 2 * work.depth), unit)}")  # fmt: skip
        else:
            ring = Millimetres((work.outside - work.bore) / 2)
            found.refuse(
                "depth", f"teeth so deep go through the ring: less than {shown(ring, unit)}"
            )
        return
    if work.tool + _ROOM > work.bore:
        found.refuse("tool", "the tool does not fit the bore with room to draw it back: "
                     f"{shown(Millimetres(work.bore - _ROOM), unit)} or less")  # fmt: skip
    most = deepest_in_bore(work)
    if most < 0.05:
        found.refuse("tool_angle", "the back of this tool lies so flat that it reaches into the "
                     "next tooth: a smaller angle")  # fmt: skip
    elif float(work.depth) > most:
        # Rounded down: the depth that is named must itself be taken.
        room = shown(Millimetres(Fraction(floor(most * 1000), 1000)), unit)
        out = float(work.tool_degrees) < flattest(work, float(work.depth))
        fault = "run into each other" if out else "are so wide that this tool's back stays in them"
        found.refuse("depth", f"teeth so deep {fault}: {room} or less with this tool")
    elif land_at_bore(work) < 0.2:
        found.warn(
            "depth", f"hardly any land is left at the points: {shown(land_at_bore(work), unit)}"
        )
    if wall(work) < work.depth:
        found.warn("outside", f"only {shown(wall(work), unit)} of the ring is left behind the "
                   "teeth")  # fmt: skip


def _strokes(work: InnerRatchet, unit: Unit) -> int:
    return ceil(work.depth / _STROKE[unit])


def _way(way: str) -> str:
    return say("clockwise") if way == "clockwise" else say("anticlockwise")


def _plan(work: InnerRatchet, shop: Shop) -> str:
    what = say(
        "{teeth} inside a ring, their faces radial.",
        teeth=say_n(work.teeth, "one tooth", "{count} teeth"),
    )
    deep = say("{depth} deep from the bore outward.", depth=said(work.depth, shop.unit))
    drives = say("A pawl inside drives the ring {way}, seen from above.", way=_way(work.drives))
    return sentences(capital(what), capital(deep), drives)


def _figures(work: InnerRatchet, shop: Shop) -> tuple[Figure, ...]:
    unit = shop.unit
    return (
        Figure("depth from the bore", shown(work.depth, unit)),
        Figure("over the roots", shown(Millimetres(work.bore + 2 * work.depth), unit)),
        Figure("land at the points", shown(land_at_bore(work), unit)),
        Figure("deepest with this tool", shown(deepest_in_bore(work), unit)),
        Figure("ring behind the teeth", shown(wall(work), unit)),
        Figure(
            f"strokes of {shown(_STROKE[unit], unit)}",
            f"{_strokes(work, unit)} a tooth",
        ),
    )


def _steps(work: InnerRatchet, shop: Shop) -> tuple[str, ...]:
    # Seen from above the pawl comes up to a face that looks at it: the space lies on its side.
    behind = "anticlockwise" if work.drives == "clockwise" else "clockwise"
    return (
        common.upright(),
        say(
            "Ring held flat on the head, with room under it for the tool to run out. "
            "Its bore should measure {bore}.",
            bore=said(work.bore, shop.unit),
        ),
        say("Spindle of the machine over the axis of the head, by an indicator in the bore."),
        say(
            "Machine switched off. Tool in its spindle, ground to {angle}. "
            "Its upright side runs through the middle of its bar.",
            angle=angle_said(work.tool_degrees),
        ),
        say(
            "Upright side along the cross slide, by an indicator. "
            "The rest of the tool lies {way} of it, seen from above.",
            way=_way(behind),
        ),
        say(
            "The machine's spindle out of gear and held: the tool is racked down, never turned. "
            "It stays held: the lock that I call is the head's."
        ),
        say(
            "Feed the cross slide outward until the tool's point touches the bore. "
            "Set the slide's dial to nought. Table clamped in every cut."
        ),
        say(
            "Every tooth: feed outward {depth} by that dial, {stroke} a stroke at most. "
            "Lift the tool out before each feed.",
            depth=said(near(float(work.depth)), shop.unit),
            stroke=said(_STROKE[shop.unit], shop.unit),
        ),
        say(
            "After each tooth: tool up, out of the ring. Slide back past nought, and up to it "
            "again. Only then the next move."
        ),
    )


def cut_shape(work: InnerRatchet) -> tuple[Point, ...]:
    """What the tool takes for the first tooth, face upright: root, along the bore, and back."""
    radius = float(work.bore) / 2
    x, y = _out_of_back(work, float(work.depth))
    shape = ((0.0, radius + float(work.depth)), *arc_points(radius, 0, atan2(x, y) / tau, 12))
    return shape if work.drives != "clockwise" else tuple((-x, y) for x, y in shape)


def _draw(work: InnerRatchet) -> Drawing:
    """Seen from above."""
    places = [n / work.teeth for n in range(work.teeth)]
    teeth = [Shape(turned(cut_shape(work), place), cut=n) for n, place in enumerate(places)]
    ring = (disc(float(work.outside) / 2), disc(float(work.bore) / 2, "hole"))
    return Drawing((*ring, *teeth), ring_anchors(float(work.bore) / 2 * 0.88, places))


# --- what is asked ----------------------------------------------------------------------

QUESTIONS = (
    ask.whole("teeth", mark("How many teeth?"), mark("All the way round.")),
    ask.length("bore", mark("Bore of the ring?"), mark("Over the points of the teeth.")),
    ask.length("outside", mark("Outside diameter of the ring?"), mark("As it is turned.")),
    ask.length("depth", mark("How deep is a tooth?"), mark("From the bore outward.")),
    Question(
        "work", "drives", mark("Which way does a pawl inside drive the ring?"),
        mark("Seen from the side that lies on top."), Form.CHOICE,
        (Choice("clockwise", mark("clockwise")), Choice("anticlockwise", mark("anticlockwise"))),
        lambda _: "clockwise",
    ),
    ask.angle_question(
        "tool_angle", mark("To which angle is the tool ground?"),
        mark("Between face and back of a tooth."), "60d",
    ),
    ask.length(
        "tool", mark("How long is the tool across the bore?"),
        mark("From its point to the back of its bar."),
    ),
)  # fmt: skip

KIND = Kind(
    "inner-ratchet",
    mark("ratchet teeth inside a ring"),
    rank=125,
    keys=KEYS,
    read=read,
    questions=QUESTIONS,
    counts="teeth",
)
