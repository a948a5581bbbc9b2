"""Lines, holes and notches: where each was made, how long, with which figure.

The drawing is a list of places, in turns of the work (or mm along a rule), reckoned from the job
file. A place that a plate can't reach is off by no more than `job check` says.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from math import cos, pi, radians
from typing import Any

from tests.machinist.drawings import SAID, DrawnJob
from tests.machinist.figures import degrees_in_file, in_figures, lengths_in_file
from tests.machinist.machine import Mark


@dataclass(frozen=True)
class Wanted:
    """`length` in mm of a line, None where it has none; `stamp` is "" where nothing is stamped."""

    at: float
    length: float | None = None
    stamp: str = ""


def wanted(work: dict[str, Any]) -> list[Wanted]:
    return {"divisions": _divisions, "angles": _angles, "bolt-circle": _holes,
            "plate-circle": _holes, "graduations": _graduations,
            "rule": _rule, "rack": _rack}[work["kind"]](work)  # fmt: skip


def _divisions(work: dict[str, Any]) -> list[Wanted]:
    return [Wanted(n / work["count"]) for n in range(work["count"])]


def _holes(work: dict[str, Any]) -> list[Wanted]:
    return [Wanted(n / work["holes"]) for n in range(work["holes"])]


def _angles(work: dict[str, Any]) -> list[Wanted]:
    if "angles" in work:
        return [Wanted(degrees_in_file(each) / 360) for each in work["angles"]]
    step = degrees_in_file(work["angle"]) / 360
    return [Wanted(n * step) for n in range(work["count"])]


def _graduations(work: dict[str, Any]) -> list[Wanted]:
    """Round the whole work, over a part of it with a line at both ends, or as a vernier: so many
    spaces over one fewer of the scale's (the definition of a direct vernier)."""
    spaces, turn, lines = work["lines"], 1.0, work["lines"]
    if "over" in work:
        turn, lines = degrees_in_file(work["over"]) / 360, work["lines"] + 1
    if "vernier" in work:
        own = work["vernier"]
        turn *= work.get("vernier_over", own - 1) / spaces
        spaces, lines = own, own + 1
    return [Wanted(turn * n / spaces, _length(work, n), _stamp(work, n)) for n in range(lines)]


def _rule(work: dict[str, Any]) -> list[Wanted]:
    space = lengths_in_file(work["spacing"])
    return [Wanted(n * space, _length(work, n), _stamp(work, n)) for n in range(work["lines"])]


def _rack(work: dict[str, Any]) -> list[Wanted]:
    """A space on either side of each tooth, pi modules apart (definition of the module)."""
    module = work["module"] if "module" in work else 25.4 / work["diametral_pitch"]
    return [Wanted(n * pi * module) for n in range(work["teeth"] + 1)]


def _length(work: dict[str, Any], n: int) -> float | None:
    """Of the rarest pattern that the line belongs to."""
    # Drawn from the side a line of a cone is shorter than it is.
    along = work.get("lengths_along") == "axis"
    true = 1 / cos(radians(degrees_in_file(work["cone_angle"]))) if along else 1.0
    for each in sorted(work.get("pattern", []), key=lambda each: -each["every"]):
        if n % each["every"] == 0:
            return lengths_in_file(each["length"]) * true
    return lengths_in_file(work["line_length"]) * true if "line_length" in work else None


def _stamp(work: dict[str, Any], n: int) -> str:
    every = work.get("number_every")
    if not every or n % every:
        return ""
    return str(work.get("number_from", 0) + n // every * work.get("number_step", every))


def faults(
    cuts: list[Mark], job: DrawnJob, work: dict[str, Any], travel: float | None, off: float
) -> list[str]:
    """`travel` is mm for one turn of the spindle, along a rule; `off`: what a place may be off, in
    the places' own unit."""
    places = wanted(work)
    found = []
    if len(cuts) != len(places) * work.get("passes", 1):
        found.append(f"{len(cuts)} cuts for {len(places)} places")
    done: set[int] = set()
    for each in cuts:
        at = float(each.turns % 1) if travel is None else float(each.turns) * travel
        n = min(range(len(places)), key=lambda n: _apart(at, places[n].at, travel is None))
        if _apart(at, places[n].at, travel is None) > off + 1e-7:
            found.append(f"{each.words!r}: made at {at:.6f}, nothing is wanted there")
            continue
        done.add(n)
        found += _unlike(each, places[n]) + _not_as_deep(each, work)
    found += [f"nothing is made at {places[n].at:.6f}" for n in range(len(places)) if n not in done]
    if work["kind"] in ("bolt-circle", "plate-circle"):
        radius = lengths_in_file(work["circle"]) / 2
        found += [f"hole {each.across} mm from the axis for {radius}" for each in cuts
                  if abs(abs(each.across) - radius) > 0.006]  # fmt: skip
    return found


def dial_faults(work: dict[str, Any], tilted: float | None, turning: str) -> list[str]:
    """A cone's side lies level when the axis is raised by its angle; of lines that are drawn one
    after the other the later lie on the work against its turning (geometry)."""
    found = []
    if work.get("on") == "cone" and (tilted or 0.0) != degrees_in_file(work["cone_angle"]):
        found.append(f"the head is tilted to {tilted}, the cone's side has {work['cone_angle']}")
    against = {"clockwise": "anticlockwise", "anticlockwise": "clockwise"}
    if "rises" in work and against.get(turning) != work["rises"]:
        found.append(f"the work turned {turning or 'anyhow'}: figures don't rise {work['rises']}")
    return found


def _apart(one: float, other: float, round_about: bool) -> float:
    gap = abs(one - other)
    return min(gap, 1 - gap) if round_about else gap


def _not_as_deep(made: Mark, work: dict[str, Any]) -> list[str]:
    if "depth" not in work:
        return []
    wanted = lengths_in_file(work["depth"])
    if made.depth is not None and abs(made.depth - wanted) <= SAID:
        return []
    return [f"{made.words!r}: {made.depth} mm deep for {wanted:g}"]


def _unlike(made: Mark, place: Wanted) -> list[str]:
    found = []
    if place.length is not None and abs((made.length or 0.0) - place.length) > SAID / 2:
        found.append(f"{made.words!r}: {made.length} mm long, and {place.length} is drawn")
    stamp = re.search(r"stamp (\d+)", in_figures(made.words))
    if (stamp[1] if stamp else "") != place.stamp:
        found.append(f"{made.words!r}: {place.stamp!r} is to be stamped")
    return found
