"""A dividing head that can be turned, locked and cut on, with slack in its worm. Exact.

All is counted in crank turns from the first hole. The worm drives the spindle forward by one
flank; `slack` is how far the crank can be turned back before the other flank takes hold.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from fractions import Fraction


@dataclass(frozen=True)
class CutMade:
    """Where cut `number` (1 and up) was made, in crank turns from the first hole, and how."""

    number: int
    at: Fraction
    locked: bool
    guarded: bool


@dataclass
class DividingHead:
    worm_ratio: Fraction
    circle: int  # holes of the circle that the pin is set to
    spaces: int  # between the sector arms
    slack: Fraction = Fraction(1, 20)
    scale: bool = True
    crank: Fraction = Fraction(0)
    spindle: Fraction = Fraction(0)  # in crank turns: where it would stand without slack
    arms: Fraction = Fraction(0)  # where the left arm stands
    locked: bool = False
    guarded: bool = False
    strained: int = 0  # times the crank was turned against the lock
    cuts: list[CutMade] = field(default_factory=list)

    def turn(self, by: Fraction) -> bool:
        """Turn the crank; forward is the working direction. False: the lock holds it."""
        if self.locked:
            self.strained += 1
            return False
        self.crank += by
        self.spindle = min(max(self.spindle, self.crank), self.crank + self.slack)
        return True

    def swing_arms(self) -> None:
        """The left arm against the pin."""
        self.arms = self.crank

    @property
    def arms_are_on(self) -> bool:
        """The arms lie on the plate: whole turns of the crank pass over them."""
        return (self.arms - self.crank) % 1 == 0

    def cut(self, number: int) -> CutMade:
        self.cuts.append(CutMade(number, self.spindle, self.locked, self.guarded))
        return self.cuts[-1]

    def degrees(self) -> Fraction:
        """What stands at the scale's mark, 0 or more and under 360."""
        return self.spindle / self.worm_ratio * 360 % 360

    def off(self, wanted: Fraction) -> Fraction:
        """How far the spindle stands past the wanted place, the short way round."""
        half = self.worm_ratio / 2
        return (self.spindle - wanted + half) % self.worm_ratio - half
