"""How deep each flute is so that all lands come out alike, whatever cuts it: plane geometry.

The section square to the work's axis, the flute at the top: x runs from the cutting face to the
back of the flute, y up from the axis. Lengths in mm, angles in radians, places in turns.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import asin, atan2, cos, hypot, pi, sin, sqrt, tan, tau

_LEAST = 0.6  # of the whole depth: a flute less deep holds no chips (common practice)
_HOOK_OFF = 0.5 * pi / 180  # that a face may lean off what is drawn (common practice)
_SWEEPS = 300
_SETTLED = 1e-9  # mm


@dataclass(frozen=True, slots=True)
class Flank:
    """What cuts a flute. `face` and `back` lean from upright, away from each other; `back` is None
    for a flat floor, `wide` (0: not known). `hook`: how far past the axis the line of the face
    lies. `radius` is the tool's, `depth` that of its deepest flute, towards the axis. `nose`: the
    radius that joins the flanks; the corner is where they would meet without it. Lengths in mm,
    leans in radians.
    """

    radius: float
    depth: float
    hook: float = 0.0
    face: float = 0.0
    back: float | None = None
    wide: float = 0.0
    nose: float = 0.0

    @property
    def tangent(self) -> float:
        """From the corner along either flank to where the nose begins, mm."""
        return self.nose / tan((self.face + (self.back or 0.0)) / 2) if self.nose else 0.0

    @property
    def nose_middle(self) -> tuple[float, float]:
        """Of the nose's circle, from the corner: across and up, mm. It lies on the bisector of
        the flanks, and its own radius below it is the lowest point of the cutter."""
        if not self.nose or self.back is None:
            return 0.0, 0.0
        far = self.nose / sin((self.face + self.back) / 2)
        lean = (self.back - self.face) / 2
        return far * sin(lean), far * cos(lean)


@dataclass(frozen=True, slots=True)
class CutterSetting:
    """Where the cutter's lowest corner stands: `across`, the same for every flute, and at which
    height for each. `land`: what is left of the rim after each flute, in turns."""

    across: float
    heights: tuple[float, ...]
    lands: tuple[float, ...]

    def hooks(self, cut: Flank) -> tuple[float, float]:
        """The least and the greatest lean of the faces from the radius, in radians."""
        found = [_hook(cut, self.across, high) for high in self.heights]
        return min(found), max(found)


def reaches(cut: Flank) -> bool:
    """The line of the face comes as near to the axis as the flute is deep."""
    return cut.radius - cut.depth + cut.nose > abs(cut.hook - cut.nose)


def has_straight_flanks(cut: Flank, setting: CutterSetting) -> bool:
    """In every flute at least half of the face is straight, and the back where it comes out."""
    return all(_is_straight(cut, setting.across, high) for high in setting.heights)


def _is_straight(cut: Flank, across: float, high: float) -> bool:
    face = _reach(across, high, -cut.face, cut.radius)
    back = _reach(across, high, cut.back or 0.0, cut.radius)
    return cut.tangent <= face / 2 and cut.tangent < back


def corner_at_touch(cut: Flank, beside: float) -> float:
    """The height of the corner when the cutter touches the crown, the middle of its nose `beside`
    mm from the axis: the nose touches where the line from its middle to the axis meets the bar."""
    return sqrt((cut.radius + cut.nose) ** 2 - beside**2) - cut.nose_middle[1]


def alike(cut: Flank, spaces: tuple[float, ...]) -> CutterSetting:
    """Every flute as deep as the drawing says: the face on its line. `spaces` in turns."""
    near = cut.radius - cut.depth + cut.nose  # of the nose's middle to the axis
    along = sqrt(near**2 - (cut.hook - cut.nose) ** 2) - cut.tangent
    across = -cut.hook * cos(cut.face) - along * sin(cut.face)
    high = -cut.hook * sin(cut.face) + along * cos(cut.face)
    if _back_is_nearer(cut, across, high):
        assert cut.back is not None
        high = cut.radius - cut.depth - cut.hook * cos(cut.back) / cos(cut.face)
        high /= sin(cut.back) + tan(cut.face) * cos(cut.back)
        across = _across(cut, high)
    if cut.back is None:  # it is the floor's depth that is given
        across, high = -cut.hook, cut.radius - cut.depth
    return _setting(cut, across, [high] * len(spaces), spaces)


def evened(cut: Flank, spaces: tuple[float, ...]) -> CutterSetting | None:
    """The flute whose land would be the widest as deep as drawn, the others less, so that all
    lands are alike. None where this cutter can't. `spaces` in turns.

    A flank that leans cuts its edge elsewhere when it is less deep, and leaves the line of the
    face: the cutter stands across for the middle of the depths, so that the first and the last
    are off by as little.
    """
    heights, across = [alike(cut, spaces).heights[0]] * len(spaces), 0.0
    for _ in range(_SWEEPS):
        across = _across(cut, (min(heights) + max(heights)) / 2)
        found = _sweep(cut, across, heights, spaces)
        if found is None:
            return None
        moved = max(abs(a - b) for a, b in zip(found, heights, strict=True))
        heights = found
        if moved < _SETTLED:
            return _fit(cut, _setting(cut, across, heights, spaces))
    return None


def _fit(cut: Flank, found: CutterSetting) -> CutterSetting | None:
    """None where a flute would be too shallow, a face lean too far off, or no land be left."""
    least, most = found.hooks(cut)
    wanted = asin(cut.hook / cut.radius)
    full = cut.radius - min(found.heights)
    shallow = cut.radius - max(found.heights) < _LEAST * full
    leans = max(abs(least - wanted), abs(most - wanted)) > _HOOK_OFF
    uneven = max(found.lands) - min(found.lands) > 1e-6
    return None if shallow or leans or uneven or min(found.lands) <= 0 else found


def _sweep(
    cut: Flank, across: float, heights: list[float], spaces: tuple[float, ...]
) -> list[float] | None:
    """The heights at which the lands would be alike, were the edges where they are now."""
    edges = [_edge(cut, across, high) for high in heights]
    room = [space + edges[(n + 1) % len(edges)] for n, space in enumerate(spaces)]
    low = _floor(cut, across)
    widest = _back(cut, across, low)
    if widest is None:
        return None
    found = [_height(cut, across, widest + each - max(room)) for each in room]
    return None if None in found else [each for each in found if each is not None]


def _across(cut: Flank, high: float) -> float:
    """Where the cutter stands so that its face lies on its line at this height."""
    return (-cut.hook - high * sin(cut.face)) / cos(cut.face)


def _floor(cut: Flank, across: float) -> float:
    """The height of the corner of the deepest flute."""
    if cut.back is None:
        return cut.radius - cut.depth
    aside, up = cut.nose_middle
    high = sqrt(max(0.0, (cut.radius - cut.depth + cut.nose) ** 2 - (across + aside) ** 2)) - up
    if _back_is_nearer(cut, across, high):
        return (cut.radius - cut.depth + across * cos(cut.back)) / sin(cut.back)
    return high


def _back_is_nearer(cut: Flank, across: float, high: float) -> bool:
    """The back of the flute passes the axis nearer than the corner stands: it is the deepest."""
    if cut.back is None:
        return False
    return across * sin(cut.back) + high * cos(cut.back) + cut.tangent < 0


def _hook(cut: Flank, across: float, high: float) -> float:
    return asin(-(across * cos(cut.face) + high * sin(cut.face)) / cut.radius)


def _edge(cut: Flank, across: float, high: float) -> float:
    """Where the face comes out at the rim, in turns from the top."""
    return _out(across, high, -cut.face, cut.radius)


def _back(cut: Flank, across: float, high: float) -> float | None:
    """Where the back comes out, in turns; None where its place does not hang on the depth, or
    where that is not known."""
    if cut.back is not None:
        return _out(across, high, cut.back, cut.radius)
    runs_out = sqrt(cut.radius**2 - high**2)
    return None if not cut.wide or across + cut.wide < runs_out else atan2(runs_out, high) / tau


def _height(cut: Flank, across: float, back: float) -> float | None:
    """The height of the corner whose back comes out there. With a flank that leans by b, the rim's
    point (R sin t, R cos t) and the corner (x, y): y = R cos t - (R sin t - x) / tan b."""
    turn = back * tau
    if cut.back is None:
        return cut.radius * cos(turn)
    if not 0 < turn < pi:
        return None
    rise = (cut.radius * sin(turn) - across) * cos(cut.back) / sin(cut.back)
    high = cut.radius * cos(turn) - rise
    return high if hypot(across, high) < cut.radius else None


def _out(x: float, y: float, lean: float, radius: float) -> float:
    """Where a flank from this corner, leaning so far from upright, comes out at the rim."""
    reach = _reach(x, y, lean, radius)
    return atan2(x + reach * sin(lean), y + reach * cos(lean)) / tau


def _reach(x: float, y: float, lean: float, radius: float) -> float:
    """Along such a flank from the corner to the rim, mm."""
    along = x * sin(lean) + y * cos(lean)
    return -along + sqrt(along**2 - (x**2 + y**2 - radius**2))


def _setting(
    cut: Flank, across: float, heights: list[float], spaces: tuple[float, ...]
) -> CutterSetting:
    edges = [_edge(cut, across, high) for high in heights]
    backs = [_mouth_end(cut, across, high) for high in heights]
    lands = tuple(space + edges[(n + 1) % len(edges)] - backs[n] for n, space in enumerate(spaces))
    return CutterSetting(across, tuple(heights), lands)


def _mouth_end(cut: Flank, across: float, high: float) -> float:
    """As `_back`, also where an upright wall of the cutter is what comes out."""
    found = _back(cut, across, high)
    far = across + cut.wide
    return asin(far / cut.radius) / tau if found is None else found


def width_for(cut: Flank) -> float:
    """The narrowest cutter with a flat floor, mm, whose floor runs out at the rim in every flute:
    only then a depth decides how wide a flute is."""
    return cut.hook + sqrt(cut.radius**2 - (cut.radius - cut.depth) ** 2)
