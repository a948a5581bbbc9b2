"""A blank with a notch for every cut: the part where the job tells no shape of it.

The first cut stands at the top; positions run clockwise, each at its exact angle. Where there
are more cuts than a screen has lines, they share notches.
"""

from __future__ import annotations

from collections.abc import Iterator

from assistant.drawing.ink import Mark, at, circle, drawn_line, drawn_text, path
from assistant.engine.view import PartSight

BLANK = 66.0
DEEP = 14.0  # a cut as drawn; its true depth is in the job
HUB, BORE = 30.0, 13.0
MOST_MARKS = 360  # more cuts than that share marks: a screen has no finer lines


def base(sight: PartSight) -> list[Mark]:
    """Blank, bore and a mark for every cut; `last` tells which cut completes the mark."""
    return [*_blank(), *cut_marks(sight)]


def _blank() -> Iterator[Mark]:
    yield circle((0, 0), BLANK, "blank")
    yield circle((0, 0), HUB, "thin")
    yield from hatching(BORE, HUB, 7.0)
    yield circle((0, 0), BORE, "thick")
    yield drawn_line((-BLANK - 8, 0), (BLANK + 8, 0), "axis")
    yield drawn_line((0, -BLANK - 8), (0, BLANK + 8), "axis")


def hatching(inside: float, outside: float, step: float) -> Iterator[Mark]:
    """Thin lines at 45 degrees over a ring, as a sectioned face is drawn."""
    lines = int(outside / step)
    for n in range(-lines, lines + 1):
        off = n * step
        far = (outside**2 - off**2) ** 0.5
        near = (inside**2 - off**2) ** 0.5 if abs(off) < inside else 0.0
        for start, end in ((near, far), (-far, -near)) if near else ((-far, far),):
            yield drawn_line(_slanted(start, off), _slanted(end, off), "thin")


def _slanted(along: float, off: float) -> tuple[float, float]:
    half = 0.5**0.5
    return (along - off) * half, -(along + off) * half


def cut_marks(sight: PartSight) -> Iterator[Mark]:
    """One notch a cut; where there are too many, one a share of the circle."""
    count = min(len(sight.angles), MOST_MARKS)
    if count == len(sight.angles):
        shares = [(angle, n) for n, angle in enumerate(sight.angles)]
    else:
        shares = _shared(sight.angles, count)
    half = min(0.17 / count, 0.014)
    for angle, last in shares:
        corners = [
            at(radius, angle + side)
            for radius, side in ((BLANK, -half), (BLANK, half), (BLANK - DEEP, half * 0.8),
                                 (BLANK - DEEP, -half * 0.8))
        ]  # fmt: skip
        yield path(corners, "cut", last=str(last), angle=f"{angle:.9f}")


def _shared(angles: tuple[float, ...], count: int) -> list[tuple[float, int]]:
    """The circle in equal shares, each with the last of its cuts: made when that one is."""
    latest: dict[int, int] = {}
    for n, angle in enumerate(angles):
        latest[int(angle * count) % count] = n
    return [((share + 0.5) / count, last) for share, last in latest.items()]


def overlay(sight: PartSight) -> list[Mark]:
    """The next cut with its number, and the cutter's place over the work."""
    return [*_due(sight), *_cutter(sight)]


def _due(sight: PartSight) -> Iterator[Mark]:
    if sight.due is None:
        return
    angle = sight.angles[sight.due]
    yield drawn_line(at(BLANK - DEEP - 4, angle), at(BLANK + 12, angle), "lead", due=str(sight.due))
    x, y = at(BLANK + 21, angle)
    yield drawn_text((x, y + 5), str(sight.due + 1), "strong")


def _cutter(sight: PartSight) -> Iterator[Mark]:
    """An arrowhead that points at the work where the spindle was last confirmed."""
    wide = 0.018
    corners = [at(BLANK + 2, sight.standing)]
    corners += [at(BLANK + 13, sight.standing + side) for side in (-wide, wide)]
    yield path(corners, "cutter", role="cutter", angle=f"{sight.standing:.9f}")
