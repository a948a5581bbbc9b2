"""Exact indexing for dividing heads and rotary tables, from the standard library alone.

    from solver import load_head, plan
    head = load_head("config/heads/three-plate-40.toml")
    print(plan(head, divisions=21)[0].moves)

Angles are exact `Fraction`s of a spindle turn everywhere; what makes no sense raises
`Refused`, a ValueError with one line that names the cure.
"""

from typing import TYPE_CHECKING

from solver.heads import load_head, parse_head
from solver.model import (
    BEYOND,
    ArcMinutes,
    Degrees,
    Gearing,
    Handwheel,
    Head,
    Millimetres,
    Move,
    Plate,
    Reckoning,
    Refused,
    Setup,
    Turns,
    in_arc_minutes,
    in_degrees,
    in_turns,
)
from solver.planner import plan
from solver.proof import Disproved, positions, spindle_move

if TYPE_CHECKING:
    from solver.lengths import Length, arc, radius_from_text, tolerance_from_text
    from solver.own_error import measured, off_at, off_the_worm
    from solver.position_errors import Statement, each_position, error_statement
    from solver.rings import Ring, plan_rings
    from solver.text import angle_from_text, degrees_text, meant_minutes, number_from_text

# Read late: a plan for a plain division needs none of these, and it has to start quickly.
_LATE = {
    "Length": "lengths",
    "Ring": "rings",
    "Statement": "position_errors",
    "angle_from_text": "text",
    "arc": "lengths",
    "degrees_text": "text",
    "each_position": "position_errors",
    "error_statement": "position_errors",
    "meant_minutes": "text",
    "measured": "own_error",
    "number_from_text": "text",
    "off_at": "own_error",
    "off_the_worm": "own_error",
    "plan_rings": "rings",
    "radius_from_text": "lengths",
    "tolerance_from_text": "lengths",
}

__all__ = [
    "BEYOND",
    "ArcMinutes",
    "Degrees",
    "Disproved",
    "Gearing",
    "Handwheel",
    "Head",
    "Length",
    "Millimetres",
    "Move",
    "Plate",
    "Reckoning",
    "Refused",
    "Ring",
    "Setup",
    "Statement",
    "Turns",
    "angle_from_text",
    "arc",
    "degrees_text",
    "each_position",
    "error_statement",
    "in_arc_minutes",
    "in_degrees",
    "in_turns",
    "load_head",
    "meant_minutes",
    "measured",
    "number_from_text",
    "off_at",
    "off_the_worm",
    "parse_head",
    "plan",
    "plan_rings",
    "positions",
    "radius_from_text",
    "spindle_move",
    "tolerance_from_text",
]


def __getattr__(name: str) -> object:
    if name not in _LATE:
        raise AttributeError(f"module 'solver' has no attribute {name!r}")
    from importlib import import_module

    return getattr(import_module(f"solver.{_LATE[name]}"), name)
