"""Lines, holes and plain divisions: only where the cuts were made counts."""

from __future__ import annotations

import re
from functools import partial
from typing import Any

from tests.machinist import cutters, scales
from tests.machinist.craft import Craft, Fault, Made
from tests.machinist.drawings import SAID, DrawnJob
from tests.machinist.figures import LENGTH, MM, length, lengths_in_file
from tests.machinist.machine import round_bar
from tests.machinist.person import Person
from tests.machinist.sentences import Instruction


def _disc(job: DrawnJob) -> Any:
    return round_bar(job.mm("diameter") if job.has("diameter") else 50.0)


def _point(_: DrawnJob) -> cutters.Cutter:
    return cutters.point()


def _places(made: Made) -> list[str]:
    """Each ring by itself, in the order of the file."""
    works = made.job.works
    found, first = [], 0
    travel = None
    if made.person.to_screw is not None and made.person.screw is not None:
        travel = float(made.person.to_screw) * made.person.screw
    for work in works:
        count = len(scales.wanted(work)) * work.get("passes", 1) if len(works) > 1 else None
        mine = made.machine.cuts[first : None if count is None else first + count]
        first += len(mine)
        found += scales.faults(mine, made.job, work, travel, _off(made))
        found += scales.dial_faults(work, made.person.tilted, made.person.seen_turning)
        begins = made.person.own.get("bore", 0.0)
        if abs(begins - (lengths_in_file(work["bore"]) if "bore" in work else 0.0)) > SAID:
            found.append(f"lines begin at a bore of {begins} mm, 0 is the rim")
    return found


def _off(made: Made) -> float:
    """What a place may be off, as `job check` says it: in turns, or in mm along a rule."""
    worst = re.search(r"worst place of a (?:line|space) +([\d.]+) (mm|in)", made.printed)
    if worst:
        last_figure = 0.001 if worst[2] == "mm" else 0.0001
        return MM[worst[2]] * (float(worst[1]) + last_figure / 2)
    if re.search(r"worst place of a (?:line|space) +under a micrometre off", made.printed):
        return 0.001
    seconds = re.search(r"error +at most ([\d.]+) arc-seconds", made.printed)
    return (float(seconds[1]) + 0.05) / 1296000 if seconds else 0.0


def _from_the_bore(person: Person, said: Instruction) -> None:
    person.own["bore"] = length(said.words, "size")


_marked = partial(Craft, blank=_disc, faults=_places, cutter=_point, marks=True)
DIVISIONS = _marked(
    "divisions",
    example="count-wheel",
    shows="The notches of the count wheel as they were made",
    figures={"depth": "2 mm"},
    counts=("count", [7, 9, 21, 49]),
)
ANGLES = _marked("angles")
BOLT_CIRCLE = _marked(
    "bolt-circle",
    example="hopper-flange",
    shows="The holes of the flange as they were made",
    figures={"circle": "120 mm", "hole": "4 mm"},
    counts=("holes", [7, 8, 15]),
    one_pass=True,
)
PLATE_CIRCLE = _marked(
    "plate-circle",
    example="mill-plate",
    shows="The holes of the new circle of a plate as they were made",
    figures={"circle": "200 mm", "hole": "4 mm"},
    counts=("holes", [21, 27, 43]),
    one_pass=True,
)
GRADUATIONS = _marked(
    "graduations",
    example="press-collar",
    hears=(
        (
            rf"lines begin at the edge of the bore, {LENGTH.format('size')} across, and run "
            r"outward\. stops count from that edge",
            _from_the_bore,
        ),
    ),
    planted=(
        Fault(
            "a vernier's lines run in from the rim",
            "ring-vernier",
            r"Lines begin at the edge of the bore[^.]*\. Stops count from that edge\.",
            "Look.",
            seen="is the rim",
        ),
    ),
    shows="The lines of the collar as they were made",
    figures={"diameter": "80 mm"},
    counts=("lines", [21, 36, 49]),
    one_pass=True,
)
RULE = _marked("rule", example="cask-rule", shows="The lines of the rule as they were made")
