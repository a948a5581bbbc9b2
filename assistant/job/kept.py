"""A cutter of the person's drawer, as it measures now."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from assistant.job.part import Cutter
from solver import Degrees, Millimetres


@dataclass(frozen=True, slots=True)
class Kept:
    """One cutter, lengths in mm, angles in degrees. `cutter` is as it measures now: what
    sharpening left. `module` is also of a diametral pitch; `number` as that system counts."""

    form: str
    cutter: Cutter
    module: Millimetres | None = None
    by_dp: bool = False
    number: Fraction | None = None
    pressure_degrees: Degrees | None = None
    angle_degrees: Degrees | None = None

    @property
    def name(self) -> str:
        """What the drawer calls it."""
        return self.cutter.name

    @property
    def across(self) -> Millimetres | None:
        """How wide a slot it leaves, mm; None where that is not known."""
        return self.cutter.diameter if self.form == "end" else self.cutter.width
