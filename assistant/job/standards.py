"""Standard sizes, and the nearest of them where a job's figure is close to one but not it.

The tables are data, each with the source that it was read from: `config/standards/`. A size in
no table is nobody's fault: only what looks like a slip is told.
"""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from fractions import Fraction
from functools import cache
from math import sqrt
from typing import Any

from assistant.files.places import config_folder
from assistant.job.kinds.bevel_gear import BevelGear
from assistant.job.kinds.gear_teeth import Tooth
from assistant.job.kinds.helical_gear import HelicalGear
from assistant.job.kinds.keyways import Keyways
from assistant.job.kinds.polygon import Polygon
from assistant.job.kinds.splines import Splines
from assistant.job.kinds.spur_gear import SpurGear
from assistant.job.part import Finding
from assistant.job.units import MM_PER_INCH, shown

_CLOSE = Fraction(3, 100)  # neighbours in every table stand further apart than that
_SPLINE_CLOSE = Fraction(6, 100)  # of several figures together, each
_KEY_CLOSE = Fraction(16, 100)  # half way to the next key and less
_SAME = Fraction(1, 1_000)  # mm: rounded from the other system


@dataclass(frozen=True, slots=True)
class Standard:
    """One table. `sizes` are numbers, or rows of named numbers, in `unit`."""

    name: str
    source: str
    unit: str
    sizes: tuple[Any, ...]


@cache
def table(name: str) -> Standard:
    """The table of that name in `config/standards/`, its numbers exact."""
    path = config_folder() / "standards" / f"{name}.toml"
    data = tomllib.loads(path.read_text("utf-8"), parse_float=Fraction)
    return Standard(
        data["standard"], data["source"], data["unit"], tuple(map(_exact, data["sizes"]))
    )


def _exact(size: Any) -> Any:
    """`size` may be a number, a fraction as text, or a row of these."""
    if isinstance(size, dict):
        return {key: Fraction(value) for key, value in size.items()}
    return Fraction(size)


def questions(work: object, unit: str) -> tuple[Finding, ...]:
    """What to look at again in a work that was read from a job; `unit` is the job's."""
    match work:
        case SpurGear() | HelicalGear() | BevelGear():
            found = _gear(work.tooth)
        case Polygon(sides=2 | 6):
            found = _hexagon(work, unit)
        case Splines():
            found = _splines(work, unit)
        case Keyways():
            found = _keyway(work, unit)
        case _:
            found = None
    return (found,) if found else ()


def nearest(wanted: Fraction, sizes: tuple[Fraction, ...]) -> Fraction | None:
    """The size that `wanted` is close to without being it; None where there is none."""
    best = min(sizes, key=lambda size: abs(size - wanted))
    off = abs(best - wanted)
    return best if 0 < off <= _CLOSE * best else None


def _gear(tooth: Tooth) -> Finding | None:
    key, wanted = "module", tooth.module
    kept = table("modules")
    if tooth.by_dp:
        key, wanted, kept = "diametral_pitch", tooth.diametral_pitch, table("diametral-pitches")
    best = nearest(wanted, kept.sizes)
    if best is None:
        return None
    said = key.replace("_", " ")
    return Finding(
        key, f"{said} {float(wanted):g}: the nearest of {kept.name} is {float(best):g}: look again"
    )


def _hexagon(work: Polygon, unit: str) -> Finding | None:
    kept = table("hexagons")
    across = work.limits.nominal if work.limits else work.across_flats
    best = nearest(across, kept.sizes)
    if best is None or abs(best - across) <= _SAME:
        return None
    return Finding(
        "across_flats",
        f"{shown(across, unit)} across flats: the nearest of {kept.name} is "
        f"{shown(best, 'mm')}: look again",
    )


def _splines(work: Splines, unit: str) -> Finding | None:
    kept = table("splines")
    width = work.limits.nominal if work.limits else work.width
    given = {"root": work.root, "outside": work.outside, "width": width}
    rows = [row for row in kept.sizes if row["splines"] == work.splines]

    def off(row: dict[str, Fraction]) -> Fraction:
        return max(abs(row[key] - given[key]) / row[key] for key in given)

    best = min(rows, key=off, default=None)
    if best is None or not 0 < off(best) <= _SPLINE_CLOSE:
        return None
    key = max(given, key=lambda key: abs(best[key] - given[key]) / best[key])
    figures = " x ".join(f"{float(best[key]):g}" for key in ("splines", "root", "outside"))
    return Finding(
        key,
        f"{shown(given[key], unit)}: the nearest spline of {kept.name} is {figures}, each "
        f"{float(best['width']):g} mm wide, and has {shown(best[key], 'mm')} there: look again",
    )


def _keyway(work: Keyways, unit: str) -> Finding | None:
    """By the shaft: its key is the one that the standard has for it."""
    kept = table("keys-inch" if unit == "in" else "keys")
    scale = MM_PER_INCH if kept.unit == "in" else Fraction(1)
    row = next((r for r in kept.sizes if r["over"] < work.shaft / scale <= r["to"]), None)
    if row is None:
        return None
    width, deep = row["width"] * scale, row["depth"] * scale
    if kept.unit == "in" and work.depth_from == "crown":
        deep += Fraction(_arc(work.shaft, work.width))
    elif kept.unit == "mm" and work.depth_from == "side":
        deep -= Fraction(_arc(work.shaft, work.width))
    depth = work.limits.nominal if work.limits else work.depth
    for key, given, size in (("width", work.width, width), ("depth", depth, deep)):
        if _SAME < abs(given - size) <= _KEY_CLOSE * size:
            return Finding(
                key,
                f"{key} {shown(given, unit)}: {kept.name} has a key of {shown(width, kept.unit)} "
                f"for this shaft, its keyway {shown(deep, kept.unit)} deep: look again",
            )
    return None


def _arc(shaft: Fraction, width: Fraction) -> float:
    """From the keyway's edge to the top of the round, mm."""
    return (float(shaft) - sqrt(max(0.0, float(shaft**2 - width**2)))) / 2
