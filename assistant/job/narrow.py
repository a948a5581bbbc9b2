"""Limits that are closer than a depth is called: the dial alone can't hold them."""

from __future__ import annotations

from fractions import Fraction

from assistant.job.measuring import Measurement
from assistant.job.part import Finding, Part
from assistant.job.units import MM_PER_INCH, shown

# How finely a depth or a move across is called, mm.
CALLED = {"mm": Fraction(1, 100), "in": MM_PER_INCH / 10_000}
_KEYS = {"polygon": "across_flats", "keyways": "depth", "splines": "width"}


def narrow_limits(part: Part) -> tuple[Finding, ...]:
    """One question for a part, about the size whose limits leave a dial the least room."""
    closest = min(filter(None, map(_room, part.measurements)), default=None)
    if closest is None or closest >= CALLED[part.unit]:
        return ()
    text = (
        f"these limits leave the dial {shown(closest, part.unit)}, and a depth is called to "
        f"{shown(CALLED[part.unit], part.unit)}: measure in every pass, or widen them"
    )
    return (Finding(_KEYS.get(part.kind, "span_limits"), text),)


def _room(size: Measurement) -> Fraction | None:
    """How far apart two settings may be that both keep to the limits, mm; None: no limits."""
    if size.low is None or size.high is None:
        return None
    return (size.high - size.low) / size.per_depth
