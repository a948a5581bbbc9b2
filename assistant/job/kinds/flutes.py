"""Flutes of taps and reamers; those of reamers spaced unevenly, so that no two edges pair.

An edge straight opposite another falls into the same chatter marks; edges at uneven spaces
don't (J. Rose, Modern Machine-Shop Practice, fig. 1085-1086, for even numbers of teeth).
Paired edges, each straight opposite another, unevenly spaced over half a turn, can be measured
across (common practice).

The cutter is set by what makes the edge: the upright side of a side or single-angle cutter, the
point of a double-angle cutter; a form cutter, which is alike on both sides, by its middle.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from fractions import Fraction
from functools import partial
from itertools import accumulate, permutations
from math import asin, atan2, cos, pi, sin, sqrt, tau

from assistant.job.kinds import common
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
    refused,
)
from assistant.job.reader import Table
from assistant.job.shapes import Drawing, Point, Shape, arc, disc, ring_anchors, turned
from assistant.job.units import MM_PER_INCH, angle_said, angle_shown, near, said, shown
from assistant.words.language import mark, number, say, say_n
from assistant.words.spoken import capital, sentences
from solver import Head, degrees_text

KIND = "flutes"
_SHARE = 0.02  # of the space: the edges still share the cut (common practice)
KEYS = (
    "tool", "flutes", "diameter", "depth", "spacing", "spread", "rake", "cutter_form",
    "cutter_angle", "face_angle", *common.PASS_KEYS,
)  # fmt: skip

_SMALL_TAP = Fraction(5, 2) * MM_PER_INCH  # up to here stock taps have four flutes
_ADVISED = (80, 75, 70, 65, 60, 55, 50, 45)  # degrees of single-angle cutters (common practice)


@dataclass(frozen=True, slots=True)
class Flutes:
    """`spread` is the largest spacing less the smallest, in turns (None: a tenth of a space).

    `rake` is the hook of the cutting face, degrees; 0 is radial. An angle cutter has
    `angle_degrees` between its flanks; the one that cuts the face leans `face_degrees` from
    upright (0: a single-angle cutter).
    """

    tool: str
    flutes: int
    diameter: Fraction
    depth: Fraction
    spacing: str = "auto"  # auto | equal | unequal | paired
    spread: Fraction | None = None
    rake_degrees: Fraction = Fraction(0)
    passes: Passes = ONE_PASS
    form: str = "auto"  # auto | side | angle | form
    angle_degrees: Fraction = Fraction(0)
    face_degrees: Fraction = Fraction(0)

    @property
    def cutter(self) -> str:
        """An angle cutter where its angle is given, else a form cutter for taps."""
        if self.form != "auto":
            return self.form
        if self.angle_degrees:
            return "angle"
        return "form" if self.tool == "tap" else "side"

    def work_out(self, shop: Shop) -> Part:
        return work_out(self, shop)


def read(table: Table) -> Flutes:
    tool = table.choice("tool", ("tap", "reamer"))
    return Flutes(
        tool=tool,
        flutes=table.whole("flutes", 2, 40, 4 if tool == "tap" else None),
        diameter=table.length("diameter"),
        depth=table.length("depth"),
        spacing=table.choice("spacing", ("auto", "equal", "unequal", "paired"), "auto"),
        spread=table.degrees("spread") / 360 if table.has("spread") else None,
        rake_degrees=table.degrees("rake", Fraction(0)),
        passes=common.read_passes(table),
        form=table.choice("cutter_form", ("auto", "side", "angle", "form"), "auto"),
        angle_degrees=table.degrees("cutter_angle", Fraction(0)),
        face_degrees=table.degrees("face_angle", Fraction(0)),
    )


# --- the spacing ------------------------------------------------------------------------


def unequal(work: Flutes) -> bool:
    """Reamers unequally, taps equally, unless the job says otherwise."""
    if work.spacing != "auto":
        return work.spacing != "equal"
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
    if work.spacing == "paired":
        return paired(work.flutes, spread, grid(head))
    return spacings(work.flutes, spread, grid(head))


def paired(flutes: int, spread: Fraction, step: Fraction) -> tuple[Fraction, ...]:
    """Uneven over half a turn, and the same again: every edge has one straight opposite.

    Equal where the flutes or the steps do not come out even.
    """
    if flutes % 2 or flutes < 4 or (Fraction(1, 2) / step).denominator != 1:
        return (Fraction(1, flutes),) * flutes
    places = _places([rise / 2 for rise in _rises(flutes // 2, 2 * spread, step)], step)
    half = [b - a for a, b in zip(places, (*places[1:], Fraction(1, 2)), strict=True)]
    return (*half, *half)


# --- the figures ------------------------------------------------------------------------


def offset(work: Flutes) -> float:
    """Of the cutting face from the axis, mm: R sin(rake)."""
    return float(work.diameter) / 2 * sin(float(work.rake_degrees) * pi / 180)


def point(work: Flutes, depth: float) -> Point:
    """The cutter's lowest corner, mm, for a flute that deep: on the face's line, which passes the
    axis at R sin(rake) and leans from upright by the angle of the cutter's face flank."""
    lean, beside = float(work.face_degrees) * pi / 180, -offset(work)
    if work.cutter != "angle":
        return beside, float(work.diameter) / 2 - depth
    along = sqrt((float(work.diameter) / 2 - depth) ** 2 - beside**2)
    return beside * cos(lean) - along * sin(lean), beside * sin(lean) + along * cos(lean)


def deep(work: Flutes, depth: float) -> float:
    """From the crown down to the cutter's lowest corner, mm."""
    return float(work.diameter) / 2 - point(work, depth)[1]


def mouth(work: Flutes, depth: float, wide: float) -> float:
    """The turn that a flute takes at the rim, from its edge to where its back comes out."""
    radius = float(work.diameter) / 2
    x, y = point(work, depth)
    face, back = float(work.face_degrees), float(work.angle_degrees - work.face_degrees)
    edge = _out(x, y, -face * pi / 180, radius)
    if work.cutter == "angle":
        return edge_to(edge, _out(x, y, back * pi / 180, radius))
    far = x + wide
    if far >= radius or sqrt(radius**2 - far**2) <= y:
        return edge_to(edge, (sqrt(radius**2 - y**2), y))
    return edge_to(edge, (far, sqrt(radius**2 - far**2)))


def edge_to(edge: Point, back: Point) -> float:
    return (atan2(*back) - atan2(*edge)) / tau


def _out(x: float, y: float, lean: float, radius: float) -> Point:
    """Where a flank from this corner, leaning so far from upright, comes out at the rim."""
    dx, dy = sin(lean), cos(lean)
    along = x * dx + y * dy
    reach = -along + sqrt(along**2 - (x**2 + y**2 - radius**2))
    return x + reach * dx, y + reach * dy


def shallower(
    work: Flutes, spaces: tuple[Fraction, ...], wide: Fraction | None
) -> tuple[Fraction, ...]:
    """How much less deep each flute is than the one at the largest space, mm, so that all lands
    are alike; none where the cutter's form leaves the mouth the same at every depth, or where
    another depth would move the face off its line (a double-angle cutter)."""
    none = (Fraction(0),) * len(spaces)
    known = work.cutter == "angle" or (work.cutter == "side" and wide is not None)
    if not known or work.face_degrees or len(set(spaces)) == 1:
        return none
    width, full = float(wide or 0), float(work.depth)
    land = float(max(spaces)) - mouth(work, full, width)
    found = [_depth_for(work, float(space) - land, width) for space in spaces]
    return none if None in found else tuple(near((each or full) - full) for each in found)


def _depth_for(work: Flutes, wanted: float, wide: float) -> float | None:
    """The depth, mm, at which the mouth is so wide (halving the interval)."""
    low, high = float(work.depth) * 0.6, float(work.depth)
    if not mouth(work, low, wide) < wanted <= mouth(work, high, wide) + 1e-12:
        return None
    for _ in range(50):
        middle = (low + high) / 2
        low, high = (middle, high) if mouth(work, middle, wide) < wanted else (low, middle)
    return high


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
    if found.refusals:
        return refused(KIND, shop, found)
    passes = passes_to(near(deep(work, float(work.depth))), work.passes, found, shop.unit)
    less = _dials(work, spaces, passes, shop, found)
    if found.refusals:
        return refused(KIND, shop, found)
    places = [Fraction(0), *accumulate(spaces)][:-1]
    cuts = tuple(
        Cut(place, say("flute {n}", n=number(n + 1)), deeper=less[n])
        for n, place in enumerate(places)
    )
    return Part(
        kind=KIND,
        unit=shop.unit,
        plan=_plan(work, shop),
        figures=_figures(work, spaces, less, passes, shop),
        warnings=tuple(found.warnings),
        rounds=(Round(cuts),),
        passes=passes,
        steps=_steps(work, any(less), passes, shop),
        draw=partial(_draw, work, [float(place) for place in places]),
        rim=Rim(
            float(work.diameter), _SHARE * pi * float(work.diameter) / work.flutes,
            mark("such a tool"), mark("from one edge to the next"),
        ),
    )  # fmt: skip


def _dials(
    work: Flutes, spaces: tuple[Fraction, ...], passes: tuple[Pass, ...], shop: Shop,
    found: Findings,
) -> tuple[Fraction, ...]:  # fmt: skip
    """How far each flute's dial stands short of the deepest; told where lands can't be alike."""
    none = (Fraction(0),) * len(spaces)
    if found.refusals or len(set(spaces)) == 1:
        return none
    dials = _evened(work, spaces, passes, shop)
    if dials is None:
        found.warn("spacing", _uneven_lands(work, spaces, shop))
    return dials or none


def _evened(
    work: Flutes, spaces: tuple[Fraction, ...], passes: tuple[Pass, ...], shop: Shop
) -> tuple[Fraction, ...] | None:
    """The dials that make the lands alike; None where this cutter can't."""
    less = shallower(work, spaces, shop.cutter.width)
    full = deep(work, float(work.depth))
    dials = tuple(near(deep(work, float(work.depth + each)) - full) for each in less)
    least = min(each.depth or Fraction(0) for each in passes)
    return dials if any(dials) and least + min(dials) > 0 else None


def _uneven_lands(work: Flutes, spaces: tuple[Fraction, ...], shop: Shop) -> str:
    """A cutter is advised only where it has been reckoned that it does."""
    told = "the lands come out as unequal as the spaces"
    if not _reaches(work):
        return told
    for angle in _ADVISED:
        other = replace(work, form="angle", angle_degrees=Fraction(angle), face_degrees=Fraction(0))
        depth = near(deep(other, float(work.depth)))
        passes = passes_to(depth, work.passes, Findings(), shop.unit)
        if passes and _evened(other, spaces, passes, shop):
            form = "" if work.form == "auto" else 'cutter_form = "angle" and '
            return (
                f"{told}: a single-angle cutter can even them out by its depth, "
                f'{form}cutter_angle = "{angle}d"'
            )
    return told


def _check_cutter(work: Flutes, found: Findings) -> None:
    if work.cutter == "angle" and not 15 <= work.angle_degrees <= 120:
        found.refuse("cutter_angle", "cutter angle: angle cutters have 15 to 120 degrees")
    elif work.cutter != "angle" and work.angle_degrees:
        found.refuse(
            "cutter_angle", 'cutter_angle goes with an angle cutter: cutter_form = "angle"'
        )
    if work.cutter == "angle" and not _reaches(work):
        found.refuse("rake", "with this hook the face is past its nearest to the axis before the "
                     "depth is reached: give a smaller rake or a smaller depth")  # fmt: skip
    if work.face_degrees and work.cutter != "angle":
        found.refuse("face_angle", "face_angle goes with an angle cutter: give cutter_angle")
    elif work.face_degrees and work.face_degrees >= work.angle_degrees:
        found.refuse("face_angle", "the face flank leans less than the whole angle of the cutter: "
                     f"less than {angle_shown(work.angle_degrees)}")  # fmt: skip
    if work.cutter == "form" and work.rake_degrees:
        found.refuse("rake", "a form cutter is set by its middle, and the hook is in its form: "
                     'leave rake out, or cutter_form = "side"')  # fmt: skip


def _reaches(work: Flutes) -> bool:
    """The line of the face comes as near to the axis as the flute is deep."""
    return float(work.diameter / 2 - work.depth) > abs(offset(work))


def _check(work: Flutes, spaces: tuple[Fraction, ...], shop: Shop, found: Findings) -> None:
    unit = shop.unit
    common.check_cutter_in_bar(work.depth, work.diameter / 2, "depth", found, unit)
    _check_cutter(work, found)
    if work.spacing == "paired" and (work.flutes % 2 or work.flutes < 4):
        found.refuse("spacing", "edges in opposite pairs: an even number of flutes, 4 or more")
        return
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
    if work.spacing == "paired":
        how = say(
            "{flutes}, unevenly spaced in opposite pairs, so that it can be measured across.",
            flutes=what,
        )
    elif unequal(work):
        how = say("{flutes}, unevenly spaced, so that no two edges stand opposite.", flutes=what)
    else:
        how = say("{flutes}, equally spaced.", flutes=what)
    deep = say("{depth} deep.", depth=said(work.depth, shop.unit))
    return sentences(capital(how), capital(deep))


def _figures(
    work: Flutes,
    spaces: tuple[Fraction, ...],
    less: tuple[Fraction, ...],
    passes: tuple[Pass, ...],
    shop: Shop,
) -> tuple[Figure, ...]:
    unit, last = shop.unit, passes[-1].depth or work.depth
    found = [
        Figure("depths", depths_shown(passes, unit)),
        Figure("spaces", ", ".join(degrees_text(space) for space in spaces)),
    ]
    if any(less):
        dials = ", ".join(shown(last + each, unit) for each in less)
        found.append(Figure("dial of each flute, so that the lands are alike", dials))
    if work.cutter != "form":
        found.append(Figure("offset of the cutting face", shown(offset(work), unit)))
    if work.face_degrees:
        found.append(Figure("point of the cutter past the axis", shown(_past(work), unit)))
    if work.tool == "tap":
        found.append(Figure("land", shown(tap_land(work.diameter), unit)))
    return (*found, *(common.centre_figures(work.diameter, shop) if work.cutter == "form" else ()))


def _past(work: Flutes) -> float:
    return -point(work, float(work.depth))[0]


def _steps(work: Flutes, varied: bool, passes: tuple[Pass, ...], shop: Shop) -> tuple[str, ...]:
    own = [say("Each flute has a dial of its own: I call it with its lock.")] if varied else []
    return (
        common.runs_true(work.diameter, shop),
        *_set_cutter(work, shop),
        common.depth_step(depths_said(passes, shop.unit)),
        *own,
    )


def _set_cutter(work: Flutes, shop: Shop) -> tuple[str, ...]:
    """By what makes the edge; the crown is touched while that stands over the axis."""
    if work.cutter == "form":
        return common.over_centre(work.diameter, shop), common.touch_top()
    if work.face_degrees:
        return _set_point(work, shop)
    hook = common.move_on(
        near(offset(work)),
        say("the upright side is {size} past the axis", size=said(offset(work), shop.unit)),
        shop,
    )
    angle = say(
        "Single-angle cutter of {angle}, its upright side towards the face of the tooth.",
        angle=angle_said(work.angle_degrees),
    )
    return (
        *([angle] if work.cutter == "angle" else []),
        common.side_over_axis(work.diameter, shop),
        common.touch_top(),
        *([hook] if work.rake_degrees else []),
    )


def _set_point(work: Flutes, shop: Shop) -> tuple[str, ...]:
    lean = angle_said(work.face_degrees)
    return (
        say(
            "Double-angle cutter of {angle}. The flank that leans {lean} cuts the face: it looks "
            "away from the side that comes up as the work turns.",
            angle=angle_said(work.angle_degrees), lean=lean,
        ),
        say("Point of the cutter over the axis, by the tailstock centre."),
        common.touch_top(),
        say(
            "Lower the table clear. Move across {size}, the flank of {lean} leading.",
            size=said(_past(work), shop.unit), lean=lean,
        ),
    )  # fmt: skip


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
