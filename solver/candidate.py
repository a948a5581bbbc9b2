"""A set-up that a search has found, with what the ranking looks at; its moves come later."""

from collections.abc import Callable
from fractions import Fraction
from typing import NamedTuple

from solver.hand import Hand
from solver.model import Gearing, Move, Turns

DIRECT, PLAIN, NEAREST, COMPOUND, NEAREST_TWO, DIFFERENTIAL = range(6)

MovesLater = Callable[[], tuple[Move, ...]]

METHODS = ("direct", "plain", "nearest", "compound", "nearest", "differential")


class Candidate(NamedTuple):
    """`hand` is what there is to turn and to count over all moves; `holes` the most at one.

    `step_up` is by how much the gears drive the plate faster than the spindle turns, in
    thousandths.
    """

    kind: int
    plate: str | None
    circle: int | None
    moves: MovesLater
    hand: Hand
    holes: int = 0
    every: int = 1
    worst: Turns = Turns(Fraction(0))
    gearing: Gearing | None = None
    plate_circle: int | None = None
    fouls: bool = False
    step_up: int = 0
    corrected: bool = False
    true: Turns | None = None  # the worst error, the head's own counted; None: never measured
