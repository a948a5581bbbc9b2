"""Flutes of taps and reamers; those of reamers spaced unevenly, so that no two edges pair.

An edge straight opposite another falls into the same chatter marks; edges at uneven spaces
don't (J. Rose, Modern Machine-Shop Practice, fig. 1085-1086, for even numbers of teeth).
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from functools import partial
from itertools import accumulate, permutations
from math import asin, pi, sin, sqrt

from assistant.job.kinds import common
from assistant.job.part import (
    ONE_PASS,
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
    refused,
)
from assistant.job.reader import Table
from assistant.job.shapes import Drawing, Point, Shape, arc, disc, ring_anchors, turned
from assistant.job.units import MM_PER_INCH, said, shown
from assistant.words.language import number, say, say_n
from assistant.words.spoken import capital, sentences
from solver import Head, degrees_text

KIND = "flutes"
KEYS = (
    "tool", "flutes", "diameter", "depth", "spacing", "spread", "rake", *common.PASS_KEYS,
)  # fmt: skip

_SMALL_TAP = Fraction(5, 2) * MM_PER_INCH  # up to here stock taps have four flutes


@dataclass(frozen=True, slots=True)
class Flutes:
    """`spread` is the largest spacing less the smallest, in turns (None: a tenth of a space).

    `rake` is the hook of the cutting face, degrees; 0 is radial.
    """

    tool: str
    flutes: int
    diameter: Fraction
    depth: Fraction
    spacing: str = "auto"  # auto | equal | unequal
    spread: Fraction | None = None
    rake_degrees: Fraction = Fraction(0)
    passes: Passes = ONE_PASS

    def work_out(self, shop: Shop) -> Part:
        return work_out(self, shop)


def read(table: Table) -> Flutes:
    tool = table.choice("tool", ("tap", "reamer"))
    return Flutes(
        tool=tool,
        flutes=table.whole("flutes", 2, 40, 4 if tool == "tap" else None),
        diameter=table.length("diameter"),
        depth=table.length("depth"),
        spacing=table.choice("spacing", ("auto", "equal", "unequal"), "auto"),
        spread=table.degrees("spread") / 360 if table.has("spread") else None,
        rake_degrees=table.degrees("rake", Fraction(0)),
        passes=common.read_passes(table),
    )


# --- the spacing ------------------------------------------------------------------------


def unequal(work: Flutes) -> bool:
    """Reamers unequally, taps equally, unless the job says otherwise."""
    if work.spacing != "auto":
        return work.spacing == "unequal"
    return work.tool == "reamer"


def grid(head: Head) -> Fraction:
    """The smallest step of the spindle that the head's largest circle gives, in turns."""
    circles = [circle for plate in head.plates for circle in plate.circles]
    if circles:
        return 1 / (head.worm_ratio * max(circles))
    if head.handwheel:
        return head.handwheel.division_minutes / 21600
    return Fraction(1, max(head.direct_circle, default=360))


def spacings(flutes: int, spread: Fraction, step: Fraction) -> tuple[Fraction, ...]:
    """All different where the steps allow it, in turns, whole steps, no two edges opposite.

    The sizes rise evenly from the smallest to the largest; they are then put in the first
    order in which no run of half of them comes to half a turn.
    """
    rises = _rises(flutes, spread, step)
    for order in _orders(rises):
        places = _places(order, step)
        if not opposite(places):
            return tuple(b - a for a, b in zip(places, (*places[1:], Fraction(1)), strict=True))
    return (Fraction(1, flutes),) * flutes


def _rises(flutes: int, spread: Fraction, step: Fraction) -> list[Fraction]:
    """Spacings before they are rounded to steps; they come to one turn."""
    least = max(spread, 2 * step)
    return [
        Fraction(1, flutes) + least * Fraction(2 * n - flutes + 1, 2 * (flutes - 1))
        for n in range(flutes)
    ]


_MOST_ORDERS = 2_000


def _orders(rises: list[Fraction]) -> list[list[Fraction]]:
    """As they rise, then small and large mixed, then others in a fixed order."""
    found = [rises, [*rises[0::2], *rises[1::2]], [*rises[0::2], *reversed(rises[1::2])]]
    for n, order in enumerate(permutations(rises)):
        if n >= _MOST_ORDERS:
            break
        found.append(list(order))
    return found


def _places(order: list[Fraction], step: Fraction) -> tuple[Fraction, ...]:
    ends = [Fraction(0), *accumulate(order)][:-1]
    return tuple(round(end / step) * step for end in ends)


def opposite(places: tuple[Fraction, ...]) -> list[tuple[int, int]]:
    """Edges (from 0) that stand straight opposite each other."""
    found = {place: n for n, place in enumerate(places)}
    pairs = ((n, found.get((place + Fraction(1, 2)) % 1)) for n, place in enumerate(places))
    return [(n, other) for n, other in pairs if other is not None and n < other]


def spaces_of(work: Flutes, head: Head) -> tuple[Fraction, ...]:
    """The space after each flute, in turns."""
    if not unequal(work):
        return (Fraction(1, work.flutes),) * work.flutes
    spread = Fraction(1, 10 * work.flutes) if work.spread is None else work.spread
    return spacings(work.flutes, spread, grid(head))


# --- the figures ------------------------------------------------------------------------


def offset(work: Flutes) -> float:
    """Of the cutting face from the axis, mm: R sin(rake)."""
    return float(work.diameter) / 2 * sin(float(work.rake_degrees) * pi / 180)


def tap_land(diameter: Fraction) -> Fraction:
    """Width of land of a hand tap, mm: a quarter of its diameter (Shop Practice, vol. 1)."""
    return diameter / 4


# --- the part ---------------------------------------------------------------------------


def work_out(work: Flutes, shop: Shop) -> Part:
    found = Findings()
    spaces = spaces_of(work, shop.head)
    _check(work, spaces, shop, found)
    if found.refusals:
        return refused(KIND, shop, found)
    passes = passes_to(work.depth, work.passes, found, shop.unit)
    if found.refusals:
        return refused(KIND, shop, found)
    places = [Fraction(0), *accumulate(spaces)][:-1]
    cuts = tuple(Cut(place, say("flute {n}", n=number(n + 1))) for n, place in enumerate(places))
    return Part(
        kind=KIND,
        unit=shop.unit,
        plan=_plan(work, shop),
        figures=_figures(work, spaces, passes, shop),
        warnings=tuple(found.warnings),
        rounds=(Round(cuts),),
        passes=passes,
        steps=_steps(work, passes, shop),
        draw=partial(_draw, work, [float(place) for place in places]),
    )


def _check(work: Flutes, spaces: tuple[Fraction, ...], shop: Shop, found: Findings) -> None:
    unit = shop.unit
    common.check_cutter_in_bar(work.depth, work.diameter / 2, "depth", found, unit)
    if work.rake_degrees > 30:
        found.refuse("rake", "a hook over 30 degrees leaves no edge: give less")
    smallest, largest = min(spaces), max(spaces)
    if work.spread is not None and work.spread >= Fraction(1, work.flutes):
        found.refuse("spread", "the spread is as large as a space: less than "
                     f"{degrees_text(Fraction(1, work.flutes))}")  # fmt: skip
    elif largest - smallest > Fraction(1, 2 * work.flutes):
        found.warn("spread", "the spaces differ by more than half a space: look again")
    if unequal(work) and smallest == largest:
        found.refuse("spacing", "this head can't space them unevenly: use a head with plates")
    if work.depth > work.diameter / 4:
        found.warn("depth", f"flutes deeper than a quarter of the diameter weaken the {work.tool}")
    _customs(work, spaces, found)


def _customs(work: Flutes, spaces: tuple[Fraction, ...], found: Findings) -> None:
    if work.tool == "tap" and work.diameter <= _SMALL_TAP and work.flutes != 4:
        found.warn("flutes", f"{work.flutes} flutes: straight-fluted taps up to two and a half "
                   "inches have four by custom")  # fmt: skip
    if work.tool == "reamer" and not unequal(work) and work.flutes % 2 == 0:
        found.warn("spacing", "equal spaces set every edge opposite another, and the reamer will "
                   'chatter: spacing = "unequal"')  # fmt: skip


def _plan(work: Flutes, shop: Shop) -> str:
    if work.tool == "tap":
        what = say_n(work.flutes, "One flute of a tap", "{count} flutes of a tap")
    else:
        what = say_n(work.flutes, "One flute of a reamer", "{count} flutes of a reamer")
    if unequal(work):
        how = say("{flutes}, unevenly spaced, so that no two edges stand opposite.", flutes=what)
    else:
        how = say("{flutes}, equally spaced.", flutes=what)
    deep = say("{depth} deep.", depth=said(work.depth, shop.unit))
    return sentences(capital(how), capital(deep))


def _figures(
    work: Flutes, spaces: tuple[Fraction, ...], passes: tuple[Pass, ...], shop: Shop
) -> tuple[Figure, ...]:
    unit = shop.unit
    found = [
        Figure("depths", depths_shown(passes, unit)),
        Figure("spaces", ", ".join(degrees_text(space) for space in spaces)),
        Figure("offset of the cutting face", shown(offset(work), unit)),
    ]
    if work.tool == "tap":
        found.append(Figure("land", shown(tap_land(work.diameter), unit)))
    return (*found, *common.centre_figures(work.diameter, shop))


def _steps(work: Flutes, passes: tuple[Pass, ...], shop: Shop) -> tuple[str, ...]:
    face = common.over_centre(work.diameter, shop)
    if work.rake_degrees:
        more = said(offset(work), shop.unit)
        hook = say("Then {size} more, past the axis, for the hook.", size=more)
        face = sentences(face, hook)
    return (
        common.runs_true(work.diameter, shop),
        face,
        common.touch_top(),
        common.depth_step(depths_said(passes, shop.unit)),
    )


def _draw(work: Flutes, places: list[float]) -> Drawing:
    """Each flute as a round-bottomed notch: the form itself is the cutter's."""
    radius, depth = float(work.diameter) / 2, float(work.depth)
    shape = _notch(radius, depth, _mouth(work))
    flutes = [Shape(turned(shape, place), cut=n) for n, place in enumerate(places)]
    return Drawing((disc(radius), *flutes), ring_anchors(radius * 1.12, places))


def _mouth(work: Flutes) -> float:
    """Half the width at the rim, mm: what the lands leave, at most a half of a space."""
    radius = float(work.diameter) / 2
    chord = 2 * radius * sin(pi / work.flutes)
    land = float(tap_land(work.diameter)) if work.tool == "tap" else chord / 2
    return max(chord * 0.2, (chord - land) / 2) * 0.9


def _notch(radius: float, depth: float, half: float) -> tuple[Point, ...]:
    half = min(half, radius * 0.9)
    edge = sqrt(radius**2 - half**2)
    span = asin(half / radius) / (2 * pi)
    floor = radius - depth
    bowl = [
        (half * sin(a), edge - (edge - floor) * sqrt(max(0.0, 1 - sin(a) ** 2)))
        for a in (pi / 2 - pi * n / 16 for n in range(17))
    ]
    return (*arc(radius, -span, span, 12), *bowl)
