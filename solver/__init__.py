"""Exact indexing for dividing heads and rotary tables, from the standard library alone.

    from solver import load_head, plan
    head = load_head("config/heads/three-plate-40.toml")
    print(plan(head, divisions=21)[0].moves)

Angles are exact `Fraction`s of a spindle turn everywhere; what makes no sense raises
`Refused`, a ValueError with one line that names the cure.
"""

from typing import TYPE_CHECKING

from solver.heads import load_head, parse_head
from solver.model import Gearing, Handwheel, Head, Move, Plate, Refused, Setup
from solver.planner import plan
from solver.proof import Disproved, positions, spindle_move

if TYPE_CHECKING:
    from solver.text import angle_from_text, degrees_text, number_from_text

__all__ = [
    "Disproved",
    "Gearing",
    "Handwheel",
    "Head",
    "Move",
    "Plate",
    "Refused",
    "Setup",
    "angle_from_text",
    "degrees_text",
    "load_head",
    "number_from_text",
    "parse_head",
    "plan",
    "positions",
    "spindle_move",
]


def __getattr__(name: str) -> object:
    # The text readers compile patterns: a plan for a plain division never needs them.
    if name in ("angle_from_text", "degrees_text", "number_from_text"):
        from solver import text

        return getattr(text, name)
    raise AttributeError(f"module 'solver' has no attribute {name!r}")
