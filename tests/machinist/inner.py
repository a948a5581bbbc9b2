"""Ratchet teeth inside a ring: a tool of the space's form, fed outward from the bore.

All is seen from above, the way that the cross slide feeds outward at the top.
"""

from __future__ import annotations

from collections.abc import Callable
from math import cos, radians, sin
from typing import TYPE_CHECKING, Any

from shapely.geometry import Polygon
from shapely.ops import unary_union

from tests.machinist.drawings import SAID, Drawing, DrawnJob, round_and_round
from tests.machinist.figures import ANGLE, LENGTH, length
from tests.machinist.judging import farthest
from tests.machinist.machine import Crash, round_bar, turned
from tests.machinist.person import Person
from tests.machinist.sentences import Instruction

if TYPE_CHECKING:
    from tests.machinist.craft import Made

# --- what the person does ---------------------------------------------------------------


def _centred(person: Person, _: Instruction) -> None:
    person.own["centred"] = 1.0


def _ring(person: Person, said: Instruction) -> None:
    person.own["bore"] = length(said.words, "size")


def _tool(person: Person, said: Instruction) -> None:
    person.own["angle"] = float(said.words["angle_d"])


def _side(person: Person, said: Instruction) -> None:
    person.own["body"] = 1.0 if said.words["way"] == "clockwise" else -1.0


def _hold(person: Person, _: Instruction) -> None:
    person.own["held"] = 1.0


def _touch(person: Person, _: Instruction) -> None:
    if "centred" not in person.own or "body" not in person.own:
        raise Crash("the bore is touched by a tool that stands anywhere")
    person.own["touched"] = 1.0


def _feed(person: Person, said: Instruction) -> None:
    if "touched" not in person.own:
        raise Crash("a feed by a dial that was never set")
    if "held" not in person.own:
        raise Crash("a tool for planing goes into the work on a spindle that can turn")
    person.own["fed"] = length(said.words, "size")
    person.own["stroke"] = length(said.words, "stroke")


def _clear(person: Person, _: Instruction) -> None:
    person.own["clear"] = 1.0


HEARS: tuple[tuple[str, Callable[[Person, Instruction], None]], ...] = (
    (rf"its bore should measure {LENGTH.format('size')}", _ring),
    (r"spindle of the machine over the axis of the head, by an indicator in the bore", _centred),
    (rf"tool in its spindle, ground to {ANGLE.format('angle')}\. its upright side runs through "
     r"the middle of its bar", _tool),
    (r"upright side along the cross slide, by an indicator\. the rest of the tool lies "
     r"(?P<way>clockwise|anticlockwise) of it, seen from above", _side),
    (r"the machine's spindle out of gear and held: the tool is racked down, never turned\. "
     r"it stays held: the lock that i call is the head's", _hold),
    (r"feed the cross slide outward until the tool's point touches the bore\. "
     r"set the slide's dial to nought", _touch),
    (rf"every tooth: feed outward {LENGTH.format('size')} by that dial, {LENGTH.format('stroke')} "
     r"a stroke at most\. lift the tool out before each feed", _feed),
    (r"after each tooth: tool up, out of the ring\. slide back past 0, and up to it again\. "
     r"only then the next move", _clear),
)  # fmt: skip

# --- how the ring is judged -------------------------------------------------------------


def space(foot: float, angle: float, way: float) -> Polygon:
    """A face in a plane through the axis out to the foot, a back that stands off it by the tool's
    angle (definition of radial faces); `way` is the side of the face on which the space lies."""
    lean = radians(angle)
    along = foot * cos(lean)  # to where the back is nearest to the axis: it need be no longer
    back = (way * along * sin(lean), foot - along * cos(lean))
    return Polygon([(0, foot), (0, 0), back])


def ring(job: DrawnJob) -> Drawing:
    """A pawl that goes clockwise meets a face on its clockwise end, the space behind it."""
    radius, count = job.mm("bore") / 2, job.whole("teeth")
    way = -1.0 if job.works[0]["drives"] == "clockwise" else 1.0
    shape = space(radius + job.mm("depth"), job.degrees("tool_angle"), way)
    left = round_bar(job.mm("outside")).difference(round_bar(2 * radius))
    left = left.difference(round_and_round(shape, count))
    return Drawing(left, left)


def cut(made: Made) -> Any:
    """The ring less the tool's form wherever a tooth was planed."""
    machine, own = made.machine, made.person.own
    shape = space(own["bore"] / 2 + own["fed"], own["angle"], own["body"])
    spaces = [turned(shape, -machine.sense * float(each.turns)) for each in machine.cuts]
    return machine.section.difference(unary_union(spaces))


def faults(made: Made) -> list[str]:
    """What was not said, and where the ring is another than drawn."""
    own, wanted = made.person.own, ring(made.job)
    if missing := {"bore", "angle", "body", "held", "fed", "clear"} - set(own):
        return [f"nobody has said: {', '.join(sorted(missing))}"]
    found = []
    if not made.machine.upright:
        found.append("the axis lies, and the tool comes from above")
    if own["stroke"] > 0.11:
        found.append(f"{own['stroke']} mm a stroke, by hand")
    section = cut(made)
    far, where = farthest(section.difference(wanted.allowed), wanted.allowed)
    if far > SAID:
        found.append(f"stands {far:.3f} mm proud at {where}")
    far, where = farthest(wanted.needed.difference(section), section)
    if far > SAID:
        found.append(f"{far:.3f} mm is missing at {where}")
    return found
