"""Gears: counted, gauged, and a rack's tooth or the mate's rolled through a space."""

from __future__ import annotations

import re
from functools import partial
from math import cos, pi, radians, tan
from typing import Any

from tests.machinist import bevel, cutters, gears
from tests.machinist.craft import Craft, Made
from tests.machinist.drawings import DrawnJob
from tests.machinist.machine import Machine, round_bar
from tests.machinist.person import Person


def _blank(job: DrawnJob) -> Any:
    """Pitch diameter and two addenda; of a bevel gear at its large end."""
    if job.has("blank"):
        return round_bar(job.mm("blank"))
    size = gears.module(job)
    helix = radians(job.degrees("helix_angle"))
    lean = cos(gears.pitch_cone(job)) if job.kind == "bevel-gear" else 1.0
    tip = gears.addendum(job) + gears.shift(job)
    return round_bar(size * job.whole("teeth") / cos(helix) + 2 * size * tip * lean)


def _form(job: DrawnJob) -> cutters.Cutter:
    return gears.form(job, None)


def _begin(job: DrawnJob, machine: Machine, person: Person) -> None:
    person.forms = partial(gears.form, job)
    machine.divisions = job.whole("teeth")
    machine.tracks = job.kind == "bevel-gear"


def _named(made: Made) -> list[str]:
    """The cutter is named, and serves."""
    job, person = made.job, made.person
    found = []
    if person.form is None and not job.has("special_cutter"):
        found.append("no cutter is named")
    if person.form is not None and not gears.serves(job, person.form):
        found.append(f"cutter {person.form} for {gears.teeth_at_the_cutter(job):.2f} teeth")
    return found


def _toothed(made: Made) -> list[str]:
    told = gears.Told.of(made.printed)
    found = gears.faults(made.machine.section, made.job, told)
    return _named(made) + found + made.out_of_limits()


def _bevel(made: Made) -> list[str]:
    return _named(made) + bevel.faults(made.machine, made.person, made.job)


def _helical(made: Made) -> list[str]:
    return _helix(made) + _toothed(made)


def _helix(made: Made) -> list[str]:
    """Lead, hand and swing: pi d / tan(helix) (definition of the lead of a screw)."""
    job, person = made.job, made.person
    helix = job.degrees("helix_angle")
    diameter = gears.module(job) * job.whole("teeth") / cos(radians(helix))
    wanted = pi * diameter / tan(radians(helix))
    found = []
    if person.screw is None or person.from_screw is None:
        return ["no gears from the head to the table screw"]
    lead = float(person.ratio / person.from_screw) * person.screw
    off = abs(job.mm("face") / lead - job.mm("face") / wanted) * pi * diameter
    told = re.search(r"flank off over a face of \S+ mm +([\d.]+) mm", made.printed)
    if off > max(0.01, float(told[1]) + 0.0006 if told else 0.0):
        found.append(f"a lead of {lead:.3f} mm for {wanted:.3f}: {off:.3f} mm off over the face")
    if person.hand != job.works[0]["hand"]:
        found.append(f"a {person.hand}-hand helix for a {job.works[0]['hand']}-hand one")
    # Looking down on a right-hand thread its near side rises to the right: the table's right end
    # goes away (common practice).
    swing = helix if job.works[0]["hand"] == "right" else -helix
    if abs(person.swung - swing) > 1 / 60:
        found.append(f"the table swung {person.swung:g} degrees for {swing:g}")
    return found


_gear = partial(Craft, blank=_blank, cutter=_form, begin=_begin)
SPUR = _gear(
    "spur-gear",
    faults=_toothed,
    example="elevator-pinion",
    told="Spur gear: counted, gauged at the pitch line and at the root, and a rack's tooth is "
    "rolled through a space. The cutter has the form of the fewest teeth of its range.",
    shows="The section of the pinion as it was cut, over its drawing",
    figures={"module": 2},
    counts=("teeth", [14, 17, 21, 35]),
)
HELICAL = _gear(
    "helical-gear",
    faults=_helical,
    turns=True,
    example="pump-helical",
    told="Helical gear: lead, hand, swing of the table and cutter by their formulae. The section "
    "is what the disc takes of it on its whole way, while the work turns under it: so the slot is "
    "as wide as it truly comes out, and is judged as a spur gear's is. It is the same all along "
    "the face, only turned; by how much, the lead decides.",
    shows="The section of the helical gear as it was cut, over its drawing",
    figures={"module": 2, "helix_angle": "18d", "hand": "left", "face": "20 mm"},
    counts=("teeth", [17, 20, 24]),
)
BEVEL = _gear(
    "bevel-gear",
    faults=_bevel,
    example="crusher-bevel",
    told="Bevel gear: five sections from the large end to the small one, rolled out of the back "
    "cone; both ends and the middle are drawn. One outline can't have the form of all; judged are "
    "the root, as tilt and dial have it, the space at the pitch line and its middle, which offset "
    "and roll decide, and that no more than 0.15 modules of a space's width is missing of the "
    "flanks. Red and yellow at the small end are what the file takes off and what the cutter took "
    "too much.",
    shows="Both ends of a space of the bevel gear as it was cut, over its drawing",
    figures={"mate": 40, "module": 2, "face": "12 mm", "cutter_thickness_large": "2.7 mm"},
    counts=("teeth", [20, 24, 27]),
)
