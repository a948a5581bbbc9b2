"""Flutes of taps and reamers: the cutting faces, the depth and the spacing of what was cut.

The hook of a face is the angle between it and the radius through its edge (definition of the
rake of a radial tooth); the form behind the face is the cutter's own and not judged.
"""

from __future__ import annotations

from math import atan2, degrees, hypot
from typing import Any

from shapely.geometry import LineString, Point

from tests.machinist.drawings import SAID, DrawnJob
from tests.machinist.machine import round_bar

EQUAL = 0.15  # degrees that two lands may differ: a depth is said to a hundredth
PAIRED = 0.05  # degrees that two opposite edges may be off: a micrometer's anvil covers that
HOOK = 0.75  # degrees that a face may lean off: an offset said to a hundredth on a small tap


def faults(section: Any, job: DrawnJob) -> list[str]:
    """Lands may differ where the job says so."""
    radius, depth = job.mm("diameter") / 2, job.mm("depth")
    lands = _lands(section, radius)
    found = []
    if len(lands) != job.whole("flutes"):
        return [f"{len(lands)} lands for {job.whole('flutes')} flutes"]
    rake = job.degrees("rake")
    both = [(end, _hooks(section, lands, radius, depth, end)) for end in (0, 1)]
    end, hooks = min(both, key=lambda each: max(abs(hook - rake) for hook in each[1]))
    off = max(hooks, key=lambda hook: abs(hook - rake))
    if abs(off - rake) > HOOK:
        found.append(f"a hook of {off:.2f} degrees for {rake:g}")
    wide = [(last - first) % 360 for first, last in lands]
    if job.works[0].get("lands") != "unequal" and max(wide) - min(wide) > EQUAL:
        found.append(f"lands of {min(wide):.2f} to {max(wide):.2f} degrees")
    deepest = radius - Point(0, 0).distance(section.boundary)
    if abs(deepest - depth) > 2 * SAID:
        found.append(f"{deepest:.3f} mm deep for {depth:g}")
    return found + _pairs([land[end] for land in lands], job)


def _pairs(edges: list[float], job: DrawnJob) -> list[str]:
    """Whether every edge has one straight opposite, so that a micrometer meets both, or none has
    (the two ways to space a reamer; common practice)."""
    off = [min(abs((other - edge) % 360 - 180) for other in edges) for edge in edges]
    wanted = job.works[0].get("spacing", "auto" if job.works[0]["tool"] == "reamer" else "equal")
    if wanted == "paired" and max(off) > PAIRED:
        return [f"an edge of a pair stands {max(off):.2f} degrees off"]
    if wanted in ("unequal", "auto") and min(off) < PAIRED:
        return [f"two edges stand opposite, within {min(off):.2f} degrees"]
    return []


def _lands(section: Any, radius: float) -> list[tuple[float, float]]:
    """Where each land begins and ends, in degrees from the top to the left."""
    rim = section.intersection(round_bar(2 * radius - 0.02).exterior)
    if rim.is_empty:
        return []
    pieces = [_ends(piece) for piece in _joined(rim)]
    return sorted(pieces)


def _joined(rim: Any) -> list[Any]:
    from shapely.ops import linemerge

    merged = linemerge(rim) if hasattr(rim, "geoms") else rim
    return list(getattr(merged, "geoms", [merged]))


def _ends(line: LineString) -> tuple[float, float]:
    angles = [degrees(atan2(-x, y)) % 360 for x, y in (line.coords[0], line.coords[-1])]
    middle = line.interpolate(0.5, normalized=True)
    at = degrees(atan2(-middle.x, middle.y)) % 360
    first, last = sorted(angles, key=lambda angle: (angle - at + 180) % 360)
    return first, last


def _hooks(
    section: Any, lands: list[tuple[float, float]], radius: float, depth: float, end: int
) -> list[float]:
    """The hook of each face, when the faces are at this end of the lands."""
    found = []
    for land in lands:
        outer = _on_face(section, radius - 0.05 * depth, land[end], end)
        inner = _on_face(section, radius - 0.4 * depth, land[end], end)
        along = degrees(atan2(outer[0] - inner[0], outer[1] - inner[1]))
        out = degrees(atan2(outer[0], outer[1]))
        lean = (along - out + 180) % 360 - 180
        found.append(lean if end == 0 else -lean)
    return found


def _on_face(section: Any, radius: float, near: float, end: int) -> tuple[float, float]:
    """The end of the tooth's arc at this radius that lies nearest to an edge of its land."""
    arcs = [(_ends(each)[end], each) for each in
            _joined(section.intersection(round_bar(2 * radius).exterior))]  # fmt: skip
    _, arc = min(arcs, key=lambda each: abs((each[0] - near + 180) % 360 - 180))
    ends = [arc.coords[0], arc.coords[-1]]
    x, y = min(ends, key=lambda p: abs((degrees(atan2(-p[0], p[1])) - near + 180) % 360 - 180))
    assert abs(hypot(x, y) - radius) < 0.01
    return x, y
