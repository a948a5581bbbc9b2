"""The limits of a size. The cutter is set for their middle."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from assistant.job.units import shown


@dataclass(frozen=True, slots=True)
class Limits:
    """All in mm. `written` is the tolerance as the job writes it, "-0.1 +0" or "h11"."""

    nominal: Fraction
    low: Fraction
    high: Fraction
    written: str

    @property
    def middle(self) -> Fraction:
        return (self.low + self.high) / 2

    @property
    def half(self) -> Fraction:
        """From the middle to either limit."""
        return (self.high - self.low) / 2

    def shown(self, unit: str) -> str:
        """ "23.9 to 24 mm (24 mm -0.1 +0)", for the eye."""
        figures = shown(self.low, unit).partition(" ")[0]
        nominal = shown(self.nominal, unit)
        return f"{figures} to {shown(self.high, unit)} ({nominal} {self.written})"
