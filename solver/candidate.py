"""A set-up that a search has found, with what the ranking looks at; its moves come later."""

from collections.abc import Callable
from fractions import Fraction
from typing import NamedTuple

from solver.model import Gearing, Move

# The order in which a machinist would rather do it: each one more to set up or to count.
DIRECT, PLAIN, NEAREST, COMPOUND, NEAREST_TWO, DIFFERENTIAL = range(6)

MovesLater = Callable[[], tuple[Move, ...]]

METHODS = ("direct", "plain", "nearest", "compound", "nearest", "differential")


class Candidate(NamedTuple):
    """`holes` is how many the person counts for one usual move; `back`: the plate comes back."""

    kind: int
    plate: str | None
    circle: int | None
    moves: MovesLater
    holes: int = 0
    every: int = 1
    worst: Fraction = Fraction(0)
    gearing: Gearing | None = None
    back: bool = False
    plate_circle: int | None = None
    fouls: bool = False
