"""The limits of a size. The cutter is set for their middle, and its setting called as finely as
they need."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from assistant.job.units import MM_PER_INCH, Unit, bare_figure, shown
from solver import Millimetres

# How finely a depth or a move across is called, mm; and where limits are close.
CALLED: dict[Unit, Millimetres] = {
    "mm": Millimetres(Fraction(1, 100)),
    "in": Millimetres(MM_PER_INCH / 10_000),
}
FINELY: dict[Unit, Millimetres] = {
    "mm": Millimetres(Fraction(1, 1000)),
    "in": Millimetres(MM_PER_INCH / 100_000),
}


@dataclass(frozen=True, slots=True)
class Limits:
    """All in mm. `written` is the tolerance as the job writes it, "-0.1 +0" or "h11"."""

    nominal: Millimetres
    low: Millimetres
    high: Millimetres
    written: str

    @property
    def middle(self) -> Millimetres:
        """Half way between the limits, in mm."""
        return Millimetres((self.low + self.high) / 2)

    @property
    def half(self) -> Millimetres:
        """From the middle to either limit, mm."""
        return Millimetres((self.high - self.low) / 2)

    def shown(self, unit: Unit) -> str:
        """ "23.9 to 24 mm (24 mm -0.1 +0)", for the eye."""
        low, nominal = bare_figure(self.low, unit), shown(self.nominal, unit)
        return f"{low} to {shown(self.high, unit)} ({nominal} {self.written})"


def room_within(limits: Limits | None, share: Fraction = Fraction(1)) -> Millimetres | None:
    """How far apart two settings may be that both keep to the limits, mm; None: no limits. `share`
    is what a setting moves for each mm of the size."""
    return None if limits is None else Millimetres((limits.high - limits.low) * share)


def called_finely(room: Millimetres | None, unit: Unit) -> bool:
    """`room`: how far apart two settings may be that both keep to the limits, mm; None: no limits.

    A figure that is called to a hundredth may be half of one off: more than half of what either
    side of the middle may be, where there are less than two.
    """
    return room is not None and room < 2 * CALLED[unit]
