"""Kinds with a judge of their own: fluted tools, saw-tooth clutches, cams, worm wheels, grooves."""

from __future__ import annotations

from typing import Any

from tests.machinist import angular, cams, cutters, flutes, helices, worms
from tests.machinist.craft import Craft, bar, cutter_of
from tests.machinist.drawings import DrawnJob
from tests.machinist.machine import Machine, round_bar
from tests.machinist.person import Person


def _nose(job: DrawnJob, _: Machine, person: Person) -> None:
    if job.has("nose"):
        person.nose = job.mm("nose")


def _tracked(_: DrawnJob, machine: Machine, _person: Person) -> None:
    machine.tracks = True


def _angle_cutter(job: DrawnJob) -> cutters.Cutter:
    angle = job.degrees("cutter_angle")
    if job.works[0]["form"] == "v":
        return cutters.double_angle(angle, angle / 2)
    return cutters.single_angle(angle)


def _hub(_: DrawnJob) -> Any:
    return round_bar(50.0)


FLUTES = Craft(
    "flutes",
    bar("diameter"),
    lambda made: flutes.faults(made.machine.section, made.job),
    begin=_nose,
    example="bung-reamer",
    told="Flutes: the form behind the edge is the cutter's own. Judged are number, depth and "
    "lands, the hook at every edge, and whether edges stand opposite.",
    shows="The section of the reamer as it was cut",
    figures={
        "tool": "reamer",
        "diameter": "40 mm",
        "depth": "4 mm",
        "cutter_angle": "70d",
        "spacing": "equal",
    },
    counts=("flutes", [5, 7]),
)
ANGULAR_CLUTCH = Craft(
    "angular-clutch",
    bar("outside"),
    lambda made: angular.faults(made.machine, made.person, made.job),
    _angle_cutter,
    _tracked,
    example="screw-clutch",
    told="Clutch with saw teeth, its teeth rolled out at the rim and at the bore; blue is a half "
    "like it laid upon it. Judged is that the flanks bear from the rim to the bore, that the "
    "upright ones lie in planes through the axis, and which way it drives.",
    shows="The teeth of the saw-tooth clutch as they were cut, with the other half laid on",
    figures={
        "form": "saw-tooth",
        "drives": "anticlockwise",
        "outside": "60 mm",
        "bore": "36 mm",
        "cutter_angle": "60d",
        "depth": "5 mm",
    },
    counts=("teeth", [12, 15]),
)
PLATE_CAM = Craft(
    "plate-cam",
    bar("outside"),
    lambda made: cams.faults(made.machine, made.person, made.job, made.printed),
    marks=True,
    turns=True,
    example="feed-cam",
    told="Plate cam: what is left of the blank after the mill's way through it. A roller of the "
    "mill's size, in blue, is rolled along each lobe: it must rise by equal amounts for equal "
    "angles, and every point must stand.",
    shows="The feed cam as it was cut, with a roller along one lobe",
    figures={
        "outside": "90 mm",
        "rise": "6 mm",
        "over": "40d",
        "rises": "clockwise",
        "thickness": "8 mm",
        "mill": "6 mm",
    },
    counts=("lobes", [3, 4, 5]),
    one_pass=True,
)
HELICAL_GROOVES = Craft(
    "helical-grooves", bar("diameter"),
    lambda made: helices.faults(made.machine, made.person, made.job, made.printed), cutter_of,
    marks=True, turns=True, example="press-auger",
    told="Helical grooves, the outside rolled out: lead, hand, swing, length, places and depths, "
    "and what is done between two cuts: slack out, cutter clear, plate or worm free, the gear on "
    "the spindle moved on by its teeth. What a disc takes beyond its outline along a helix is no "
    "part of it: the page of the kind says how far that goes.",
    shows="The flutes of the auger rolled out, as they were cut",
)  # fmt: skip
WORM_WHEEL = Craft(
    "worm-wheel", _hub, lambda made: worms.faults(made.machine, made.person, made.job), marks=True,
    told="Worm wheel, gashed for the hob, without a section: judged are swing, middle of the "
    "face, places, and the depth below the throat, against a disc laid on the hollow point by "
    "point.",
)  # fmt: skip
