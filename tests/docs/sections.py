"""What a literal person cuts of each kind, laid over the drawing: `python -m tests.docs.sections`.

Grey is what is left of the work, the blue line the drawing, red what stands outside of it, yellow
what is missing. On the right the place of the first cut, larger. For lines and holes the grey marks
are those that were made, the blue ones those that are drawn.
"""

from __future__ import annotations

from collections.abc import Iterator
from math import cos, pi, radians, sin
from typing import Any

from shapely.geometry import box
from shapely.ops import unary_union

from tests.commands import ROOT
from tests.kinds import crafts
from tests.machinist import angular, bevel, cams, cutters, gears, helices, inner, scales
from tests.machinist.craft import Made
from tests.machinist.drawings import SAID
from tests.machinist.judging import Drawing, best_hand
from tests.machinist.machine import round_bar, turned
from tests.machinist.person import Choices
from tests.machinist.workshop import JOBS, make

PICTURES = ROOT / "docs" / "pictures"
EXAMPLES = {craft.kind: craft.example for craft in crafts().values() if craft.example}
_WIDE = 320  # of each half of a picture
_STYLE = (
    ".work{fill:#c9c9c9}.drawing{fill:none;stroke:#1d5fbf;stroke-width:.8}"
    ".proud{fill:#d32020}.missing{fill:#e8b400}.made{stroke:#8a8a8a;stroke-width:3}"
    ".drawn{stroke:#1d5fbf;stroke-width:.8}text{font:12px sans-serif;fill:#333}"
)


class Stopped(Exception):
    """The person could not go on, so there is nothing to draw."""


def path_of(kind: str) -> str:
    return f"section-{kind}.svg"


def picture(kind: str) -> str:
    made = make(JOBS / f"{EXAMPLES[kind]}.toml", Choices())
    if made.stopped:
        raise Stopped(made.stopped)
    if kind == "plate-cam":
        cam = cams.section(made.machine, made.person, made.job)
        return _svg([_laid_over(cam, None, _whole(cam)) + _rollers(made, cam)])
    if kind == "inner-ratchet":
        ring, drawn = inner.cut(made), inner.ring(made.job)
        return _svg([_laid_over(ring, drawn, window(ring)) for window in (_whole, _near)])
    if kind == "helical-grooves":
        return _svg([_along_helices(made)])
    if made.person.marks:
        return _svg([_marks(made)])
    if kind == "bevel-gear":
        return _svg(list(_bevel(made)))
    if kind == "angular-clutch":
        return _svg(list(_rolled_out(made)))
    work = made.machine.section
    drawing = _drawing(made)
    return _svg([_laid_over(work, drawing, _whole(work)), _laid_over(work, drawing, _near(work))])


def _drawing(made: Made) -> Drawing | None:
    job = made.job
    if made.craft.drawing:
        return best_hand(made.machine.section, made.craft.drawing(job))
    if job.kind not in ("spur-gear", "helical-gear"):
        return None
    helix = job.degrees("helix_angle")
    size, teeth = gears.module(job), job.whole("teeth")
    pitch = size * teeth / 2 / cos(radians(helix))
    # The gear's own form: a space of just so many teeth, square to the tooth.
    own = gears.stretched(gears.form(job, None), helix).outline
    space = cutters.affinity.translate(own, 0, pitch + size - gears.whole_depth(job) * size)
    spaces = unary_union([turned(space, n / teeth) for n in range(teeth)])
    gear = round_bar(2 * (pitch + size)).difference(spaces)
    return Drawing(gear, gear)


Window = tuple[float, float, float, float]


def _whole(work: Any) -> Window:
    far = max(map(abs, work.bounds)) * 1.04
    return -far, -far, far, far


def _near(work: Any) -> Window:
    far = max(map(abs, work.bounds))
    half = 0.32 * far
    return -half, far * 1.02 - 2 * half, half, far * 1.02


def _laid_over(work: Any, drawing: Drawing | None, window: Window) -> str:
    inside = box(*window)
    parts = [_shape(work.intersection(inside), "work", window)]
    if drawing is not None:
        # What is thinner than the words can say is left out.
        proud = work.difference(drawing.allowed.buffer(SAID))
        missing = drawing.needed.buffer(-SAID).difference(work)
        parts += [_shape(proud.intersection(inside), "proud", window),
                  _shape(missing.intersection(inside), "missing", window),
                  _shape(drawing.needed.intersection(inside), "drawing", window)]  # fmt: skip
    return "".join(parts)


def _shape(shape: Any, look: str, window: Window) -> str:
    return "".join(_outline(each, look, window) for each in getattr(shape, "geoms", [shape])
                   if each.geom_type == "Polygon" and not each.is_empty)  # fmt: skip


def _outline(piece: Any, look: str, window: Window) -> str:
    low, bottom, high, _ = window
    scale = _WIDE / (high - low)
    thin = piece.simplify(0.15 / scale)
    d = ""
    for ring in (thin.exterior, *thin.interiors):
        points = " ".join(f"{(x - low) * scale:.1f},{_WIDE - (y - bottom) * scale:.1f}"
                          for x, y in ring.coords)  # fmt: skip
        d += f"M{points}Z"
    return f'<path class="{look}" fill-rule="evenodd" d="{d}"/>'


def _bevel(made: Made) -> Iterator[str]:
    """The sections of both ends and of the middle, rolled out, at the first space."""
    job = made.job
    distance = gears.module(job) * job.whole("teeth") / 2 / sin(gears.pitch_cone(job))
    small = 1 - job.mm("face") / distance
    for end, scale in (("large end", 1.0), ("middle", (1 + small) / 2), ("small end", small)):
        work = bevel.end_section(made.machine, made.person, job, scale)
        size = gears.module(job) * scale
        pitch = size * job.whole("teeth") / 2 / cos(gears.pitch_cone(job))
        own = cutters.involute(round(2 * pitch / size), size, gears.pressure(job),
                               (gears.whole_depth(job) - 1) * size, 6 * size)  # fmt: skip
        space = cutters.affinity.translate(
            own.outline, 0, pitch - (gears.whole_depth(job) - 1) * size
        )
        blank = round_bar(2 * (pitch + size))
        gear = blank.difference(space)
        top = pitch + size
        window = (-2.2 * size, top - 4.1 * size, 2.2 * size, top + 0.3 * size)
        yield _laid_over(work, Drawing(gear, gear), window) + f'<text x="6" y="16">{end}</text>'


def _rollers(made: Made, cam: Any) -> str:
    """The roller as it should stand along the first lobe."""
    low, bottom, high, _ = _whole(cam)
    scale = _WIDE / (high - low)
    size = made.person.mill / 2
    middles = cams.rollers(made.job, made.person.mill, 0)
    return "".join(
        f'<circle class="drawing" cx="{(each.x - low) * scale:.1f}" '
        f'cy="{_WIDE - (each.y - bottom) * scale:.1f}" r="{size * scale:.1f}"/>'
        for each in middles[::8]
    )


def _rolled_out(made: Made) -> Iterator[str]:
    """The teeth at the rim and at the bore, rolled out, with a half like it laid upon them."""
    job = made.job
    radii = {"rim": job.mm("outside") / 2, "bore": job.mm("bore") / 2}
    rings = [angular.surface(made.machine, made.person, job, each) for each in radii.values()]
    meet, turn = angular.lying_deepest(rings)
    for (name, radius), ring in zip(radii.items(), rings, strict=True):
        scale = _WIDE / (2 * pi * radius / 3)  # a third of the way round
        places = range(0, len(ring) // 3, 6)
        x = [n / len(ring) * 2 * pi * radius * scale for n in places]
        over = meet - angular.turned_over(ring, turn)
        work = [(at, 120 - scale * float(ring[n])) for at, n in zip(x, places, strict=True)]
        mate = [(at, 120 - scale * float(over[n])) for at, n in zip(x, places, strict=True)]
        yield (
            f'<path class="work" d="{_path([*work, (_WIDE, 290), (0, 290)])}Z"/>'
            f'<path class="drawing" d="{_path(mate)}"/><text x="6" y="16">{name}</text>'
        )


def _along_helices(made: Made) -> str:
    """The outside rolled out, the axis upright: grooves as they were cut, and as they are drawn."""
    job, lead = made.job, helices.lead_made(made.person) or 1.0
    hand = 1 if made.person.hand == "right" else -1
    turns = sorted({float(cut.turns) % 1 for cut in made.machine.cuts})
    drawn = [n / job.whole("grooves") for n in range(job.whole("grooves"))]
    way = 1 if job.works[0]["hand"] == "right" else -1
    wanted = helices.lead_wanted(job)
    parts = [_slants(each, hand * job.mm("length") / lead, "made") for each in turns]
    parts += [_slants(each, way * job.mm("length") / wanted, "drawn") for each in drawn]
    return "".join(parts)


def _slants(start: float, turned_on: float, look: str) -> str:
    """From below to above; what runs out at one side comes in at the other."""
    lines = []
    for shift in range(-int(abs(turned_on)) - 2, int(abs(turned_on)) + 3):
        steps = [(start + shift + turned_on * n / 100, n / 100) for n in range(101)]
        inside = [(_WIDE * x, _WIDE * (1 - y)) for x, y in steps if 0 <= x <= 1]
        if len(inside) > 1:
            lines.append(_line([inside[0], inside[-1]], look))
    return "".join(lines)


def _path(points: list[tuple[float, float]]) -> str:
    return "M" + " ".join(f"{x:.1f},{y:.1f}" for x, y in points)


def _marks(made: Made) -> str:
    wanted = scales.wanted(made.job.works[0])
    if made.job.kind == "rule":
        return _rule(made, wanted)
    rim = _WIDE / 2 - 30
    parts = [f'<circle class="drawing" cx="160" cy="160" r="{rim}"/>']
    parts += [_tick(float(each.turns), rim, each.length, "made") for each in made.machine.cuts]
    for place in wanted:
        parts.append(_tick(place.at, rim, place.length, "drawn"))
        if place.stamp:
            a = 2 * pi * place.at
            parts.append(f'<text text-anchor="middle" x="{160 + (rim + 16) * sin(a):.1f}" '
                         f'y="{164 - (rim + 16) * cos(a):.1f}">{place.stamp}</text>')  # fmt: skip
    return "".join(parts)


def _tick(turns: float, rim: float, length: float | None, look: str) -> str:
    a, inner = 2 * pi * turns, rim - 4 * (length or 4)
    ends = [(160 + r * sin(a), 160 - r * cos(a)) for r in (rim, inner)]
    return _line(ends, look)


def _rule(made: Made, wanted: list[scales.Wanted]) -> str:
    travel = float(made.person.to_screw or 0) * float(made.person.screw or 0)
    scale = 600 / wanted[-1].at
    parts = [_line([(20 + float(each.turns) * travel * scale, 30),
                    (20 + float(each.turns) * travel * scale, 30 + 6 * (each.length or 4))], "made")
             for each in made.machine.cuts]  # fmt: skip
    for place in wanted:
        x = 20 + place.at * scale
        parts.append(_line([(x, 30), (x, 30 + 6 * (place.length or 4))], "drawn"))
        if place.stamp:
            parts.append(f'<text text-anchor="middle" x="{x:.1f}" y="122">{place.stamp}</text>')
    return "".join(parts)


def _line(ends: list[tuple[float, float]], look: str) -> str:
    (x1, y1), (x2, y2) = ends
    return f'<line class="{look}" x1="{x1:.1f}" y1="{y1:.1f}" x2="{x2:.1f}" y2="{y2:.1f}"/>'


def _svg(parts: list[str]) -> str:
    flat = len(parts) == 1 and 'y="122"' in parts[0]
    wide = 640 if flat else _WIDE * len(parts) + 20 * (len(parts) - 1)
    high = 140 if flat else _WIDE
    inner = "".join(f'<g transform="translate({n * (_WIDE + 20)})">{part}</g>'
                    for n, part in enumerate(parts))  # fmt: skip
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {wide} {high}" width="{wide}" '
        f'height="{high}"><style>{_STYLE}</style>'
        f'<rect width="100%" height="100%" fill="#fff"/>{inner}</svg>\n'
    )


def main() -> None:
    for kind in EXAMPLES:
        try:
            (PICTURES / path_of(kind)).write_text(picture(kind), "utf-8")
        except Stopped as stopped:
            print(f"{kind}: {stopped}")


if __name__ == "__main__":
    main()
