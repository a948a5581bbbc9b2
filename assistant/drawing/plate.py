"""The plate drawn true: every hole at its angle, the circles in order, pin, arms, next hole.

The plate is seen from the crank's side. The first hole stands at the top; holes run
clockwise, the way the crank is turned. Circles lie at the radii that the head file gives;
where it gives none, at equal steps, the one with the most holes outside (common practice),
and the caption says so. Angles are exact.
"""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from itertools import pairwise

from assistant.drawing import block
from assistant.drawing.ink import Mark, at, circle, drawn_arc, drawn_line, drawn_text
from assistant.engine.view import PlateSight
from assistant.words.language import say

SIZE = 116.0  # units from the axis to the edge of the drawing
OUTSIDE = 92.0  # radius of the outermost circle of holes
INSIDE = 46.0  # radius of the innermost one, where there are several
RIM = 100.0
BORE = 13.0
BETWEEN = 31.0  # where the number of spaces stands, on the counted side of the arms
MOST_HOLES = 400  # a circle with more is drawn as a line with the holes that matter


def radius_of(sight: PlateSight, holes: int) -> float:
    """The radius of the circle with that many holes, in units of the drawing."""
    if sight.radii and holes in sight.circles:
        return OUTSIDE * sight.radii[sight.circles.index(holes)] / max(sight.radii)
    if len(sight.circles) < 2 or holes not in sight.circles:
        return OUTSIDE
    step = (OUTSIDE - INSIDE) / (len(sight.circles) - 1)
    return INSIDE + step * sight.circles.index(holes)


def hole_radius(sight: PlateSight, holes: int) -> float:
    """Half the width of a hole, in units of the drawing: as large as its neighbours on all sides
    leave room for."""
    radii = sorted(radius_of(sight, each) for each in sight.circles) or [OUTSIDE]
    pitch = 6.2832 * radius_of(sight, holes) / holes
    between = min((b - a for a, b in pairwise(radii)), default=OUTSIDE)
    return min(2.6, 0.33 * pitch, 0.36 * between)


def base(sight: PlateSight) -> list[Mark]:
    """What stays the same from cut to cut."""
    if sight.kind == "block":
        return list(block.base(sight))
    return [*_blank(), *(_dial(sight) if sight.kind == "dial" else _holes(sight))]


def _blank() -> Iterator[Mark]:
    yield circle((0, 0), RIM, "blank")
    yield circle((0, 0), BORE, "thick")
    yield drawn_line((-RIM - 6, 0), (RIM + 6, 0), "axis")
    yield drawn_line((0, -RIM - 6), (0, RIM + 6), "axis")


def _holes(sight: PlateSight) -> Iterator[Mark]:
    if len(sight.circles) > 1 and not sight.radii:
        yield drawn_text((SIZE - 2, SIZE - 4), say("radii not to scale"), anchor="end")
    for holes in sight.circles:
        radius = radius_of(sight, holes)
        used = holes == sight.circle
        yield circle((0, 0), radius, "axis", circle=str(holes))
        if holes > MOST_HOLES:
            continue
        for n in range(holes):
            where = at(radius, n / holes)
            look = "used" if used else "hole"
            yield circle(where, hole_radius(sight, holes), look, circle=str(holes), hole=str(n))


def _dial(sight: PlateSight) -> Iterator[Mark]:
    """Graduation lines of three lengths: each degree of the spindle, each half, every 10′."""
    degrees = sight.dial_minutes / 60
    for n in range(int(degrees * 6) + (degrees * 6 != int(degrees * 6))):
        long = n % 6 == 0
        inner = RIM - (14 if long else 9 if n % 3 == 0 else 6)
        place = float(n / (degrees * 6))
        yield drawn_line(at(inner, place), at(RIM, place), "thick" if long else "thin", line=str(n))
        if long and degrees <= 12:
            x, y = at(RIM - 22, place)
            yield drawn_text((x, y + 3), f"{n // 6}°")


def overlay(sight: PlateSight) -> list[Mark]:
    """What changes: sector arms, the holes to count, the next hole, the pin."""
    if sight.kind == "block":
        return list(block.overlay(sight))
    marks = list(_arms(sight)) if sight.arms else []
    if sight.target is not None and sight.kind != "dial":
        marks += _counted(sight, sight.target - _swept(sight, sight.spaces), sight.spaces)
    elif sight.setting and sight.arms:
        marks += _counted(sight, sight.pin, sight.arms)
    return [*marks, *_circle_name(sight), *_target(sight), *_pin(sight)]


def _swept(sight: PlateSight, spaces: int) -> Fraction:
    return Fraction(spaces, sight.circle) if spaces else Fraction(0)


def _circle_name(sight: PlateSight) -> Iterator[Mark]:
    """The circle's own number, written on it where nothing is counted."""
    if sight.kind == "dial" or not sight.circle:
        return
    spaces = sight.spaces or sight.arms
    start = sight.pin if sight.target is None else sight.target - _swept(sight, sight.spaces)
    middle = float(start) + (1 + spaces / sight.circle) / 2
    x, y = at(radius_of(sight, sight.circle), middle)
    yield drawn_text((x, y + 5), str(sight.circle), "name")


def _arms(sight: PlateSight) -> Iterator[Mark]:
    """Left arm against the pin, right arm past the last hole to count.

    Each bevelled edge lies beside its hole: the two embrace one hole more than the spaces.
    """
    radius = radius_of(sight, sight.circle)
    beside = 1.5 * hole_radius(sight, sight.circle) / (6.2832 * radius)
    start = float(sight.pin) - beside
    sweep = sight.arms / sight.circle + 2 * beside
    yield drawn_line(at(BORE, start), at(RIM - 3, start), "arm", arm="left")
    yield drawn_line(at(BORE, start + sweep), at(RIM - 3, start + sweep), "arm", arm="right")
    yield drawn_arc(BORE + 5, start, min(sweep, 0.999), "arm", arm="hub")


def _counted(sight: PlateSight, first: Fraction, spaces: int) -> Iterator[Mark]:
    """The holes counted off after the whole turns, the pin's own as nought, and how many."""
    radius = radius_of(sight, sight.circle)
    for n in range(1, spaces + sight.setting):
        place = float((first + Fraction(n, sight.circle)) % 1)
        size = hole_radius(sight, sight.circle)
        yield circle(at(radius, place), size, "count", count=str(n))
    if spaces:
        sweep = min(spaces / sight.circle, 0.999)
        yield drawn_arc(RIM + 7, float(first), sweep, "thin", span="count")
        yield from _arrow(float(first) + sweep)
        x, y = at(BETWEEN, float(first) + sweep / 2)
        yield drawn_text((x, y + 5), str(spaces), "name")


def _arrow(place: float) -> Iterator[Mark]:
    """The arrowhead of a dimension line that runs clockwise about the axis."""
    tip, back = at(RIM + 7, place), place - 0.012
    yield drawn_line(at(RIM + 9.5, back), tip, "thin")
    yield drawn_line(at(RIM + 4.5, back), tip, "thin")


def _target(sight: PlateSight) -> Iterator[Mark]:
    if sight.target is None:
        return
    radius, place = _reach(sight), float(sight.target)
    yield circle(at(radius, place), 6.0, "target", role="target")
    yield drawn_line(at(radius + 6, place), at(RIM + 7, place), "thin", role="lead")


def _pin(sight: PlateSight) -> Iterator[Mark]:
    where = at(_reach(sight), float(sight.pin))
    size = 3.4 if sight.kind == "dial" else max(2.2, hole_radius(sight, sight.circle))
    yield circle(where, size, "pin", role="pin")
    yield circle(where, size + 2.2, "ring", role="ring")


def _reach(sight: PlateSight) -> float:
    return RIM - 3 if sight.kind == "dial" else radius_of(sight, sight.circle)


def caption(sight: PlateSight) -> str:
    """What the drawing shows, for those who can't see it and for the title under it."""
    if sight.kind == "block":
        return block.caption(sight)
    if sight.kind == "dial":
        at = _minutes(sight, sight.pin)
        if sight.target is None:
            return say("Handwheel: at {place}", place=at)
        return say("Handwheel: at {place}, next {next}", place=at,
                   next=_minutes(sight, sight.target))  # fmt: skip
    plate = say("Plate {name}", name=sight.name).strip()
    if sight.kind == "direct":
        plate = say("Direct plate")
    hole = hole_of(sight, sight.pin)
    if sight.target is None:
        return say("{plate}, circle of {circle}: pin in hole {hole}", plate=plate,
                   circle=sight.circle, hole=hole)  # fmt: skip
    return say(
        "{plate}, circle of {circle}: pin in hole {hole}, next hole {next}",
        plate=plate, circle=sight.circle, hole=hole, next=hole_of(sight, sight.target),
    )  # fmt: skip


def hole_of(sight: PlateSight, place: Fraction) -> int:
    """The hole's number on the circle in use, the first one nought."""
    return round(place * sight.circle) % sight.circle if sight.circle else 0


def _minutes(sight: PlateSight, place: Fraction) -> str:
    degrees, minutes = divmod(place * sight.dial_minutes, 60)
    return f"{degrees}° {float(minutes):g}′"
