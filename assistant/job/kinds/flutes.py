"""Flutes of taps and reamers; those of reamers spaced unevenly, so that no two edges pair.

An edge straight opposite another falls into the same chatter marks; edges at uneven spaces
don't (J. Rose, Modern Machine-Shop Practice, fig. 1085-1086, for even numbers of teeth).
Paired edges, each straight opposite another, unevenly spaced over half a turn, can be measured
across (common practice).

The cutter is set by what makes the edge: the upright side of a side or single-angle cutter, the
point of a double-angle cutter; a form cutter, which is alike on both sides, by its middle.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from functools import partial
from itertools import accumulate, permutations
from math import asin, ceil, pi, sin, sqrt

from assistant.job import cutter_fit
from assistant.job.cutter_fit import Wanted
from assistant.job.kinds import ask, common, flute_lands
from assistant.job.kinds.flute_lands import CutterSetting, Flank
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
from assistant.job.question import Form, Question
from assistant.job.reader import Table
from assistant.job.shapes import Drawing, Point, Shape, arc_points, disc, ring_anchors, turned
from assistant.job.units import (
    A_TURN,
    MM_PER_INCH,
    NO_ANGLE,
    NO_LENGTH,
    NO_TURN,
    Unit,
    angle_said,
    angle_shown,
    near,
    said,
    shown,
)
from assistant.job.work import Kind, Work
from assistant.words.choice import Choice
from assistant.words.language import mark, number, say, say_n
from assistant.words.spoken import capital, sentences
from solver import Degrees, Head, Millimetres, Turns, degrees_text, in_turns

_SHARE = 0.02  # of the space: the edges still share the cut (common practice)
KEYS = (
    "tool", "flutes", "diameter", "depth", "spacing", "spread", "rake", "cutter_form",
    "cutter_angle", "face_angle", "nose", "lands", *common.PASS_KEYS,
)  # fmt: skip

_SMALL_TAP = Fraction(5, 2) * MM_PER_INCH  # up to here stock taps have four flutes
_ADVISED = (80, 75, 70, 65, 60, 55, 50, 45)  # degrees of single-angle cutters (common practice)


@dataclass(frozen=True, slots=True)
class Flutes(Work):
    """`spread` is the largest spacing less the smallest, in turns (None: a tenth of a space).

    `rake` is the hook of the cutting face, degrees; 0 is radial. An angle cutter has
    `angle_degrees` between its flanks; the one that cuts the face leans `face_degrees` from
    upright (0: a single-angle cutter); `nose` is the radius between them, mm (0: sharp).
    """

    tool: str
    flutes: int
    diameter: Millimetres
    depth: Millimetres
    spacing: str = "auto"  # auto | equal | unequal | paired
    spread: Turns | None = None
    rake_degrees: Degrees = NO_ANGLE
    passes: Passes = ONE_PASS
    form: str = "auto"  # auto | side | angle | form
    angle_degrees: Degrees = NO_ANGLE
    face_degrees: Degrees = NO_ANGLE
    nose: Millimetres = NO_LENGTH
    lands: str = "alike"  # alike | unequal

    @property
    def cutter(self) -> str:
        """An angle cutter where its angle is given, else a form cutter for taps."""
        if self.form != "auto":
            return self.form
        if self.angle_degrees:
            return "angle"
        return "form" if self.tool == "tap" else "side"

    def make(self, shop: Shop, found: Findings) -> Part | None:
        spaces = spaces_of(self, shop.head)
        _check(self, spaces, shop, found)
        if found.refusals:
            return None
        setting = setting_of(self, spaces, shop)
        down = dials(self, setting)
        passes = passes_to(Millimetres(max(down)), self.passes, found, shop.unit)
        if not found.refusals:
            _check_lands(self, spaces, setting, passes, shop, found)
        if found.refusals:
            return None
        less = tuple(each - max(down) for each in down)
        places = _after_each(spaces)
        cuts = tuple(
            Cut(place, say("flute {n}", n=number(n + 1)), deeper=Millimetres(less[n]))
            for n, place in enumerate(places)
        )
        return Part(
            plan=_plan(self, shop),
            figures=_figures(self, spaces, setting, passes, shop),
            rounds=(Round(cuts),),
            passes=passes,
            steps=_steps(self, setting, passes, shop),
            draw=partial(_draw, self, [float(place) for place in places]),
            rim=Rim(
                float(self.diameter), _SHARE * pi * float(self.diameter) / self.flutes,
                mark("such a tool"), mark("from one edge to the next"),
            ),
        )  # fmt: skip

    def wanted_cutter(self, unit: Unit) -> Wanted:
        if self.cutter == "angle":
            return cutter_fit.angle_cutter(self.angle_degrees)
        return cutter_fit.form(self.cutter)


def read(table: Table) -> Flutes:
    """The figures of the table, lengths in mm: 2 to 40 flutes, four on a tap unless told; each
    fault goes into the table's list.
    """
    tool = table.choice("tool", ("tap", "reamer"))
    return Flutes(
        tool=tool,
        flutes=table.whole("flutes", 2, 40, 4 if tool == "tap" else None),
        diameter=table.length("diameter"),
        depth=table.length("depth"),
        spacing=table.choice("spacing", ("auto", "equal", "unequal", "paired"), "auto"),
        spread=table.turns("spread") if table.has("spread") else None,
        rake_degrees=table.degrees("rake", NO_ANGLE),
        passes=common.read_passes(table),
        form=table.choice("cutter_form", ("auto", "side", "angle", "form"), "auto"),
        angle_degrees=table.degrees("cutter_angle", NO_ANGLE),
        face_degrees=table.degrees("face_angle", NO_ANGLE),
        nose=table.maybe_length("nose") or NO_LENGTH,
        lands=table.choice("lands", ("alike", "unequal"), "alike"),
    )


# --- the spacing ------------------------------------------------------------------------


def unequal(work: Flutes) -> bool:
    """Reamers unequally, taps equally, unless the job says otherwise."""
    if work.spacing != "auto":
        return work.spacing != "equal"
    return work.tool == "reamer"


def spindle_grid(head: Head) -> Turns:
    """The smallest step of the spindle that the head's largest circle gives, in turns."""
    circles = [circle for plate in head.plates for circle in plate.circles]
    if circles:
        return Turns(1 / (head.worm_ratio * max(circles)))
    if head.handwheel:
        return in_turns(head.handwheel.division_minutes)
    return Turns(Fraction(1, max(head.direct_circle, default=360)))


def spacings(flutes: int, spread: Turns, step: Turns) -> tuple[Turns, ...]:
    """All different where the steps allow it, in turns, whole steps, no two edges opposite.

    The sizes rise evenly from the smallest to the largest; they are then put in the first
    order in which no run of half of them comes to half a turn.
    """
    rises = _rises(flutes, spread, step)
    for order in _orders(rises):
        places = _places(order, step)
        if not opposite(places):
            return _between(places, A_TURN)
    return (Turns(Fraction(1, flutes)),) * flutes


def _rises(flutes: int, spread: Turns, step: Turns) -> list[Turns]:
    """Spacings before they are rounded to steps; they come to one turn."""
    least = max(spread, 2 * step)
    return [
        Turns(Fraction(1, flutes) + least * Fraction(2 * n - flutes + 1, 2 * (flutes - 1)))
        for n in range(flutes)
    ]


_MOST_ORDERS = 2_000


def _orders(rises: list[Turns]) -> list[list[Turns]]:
    """As they rise, then small and large mixed, then others in a fixed order."""
    found = [rises, [*rises[0::2], *rises[1::2]], [*rises[0::2], *reversed(rises[1::2])]]
    for n, order in enumerate(permutations(rises)):
        if n >= _MOST_ORDERS:
            break
        found.append(list(order))
    return found


def _after_each(spaces: Sequence[Turns]) -> list[Turns]:
    return [NO_TURN, *map(Turns, accumulate(spaces))][:-1]


def _between(places: tuple[Turns, ...], end: Turns) -> tuple[Turns, ...]:
    return tuple(Turns(b - a) for a, b in zip(places, (*places[1:], end), strict=True))


def _places(order: Sequence[Turns], step: Turns) -> tuple[Turns, ...]:
    return tuple(Turns(round(end / step) * step) for end in _after_each(order))


def opposite(places: tuple[Turns, ...]) -> list[tuple[int, int]]:
    """Edges (from 0) that stand straight opposite each other."""
    found = {place: n for n, place in enumerate(places)}
    pairs = ((n, found.get(Turns((place + Fraction(1, 2)) % 1))) for n, place in enumerate(places))
    return [(n, other) for n, other in pairs if other is not None and n < other]


def spaces_of(work: Flutes, head: Head) -> tuple[Turns, ...]:
    """The space after each flute, in turns."""
    if not unequal(work):
        return (Turns(Fraction(1, work.flutes)),) * work.flutes
    spread = Turns(Fraction(1, 10 * work.flutes)) if work.spread is None else work.spread
    if work.spacing == "paired":
        return paired(work.flutes, spread, spindle_grid(head))
    return spacings(work.flutes, spread, spindle_grid(head))


def paired(flutes: int, spread: Turns, step: Turns) -> tuple[Turns, ...]:
    """Uneven over half a turn, and the same again: every edge has one straight opposite.

    Equal where the flutes or the steps do not come out even.
    """
    if flutes % 2 or flutes < 4 or (Fraction(1, 2) / step).denominator != 1:
        return (Turns(Fraction(1, flutes)),) * flutes
    rises = _rises(flutes // 2, Turns(2 * spread), step)
    places = _places([Turns(rise / 2) for rise in rises], step)
    half = _between(places, Turns(Fraction(1, 2)))
    return (*half, *half)


# --- the figures ------------------------------------------------------------------------


def face_offset(work: Flutes) -> float:
    """Of the cutting face from the axis, mm: R sin(rake)."""
    return float(work.diameter) / 2 * sin(float(work.rake_degrees) * pi / 180)


def flank(work: Flutes, wide: Millimetres | None) -> Flank:
    """What cuts a flute, for the geometry of the lands."""
    angle = work.cutter == "angle"
    return Flank(
        radius=float(work.diameter) / 2,
        depth=float(work.depth),
        hook=face_offset(work),
        face=float(work.face_degrees) * pi / 180,
        back=float(work.angle_degrees - work.face_degrees) * pi / 180 if angle else None,
        wide=float(wide or 0) if work.cutter == "side" else 0.0,
        nose=float(work.nose) if angle else 0.0,
    )


def setting_of(work: Flutes, spaces: tuple[Turns, ...], shop: Shop) -> CutterSetting:
    """Where the cutter's lowest corner stands for each flute: all lands alike where this cutter
    makes them so, else every flute as deep as the others."""
    cut, turns = flank(work, shop.cutter.width), tuple(map(float, spaces))
    evened = flute_lands.evened(cut, turns) if _evens(work, spaces) else None
    return evened or flute_lands.alike(cut, turns)


def _evens(work: Flutes, spaces: tuple[Turns, ...]) -> bool:
    return work.lands == "alike" and len(set(spaces)) > 1 and work.cutter != "form"


def dials(work: Flutes, setting: CutterSetting) -> tuple[Millimetres, ...]:
    """From the crown, as the cutter touches it, down to its lowest point, mm, for each flute."""
    cut = flank(work, None)
    touches = flute_lands.corner_at_touch(cut, 0.0 if work.face_degrees else cut.nose)
    return tuple(near(touches - high) for high in setting.heights)


def past_axis(work: Flutes, setting: CutterSetting) -> float:
    """Of the lowest point of a double-angle cutter, the way in which its face flank looks, mm."""
    return -setting.across - flank(work, None).nose_middle[0]


def tap_land(diameter: Millimetres) -> Millimetres:
    """Width of land of a hand tap, mm: a quarter of its diameter (Shop Practice, vol. 1)."""
    return Millimetres(diameter / 4)


# --- the part ---------------------------------------------------------------------------


# --- the lands --------------------------------------------------------------------------


def _check_lands(
    work: Flutes, spaces: tuple[Turns, ...], setting: CutterSetting, passes: tuple[Pass, ...],
    shop: Shop, found: Findings,
) -> None:  # fmt: skip
    """Refuses where no land is left, and where lands would come out unlike though they should."""
    if not flute_lands.has_straight_flanks(flank(work, shop.cutter.width), setting):
        found.refuse("nose", f"a nose of {shown(work.nose, shop.unit)} takes more than half of the "
                     "face: a cutter with a smaller one, or deeper flutes")  # fmt: skip
        return
    known = work.cutter == "angle" or (work.cutter == "side" and shop.cutter.width is not None)
    if known and min(setting.lands) <= 0:
        found.refuse("depth", "no land is left between the flutes: a smaller depth, or a cutter "
                     "that opens less wide")  # fmt: skip
    elif work.lands == "alike" and len(set(spaces)) > 1 and not _roughs(work, setting, passes):
        found.refuse("cutter_angle", _uneven_lands(work, spaces, shop))


def _roughs(work: Flutes, setting: CutterSetting, passes: tuple[Pass, ...]) -> bool:
    """The lands are evened by depth, and the first pass is deep enough for every flute's dial."""
    down = dials(work, setting)
    least = min(each.depth or NO_LENGTH for each in passes)
    return min(down) < max(down) and least + min(down) - max(down) > 0


def _uneven_lands(work: Flutes, spaces: tuple[Turns, ...], shop: Shop) -> str:
    """A cutter is advised only where it has been reckoned that it does."""
    told = "the lands come out as unequal as the spaces"
    angle = _angle_that_evens(work, spaces, shop)
    wide = _width_that_evens(work, spaces, shop, "so does {}" if angle else "{} evens them out")
    return "; ".join([told, *filter(None, (angle, wide)), 'lands = "unequal" takes them so'])


def _angle_that_evens(work: Flutes, spaces: tuple[Turns, ...], shop: Shop) -> str:
    for angle in _ADVISED:
        other = replace(work, form="angle", angle_degrees=Degrees(Fraction(angle)),
                        face_degrees=NO_ANGLE)  # fmt: skip
        if angle != work.angle_degrees and _does(other, spaces, shop):
            form = "" if work.form == "auto" else 'cutter_form = "angle" and '
            plain = " without face_angle" if work.face_degrees else ""
            return (
                "a single-angle cutter evens them out by its depth, "
                f'{form}cutter_angle = "{angle}d"{plain}'
            )
    return ""


def _width_that_evens(work: Flutes, spaces: tuple[Turns, ...], shop: Shop, words: str) -> str:
    """Of the side cutter that is meant to be used."""
    if work.cutter != "side":
        return ""
    widest = Fraction(ceil(10 * flute_lands.width_for(flank(work, None))), 10)
    wider = replace(shop, cutter=replace(shop.cutter, width=Millimetres(widest)))
    if not _does(work, spaces, wider):
        return ""
    named = f"a side cutter of {shown(Millimetres(widest), shop.unit)} or wider"
    return f"{words.format(named)}, width under [cutter]"


def _does(work: Flutes, spaces: tuple[Turns, ...], shop: Shop) -> bool:
    if not flute_lands.reaches(flank(work, None)):
        return False
    setting = setting_of(work, spaces, shop)
    passes = passes_to(Millimetres(max(dials(work, setting))), work.passes, Findings(), shop.unit)
    return bool(passes) and min(setting.lands) > 0 and _roughs(work, setting, passes)


def _check_cutter(work: Flutes, found: Findings) -> None:
    if work.cutter == "angle" and not 15 <= work.angle_degrees <= 120:
        found.refuse("cutter_angle", "cutter angle: angle cutters have 15 to 120 degrees")
    elif work.nose and work.cutter != "angle":
        found.refuse("nose", "nose goes with an angle cutter: give cutter_angle")
    elif work.cutter != "angle" and work.angle_degrees:
        found.refuse(
            "cutter_angle", 'cutter_angle goes with an angle cutter: cutter_form = "angle"'
        )
    if work.cutter == "angle" and not flute_lands.reaches(flank(work, None)):
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


def _check(work: Flutes, spaces: tuple[Turns, ...], shop: Shop, found: Findings) -> None:
    unit = shop.unit
    common.check_cutter_in_bar(work.depth, Millimetres(work.diameter / 2), "depth", found, unit)
    _check_cutter(work, found)
    if work.spacing == "paired" and (work.flutes % 2 or work.flutes < 4):
        found.refuse("spacing", "edges in opposite pairs: an even number of flutes, 4 or more")
        return
    if work.rake_degrees > 30:
        found.refuse("rake", "a hook over 30 degrees leaves no edge: give less")
    smallest, largest = min(spaces), max(spaces)
    if work.spread is not None and work.spread >= Fraction(1, work.flutes):
        found.refuse("spread", "the spread is as large as a space: less than "
                     f"{degrees_text(Turns(Fraction(1, work.flutes)))}")  # fmt: skip
    elif largest - smallest > Fraction(1, 2 * work.flutes):
        found.warn("spread", "the spaces differ by more than half a space: look again")
    if unequal(work) and smallest == largest:
        found.refuse("spacing", "this head can't space them unevenly: use a head with plates")
    if work.depth > work.diameter / 4:
        found.warn("depth", f"flutes deeper than a quarter of the diameter weaken the {work.tool}")
    _customs(work, spaces, found)


def _customs(work: Flutes, spaces: tuple[Turns, ...], found: Findings) -> None:
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
    spaces: tuple[Turns, ...],
    setting: CutterSetting,
    passes: tuple[Pass, ...],
    shop: Shop,
) -> tuple[Figure, ...]:
    unit = shop.unit
    found = [
        Figure("depths", depths_shown(passes, unit)),
        Figure("spaces", ", ".join(degrees_text(Turns(space)) for space in spaces)),
    ]
    if _varied(setting):
        each = ", ".join(shown(Millimetres(down), unit) for down in dials(work, setting))
        found.append(Figure("dial of each flute, so that the lands are alike", each))
    if work.cutter != "form":
        found.append(Figure("offset of the cutting face", shown(face_offset(work), unit)))
    if work.face_degrees:
        found.append(
            Figure("point of the cutter past the axis", shown(past_axis(work, setting), unit))
        )
        found += _hooks(work, setting, shop)
    if work.nose:
        found.append(Figure("nose of the cutter, reckoned with", shown(work.nose, unit)))
    if work.tool == "tap":
        found.append(Figure("land", shown(tap_land(work.diameter), unit)))
    return (*found, *(common.centre_figures(work.diameter, shop) if work.cutter == "form" else ()))


def _varied(setting: CutterSetting) -> bool:
    return len(set(setting.heights)) > 1


def _hooks(work: Flutes, setting: CutterSetting, shop: Shop) -> list[Figure]:
    """A flank that leans leaves the line of the face where it goes less deep."""
    if not _varied(setting):
        return []
    least, most = (
        round(each * 180 / pi, 2) for each in setting.hooks(flank(work, shop.cutter.width))
    )
    return [Figure("hook of the faces, by the depth of each", f"{least:g}° to {most:g}°")]


def _steps(
    work: Flutes, setting: CutterSetting, passes: tuple[Pass, ...], shop: Shop
) -> tuple[str, ...]:
    own = say("Each flute has a dial of its own: I call it with its lock.")
    return (
        common.runs_true(work.diameter, shop),
        *_set_cutter(work, setting, shop),
        common.depth_step(depths_said(passes, shop.unit)),
        *([own] if _varied(setting) else []),
    )


def _set_cutter(work: Flutes, setting: CutterSetting, shop: Shop) -> tuple[str, ...]:
    """By what makes the edge; the crown is touched while that stands over the axis."""
    if work.cutter == "form":
        return common.over_centre(work.diameter, shop), common.touch_top()
    if work.face_degrees:
        return _set_point(work, setting, shop)
    hook = common.move_on(
        near(face_offset(work)),
        say("the upright side is {size} past the axis", size=said(face_offset(work), shop.unit)),
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


def _set_point(work: Flutes, setting: CutterSetting, shop: Shop) -> tuple[str, ...]:
    lean = angle_said(work.face_degrees)
    return (
        say(
            "Double-angle cutter of {angle}. Its flank that leans {lean} cuts the face. It looks "
            "away from the side that comes up as the work turns.",
            angle=angle_said(work.angle_degrees), lean=lean,
        ),
        _point_over_axis(past_axis(work, setting), lean),
        common.touch_top(),
        _point_across(past_axis(work, setting), lean, shop),
    )  # fmt: skip


def _point_over_axis(size: float, lean: str) -> str:
    """Come to the way that it then goes on: the slack of the screw is taken up already."""
    if size < 0:
        return say(
            "Point of the cutter over the axis, by the tailstock centre. Come up to it with the "
            "flank of {lean} trailing.",
            lean=lean,
        )
    return say(
        "Point of the cutter over the axis, by the tailstock centre. Come up to it with the "
        "flank of {lean} leading.",
        lean=lean,
    )


def _point_across(size: float, lean: str, shop: Shop) -> str:
    """A wide nose may stand back of where the flanks would meet."""
    if size < 0:
        return say(
            "Lower the table clear. Move across {size}, the flank of {lean} trailing.",
            size=said(-size, shop.unit), lean=lean,
        )  # fmt: skip
    return say(
        "Lower the table clear. Move across {size}, the flank of {lean} leading.",
        size=said(size, shop.unit), lean=lean,
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
    return (*arc_points(radius, -span, span, 12), *bowl)


# --- what is asked ----------------------------------------------------------------------

QUESTIONS = (
    Question(
        "work", "tool", mark("Which tool is it?"),
        mark("A tap's flutes stand equally, a reamer's unevenly, against chatter."), Form.CHOICE,
        (Choice("reamer", mark("a reamer")), Choice("tap", mark("a tap"))), lambda _: "reamer",
    ),
    Question(
        "work", "flutes", mark("How many flutes?"), mark("A tap has four as a rule."), Form.WHOLE,
        default=lambda a: "4" if a.of("tool") == "tap" else "6",
    ),
    ask.length("diameter", mark("Diameter of the tool?"), mark("Over its edges.")),
    ask.length("depth", mark("How deep is a flute?"), mark("From the edge.")),
    ask.angle_question(
        "cutter_angle", mark("Which angle has the cutter?"),
        mark("Between its flanks. Nought: a side cutter, or a form cutter for taps."), "0d",
    ),
    Question(
        "work", "lands", mark("How are the lands of the reamer to come out?"),
        mark("Alike: each flute gets a depth of its own. A form cutter can't do that."),
        Form.CHOICE,
        (
            Choice("alike", mark("all alike")),
            Choice("unequal", mark("as unequal as the spaces")),
        ),
        lambda _: "alike", when=lambda a: a.of("tool") == "reamer",
    ),
    ask.angle_question(
        "rake", mark("Which hook has the cutting face?"),
        mark("Nought: it points at the axis."), "0d",
    ),
    ask.PASSES, ask.FINISH,
)  # fmt: skip

KIND = Kind(
    "flutes",
    mark("flutes of a reamer or a tap"),
    rank=130,
    keys=KEYS,
    read=read,
    questions=QUESTIONS,
)
