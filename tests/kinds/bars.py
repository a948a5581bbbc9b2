"""Flats, splines, keyways, ratchet teeth and claws: what is left of a bar, over its drawing."""

from __future__ import annotations

from dataclasses import replace

from shapely import affinity

from tests.machinist import cutters, drawings
from tests.machinist.craft import Craft, Fault, Made, bar, cutter_of, over
from tests.machinist.drawings import SAID, Drawing, DrawnJob, islands
from tests.machinist.judging import best_hand, faults
from tests.machinist.machine import Machine
from tests.machinist.person import Person
from tests.machinist.sentences import Instruction

_NOTHING = 1e-4  # mm2: less is the facets of two circles


def _wide(job: DrawnJob) -> cutters.Cutter:
    """Wider than a flat is long."""
    if job.has("width", "cutter"):
        return cutter_of(job)
    diameter = job.mm("diameter", "cutter") if job.has("diameter", "cutter") else 0.0
    return cutters.square(1.1 * job.mm("bar"), diameter)


def _single_angle(job: DrawnJob) -> cutters.Cutter:
    return cutters.single_angle(job.degrees("cutter_angle"))


def _splined(made: Made) -> list[str]:
    drawing: Drawing = drawings.splines(made.job)
    if "a hub goes on from a bore of" in made.printed:
        drawing = replace(drawing, proud=0.11)  # more is refused
    return over(lambda _: drawing)(made)


def _clutch(made: Made) -> list[str]:
    found = faults(made.machine.section, drawings.clutch(made.job), made.machine.face)
    return found + _islands(made) + _deep(made) + made.out_of_limits()


def _islands(made: Made) -> list[str]:
    """Told where they stand, and nowhere else."""
    told = "an island is left standing in each space" in made.printed
    stand = islands(made.job).area > _NOTHING
    if told == stand:
        return []
    return [f"islands {'stand' if stand else 'are told'}, {'untold' if stand else 'none'}"]


def _deep(made: Made) -> list[str]:
    """The section at the floor shows what was not reached, and not what was gone too deep."""
    wanted, deep = made.job.mm("depth"), made.machine.deepest
    return [f"{deep} mm deep for {wanted:g}"] if abs(deep - wanted) > SAID else []


def _near_the_floor(job: DrawnJob, machine: Machine, _: Person) -> None:
    machine.level = job.mm("depth") - SAID


def _keyed(made: Made) -> list[str]:
    """Listed angles count clockwise as seen on the free end; so the work turns against them."""
    found = over(drawings.keyways)(made)
    person, machine = made.person, made.machine
    if "angles" not in made.job.works[0] or person.faces:
        return found
    if not person.seen_turning:
        return [*found, "the way round is left to chance"]
    section = machine.section
    if (person.seen_turning == "clockwise") != (machine.sense == 1):
        section = affinity.scale(section, -1, 1, origin=(0, 0))
    drawn = drawings.keyways(made.job)
    mirrored = drawn.mirrored().needed.symmetric_difference(drawn.needed).area > 1
    if mirrored and best_hand(section, drawn) is not drawn:
        found.append("the keyways lie the other way round")
    return found


def _keyways_turn(person: Person, said: Instruction) -> None:
    person.choose_the_way(said)


_OVER = "as it was cut, over its drawing"
POLYGON = Craft(
    "polygon",
    bar("bar"),
    over(drawings.polygon),
    _wide,
    drawing=drawings.polygon,
    example="hexagon-plug",
    told="Polygon: flats at half the size across flats from the axis.",
    shows=f"The section of the hexagon {_OVER}",
    figures={"across_flats": "27 mm", "bar": "32 mm", "order": "round"},
    counts=("sides", [5, 6, 8, 9]),
)
SPLINES = Craft(
    "splines", bar("outside"), _splined, drawing=drawings.splines, example="gate-splines",
    told="Splines: the mate is a bore of the root diameter with a slot for every spline. The root "
    "is made of small flats, so it may stand proud by what `job check` says.",
    shows=f"The section of the splined shaft {_OVER}",
)  # fmt: skip
KEYWAYS = Craft(
    "keyways",
    bar("shaft"),
    _keyed,
    hears=(
        (
            r"seen on its free end the work must turn (?P<way>clockwise|anticlockwise) from keyway "
            r"to keyway",
            _keyways_turn,
        ),
    ),
    planted=(
        Fault(
            "keyways at angles, the wrong way round",
            "crank-keyways",
            "the work must turn anticlockwise",
            "the work must turn clockwise",
            seen="other way",
        ),
    ),
    drawing=drawings.keyways,
    example="mill-keyways",
    told="Keyways: as wide as the key, as deep below the crown or the edge as the job says.",
    shows=f"The section of the shaft with two keyways {_OVER}",
    figures={"width": "4 mm", "shaft": "50 mm", "depth": "3 mm"},
    counts=("keyways", [3, 4, 5, 7]),
)
RATCHET = Craft(
    "ratchet",
    bar("diameter"),
    over(drawings.ratchet),
    _single_angle,
    drawing=drawings.ratchet,
    example="press-ratchet",
    told="Ratchet: face, rake, and the cutter's angle between face and back.",
    shows=f"The section of the ratchet {_OVER}",
    figures={"diameter": "80 mm", "depth": "2.5 mm", "cutter_angle": "60d", "rake": "5d"},
    counts=("teeth", [15, 20, 24]),
)
CLUTCH = Craft(
    "clutch",
    bar("outside"),
    _clutch,
    begin=_near_the_floor,
    drawing=drawings.clutch,
    example="even-clutch",
    told="Clutch, seen on the end: flanks in planes through the axis. With an even number the "
    "section at the floor tells what is left standing, the one at the face what the disc reaches "
    "beyond its middle. An island that the cutter is too narrow for must be told, and must be just "
    "what it can't reach.",
    shows=f"The end of the clutch {_OVER}",
    figures={
        "outside": "90 mm",
        "bore": "60 mm",
        "depth": "5 mm",
        "cutter_width": "7 mm",
        "clearance": "0",
    },
    counts=("teeth", [5, 6, 7, 8, 9]),
    tables='[cutter]\ndiameter = "40 mm"',
)
