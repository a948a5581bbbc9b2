"""The words of the short cycle: a move as a helper calls it, who has called it before."""

from __future__ import annotations

from assistant.words.language import say, say_n
from assistant.words.spoken import number
from solver import Move


def brief_phrase(move: Move) -> str:
    """ "four turns, twelve on twenty-seven"; "" for a move that needs its whole words."""
    if move.direct_circle or move.minutes or move.plate_holes:
        return ""
    turns = say_n(move.turns, "one turn", "{count} turns") if move.turns else ""
    if not move.holes or not move.circle:
        return turns
    holes = say("{holes} on {circle}", holes=number(move.holes), circle=number(move.circle))
    return say("{turns}, {holes}", turns=turns, holes=holes) if turns else holes
