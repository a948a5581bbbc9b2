"""Dog clutches with straight teeth: every flank lies in a plane through the axis.

Odd teeth: the cutter passes right through and each pass makes two flanks, so N passes do.
A space lies opposite each tooth.
Even teeth: a tooth lies opposite a tooth, so the cutter is fed from one side only, and each flank
is a cut of its own: two settings of the cutter's edge, N cuts each (common practice).
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from functools import partial
from math import pi, sin, sqrt

from assistant.job import cutter_fit
from assistant.job.cutter_fit import Wanted
from assistant.job.kinds import ask, common
from assistant.job.part import (
    ONE_PASS,
    Cut,
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
    passes_to,
)
from assistant.job.reader import Table
from assistant.job.shapes import Drawing, Point, Shape, disc, ring_anchors, turned
from assistant.job.units import NO_TURN, Unit, angle_shown, said, shown
from assistant.job.work import Kind, Work
from assistant.words.language import mark, number, say, say_n
from assistant.words.spoken import sentences
from solver import Degrees, Millimetres, Turns, in_degrees

_TEETH_BEAR = 0.05  # mm: more, and one tooth alone drives (common practice)
KEYS = ("teeth", "outside", "bore", "depth", "cutter_width", "clearance", *common.PASS_KEYS)


@dataclass(frozen=True, slots=True)
class Clutch(Work):
    """`outside` and `bore` are where the teeth begin and end, mm. `clearance` is how much
    wider a space is than a tooth, in turns."""

    teeth: int
    outside: Millimetres
    bore: Millimetres
    depth: Millimetres
    cutter_width: Millimetres
    clearance: Turns = NO_TURN
    passes: Passes = ONE_PASS

    def make(self, shop: Shop, found: Findings) -> Part | None:
        _check(self, shop, found)
        if found.refusals:
            return None
        passes = passes_to(self.depth, self.passes, found, shop.unit)
        if found.refusals:
            return None
        return Part(
            plan=_plan(self, shop),
            figures=_figures(self, passes, shop),
            rounds=_rounds(self, shop),
            passes=passes,
            steps=_steps(self, passes, shop),
            draw=partial(_draw, self),
            between_centres=False,
            level=False,
            rim=_rim(self),
        )

    def wanted_cutter(self, unit: Unit) -> Wanted:
        return cutter_fit.named_width(self.cutter_width, widest_cutter(self), unit)


def read(table: Table) -> Clutch:
    """The figures of the table, lengths in mm: 2 to 200 teeth, the clearance in turns; each fault
    goes into the table's list.
    """
    return Clutch(
        teeth=table.whole("teeth", 2, 200),
        outside=table.length("outside"),
        bore=table.length("bore"),
        depth=table.length("depth"),
        cutter_width=table.length("cutter_width"),
        clearance=table.turns("clearance", NO_TURN),
        passes=common.read_passes(table),
    )


# --- the figures ------------------------------------------------------------------------


def odd(work: Clutch) -> bool:
    """An odd number of teeth: one cut across makes two flanks."""
    return work.teeth % 2 == 1


def space_turn(work: Clutch) -> Turns:
    """A space, in turns: wider than a tooth by the clearance, and both come to the pitch."""
    return Turns(Fraction(1, 2 * work.teeth) + work.clearance / 2)


def widest_cutter(work: Clutch) -> float:
    """The widest cutter, mm, that clears the far flank where the space is narrowest.

    One edge in the plane of a flank, the other reaches the far flank at the bore: r sin(space).
    """
    # Odd teeth with clearance: the second time round stands turned on by half of it.
    turns = Fraction(1, 2 * work.teeth) if odd(work) else space_turn(work)
    angle = 2 * pi * float(turns)
    return float(work.bore) / 2 * (sin(angle) if angle < pi / 2 else 1.0)


def narrowest_cutter(work: Clutch) -> float:
    """The narrowest, mm, that leaves nothing standing in a space: R sin(space / 2).

    Odd teeth with clearance are gone round twice, half the clearance apart: a cutter that much
    narrower does.
    """
    turns = Fraction(1, 2 * work.teeth) - work.clearance / 2 if odd(work) else space_turn(work)
    return float(work.outside) / 2 * sin(pi * float(turns))


def run_out(work: Clutch, cutter: Millimetres) -> float:
    """How far past the inner end of the teeth a cutter of this diameter is into the bore, mm."""
    sink = float(work.depth)
    return sqrt(max(0.0, sink * (float(cutter) - sink)))


# --- the part ---------------------------------------------------------------------------


def _rim(work: Clutch) -> Rim:
    """Both halves may be off, and share their clearance; without any they are fitted by hand."""
    clear = pi * float(work.outside) * float(work.clearance)
    return Rim(
        float(work.outside), max(_TEETH_BEAR, clear / 2), mark("such a clutch"),
        mark("from one tooth to the next"),
    )  # fmt: skip


def _check(work: Clutch, shop: Shop, found: Findings) -> None:
    unit = shop.unit
    if work.bore >= work.outside:
        most = shown(work.outside, unit)
        found.refuse("bore", f"the bore is not smaller than the outside: less than {most}")
        return
    if work.clearance >= Fraction(1, 2 * work.teeth):
        most = angle_shown(Degrees(Fraction(360, 2 * work.teeth)))
        found.refuse("clearance", f"the clearance takes the whole tooth: less than {most}")
        return
    widest, narrowest = widest_cutter(work), narrowest_cutter(work)
    if float(work.cutter_width) > widest + 1e-9:
        found.refuse("cutter_width", f"a cutter of {shown(work.cutter_width, unit)} would cut into "
                     f"the next tooth at the bore: {shown(widest, unit)} or narrower")  # fmt: skip
    elif float(work.cutter_width) < narrowest - 1e-9:
        found.warn("cutter_width", "an island is left standing in each space: clear it after, or "
                   f"use a cutter of {shown(narrowest, unit)} or wider")  # fmt: skip
    if work.clearance > Fraction(1, 8 * work.teeth):
        found.warn("clearance", "the clearance is more than a quarter of a tooth: look again")
    _check_run_out(work, shop, found)
    common.check_upright(shop, "kind", found)


def _check_run_out(work: Clutch, shop: Shop, found: Findings) -> None:
    """Even teeth: the cutter must stop in the bore, before the tooth opposite."""
    if odd(work) or shop.cutter.diameter is None:
        return
    far = run_out(work, shop.cutter.diameter)
    # Its far corner leaves one wall of the bore and comes to the other: a chord, not the bore.
    half = float(work.cutter_width)
    room = 2 * sqrt(max(0.0, (float(work.bore) / 2) ** 2 - half**2))
    if far >= room:
        found.refuse(
            "bore",
            f"the cutter runs {shown(far, shop.unit)} past the tooth, into the one opposite, "
            f"{shown(room, shop.unit)} away: a bore over {shown(_bore_for(far, half), shop.unit)}, "
            "a smaller cutter, or an odd number of teeth",
        )


def _bore_for(far: float, wide: float) -> float:
    return 2 * sqrt((far / 2) ** 2 + wide**2)


def _range(work: Clutch, unit: Unit) -> str:
    least, most = narrowest_cutter(work), widest_cutter(work)
    if least > most:
        return f"at most {shown(most, unit)} wide; an island stays in each space"
    return f"{shown(least, unit)} to {shown(most, unit)} wide"


def _plan(work: Clutch, shop: Shop) -> str:
    what = say(
        "A clutch of {teeth}, {depth} deep.",
        teeth=say_n(work.teeth, "one tooth", "{count} teeth"),
        depth=said(work.depth, shop.unit),
    )
    if odd(work):
        how = say_n(
            total_cuts(work),
            "An odd number: the cutter passes right through, and one pass finishes it.",
            "An odd number: the cutter passes right through, and {count} passes finish it.",
        )
    else:
        how = say(
            "An even number: cut from the rim to the bore only, never across, first one flank "
            "of every space, then the other."
        )
    return sentences(what, how)


def total_cuts(work: Clutch) -> int:
    """The cuts of all its settings together."""
    return sum(len(cuts) for cuts in cutter_settings(work))


def _figures(work: Clutch, passes: tuple[Pass, ...], shop: Shop) -> tuple[Figure, ...]:
    unit = shop.unit
    return (
        Figure("teeth", f"{work.teeth}, {'odd' if odd(work) else 'even'}"),
        Figure("space", angle_shown(in_degrees(space_turn(work)))),
        Figure("tooth", angle_shown(in_degrees(Turns(Fraction(1, work.teeth) - space_turn(work))))),
        Figure("depths", depths_shown(passes, unit)),
        Figure("cutter edge from the axis", "0: on the centre line"),
        Figure("cutter", _range(work, unit)),
        Figure("from touching to the centre line", shown(Millimetres(work.outside / 2), unit)),
    )  # fmt: skip


_PASS, _SPACE = mark("pass {n}"), mark("space {n}")


def cutter_settings(work: Clutch) -> tuple[tuple[Cut, ...], ...]:
    """The cuts of each setting of the cutter, or of each turning on by the clearance."""
    name = _PASS if odd(work) else _SPACE
    first = _cuts(work, NO_TURN, name)
    if odd(work) and not work.clearance:
        return (first,)
    on = Turns(work.clearance / 2) if odd(work) else space_turn(work)
    return first, _cuts(work, on, name)


def _rounds(work: Clutch, shop: Shop) -> tuple[Round, ...]:
    cuts = cutter_settings(work)
    if len(cuts) == 1:
        return (Round(cuts[0]),)
    if odd(work):
        words = say(
            "Leave the cutter where it is: the same passes again, on by half the clearance."
        )
        return Round(cuts[0], say("full width")), Round(cuts[1], say("clearance"), (words,))
    words = say(
        "Lower the table clear. Move on across {size}, the same way, so that the cutter's other "
        "edge is on the centre line.",
        size=said(work.cutter_width, shop.unit),
    )
    return Round(cuts[0], say("one flank")), Round(cuts[1], say("other flank"), (words,))


def _cuts(work: Clutch, start: Turns, name: str) -> tuple[Cut, ...]:
    return tuple(
        Cut(Turns(start + Fraction(n, work.teeth)), say(name, n=number(n + 1)))
        for n in range(work.teeth)
    )


def _steps(work: Clutch, passes: tuple[Pass, ...], shop: Shop) -> tuple[str, ...]:
    feed = say("Feed right through, over both sides.")
    if not odd(work):
        feed = say(
            "Set a stop: feed from the rim into the bore and back, never across. "
            "Feed every cut in from the same side."
        )
    return (
        common.upright(),
        common.runs_true(work.outside, shop),
        say(
            "Turn the work the working way, and watch the rim where the cutter goes in: it comes "
            "from one side. Touch the coming side of the work with the side of the cutter. "
            "Lower the table clear. Move across {size}, the cutter on the side that it touched: "
            "its edge stands on the centre line.",
            size=said(Millimetres(work.outside / 2), shop.unit),
        ),
        feed,
        common.touch_top(),
        common.depth_step(depths_said(passes, shop.unit)),
    )


# --- the drawing ------------------------------------------------------------------------


def cut_shape(work: Clutch, side: int, upper: bool) -> tuple[Point, ...]:
    """What a pass takes of the ring: a strip from the centre line, the cutter wide.

    `side` 1 lies clockwise of the centre line seen from the top; `upper` is the part above
    the axis, else the part below it.
    """
    wide, outer, inner = float(work.cutter_width), float(work.outside) / 2, float(work.bore) / 2
    out = _curve(outer, wide)
    back = [(x, y) for x, y in reversed(_curve(inner, wide))]
    sign = 1 if upper else -1
    return tuple((side * x, sign * y) for x, y in (*out, *back))


def _curve(radius: float, wide: float) -> list[Point]:
    xs = [wide * n / 12 for n in range(13)]
    return [(x, sqrt(max(0.0, radius * radius - x * x))) for x in xs]


def _draw(work: Clutch) -> Drawing:
    shapes = []
    cut = 0
    for which, cuts in enumerate(cutter_settings(work)):
        side = -1 if which == 1 and not odd(work) else 1
        for one in cuts:
            halves = (True, False) if odd(work) else (True,)
            # The work turns one way, so the cut stands on it turned the other way.
            shapes += [
                Shape(turned(cut_shape(work, side, half), float(one.at)), cut=cut)
                for half in halves
            ]
            cut += 1
    radius = float(work.outside) / 2
    ring = (disc(radius), disc(float(work.bore) / 2, "hole"))
    places = [n / work.teeth for n in range(work.teeth)]
    return Drawing((*ring, *shapes), ring_anchors(radius * 1.1, places))


# --- what is asked ----------------------------------------------------------------------

QUESTIONS = (
    ask.whole("teeth", mark("How many teeth?"), mark("Odd: one setting. Even: two."), "5"),
    ask.length("outside", mark("Outside diameter of the teeth?"), mark("Where they end.")),
    ask.length("bore", mark("Inside diameter of the teeth?"), mark("Where they begin.")),
    ask.length("depth", mark("How deep are the spaces?"), mark("From the face of the blank.")),
    ask.length(
        "cutter_width", mark("How wide is the cutter?"),
        mark("It must fit through a space at the inside diameter."),
    ),
    ask.angle_question(
        "clearance", mark("How much wider is a space than a tooth?"),
        mark("An angle, so that the halves engage. Nought: they fit without play."), "0d",
    ),
    ask.PASSES, ask.FINISH,
)  # fmt: skip

KIND = Kind(
    "clutch",
    mark("a dog clutch"),
    rank=90,
    keys=KEYS,
    read=read,
    questions=QUESTIONS,
)
