"""Measuring in the course of the work: what is asked, what an answer means, what is doubted.

Stop the cutter before measuring: the question says so every time.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from enum import StrEnum
from fractions import Fraction
from typing import Any

from assistant.job.limits import Limits, called_finely
from assistant.job.units import NO_LENGTH, Unit, bare_figure, said, shown
from assistant.words.language import say
from assistant.words.spoken import capital
from solver import Millimetres

# A size that is off by more than this from what the depth should give is asked for again.
_DOUBT_MM = Millimetres(Fraction(1, 2))
_CLOSE_MM = Fraction(5, 1000)  # within this the size is called reached


class SizeVerdict(StrEnum):
    """What a size means for the work."""

    LEFT = "left"  # so much depth is left
    REACHED = "reached"
    DOUBTED = "doubted"  # possible, but not what the depth should give: ask again
    IMPOSSIBLE = "impossible"  # more than there was before the cut
    UNDER = "under"  # below the finished size


@dataclass(frozen=True, slots=True)
class Judged:
    """`depth` is what is left to cut, in mm, where the verdict is `left`."""

    verdict: SizeVerdict
    text: str
    depth: Millimetres = NO_LENGTH


@dataclass(frozen=True, slots=True)
class Measurement:
    """A size asked for after `after` cuts of pass `pass_number` (both from 1) of round 0 on.

    All in mm: `before` is the size with nothing cut, `expected` what this pass should leave,
    `target` the finished size. `per_depth` is what the size loses for each mm of depth.
    `sideways`: what is left is a move of the table across, and no depth.
    """

    what: str
    round_number: int
    pass_number: int
    after: int
    before: Millimetres
    expected: Millimetres
    target: Millimetres
    per_depth: Fraction
    sideways: bool = False
    low: Millimetres | None = None  # limits of the finished size; None: the job states none
    high: Millimetres | None = None

    def within(self, limits: Limits | None, share: Fraction = Fraction(1)) -> Measurement:
        """With the limits of the job's figure; `share` is how much of it this size shows."""
        if limits is None:
            return self
        half = limits.half * share
        return replace(
            self, low=Millimetres(self.target - half), high=Millimetres(self.target + half)
        )

    def between(self, deviations: tuple[Millimetres, Millimetres] | None) -> Measurement:
        """With these deviations, mm, from the size that was worked out; cut to their middle."""
        if deviations is None:
            return self
        low, high = (self.target + each for each in deviations)
        return replace(
            self,
            low=Millimetres(low),
            high=Millimetres(high),
            target=Millimetres((low + high) / 2),
        )

    def to_record(self) -> dict[str, Any]:
        """JSON-ready data."""
        return {
            name: str(value) if isinstance(value := getattr(self, name), Fraction) else value
            for name in self.__slots__
        }

    @classmethod
    def from_record(cls, record: dict[str, Any]) -> Measurement:
        """The measurement that `to_record` wrote. Raises KeyError, TypeError or ValueError."""
        fields = dict(record)
        # Journals of the first two versions keep words in the place of `sideways`.
        if "remainder" in fields:
            fields["sideways"] = fields.pop("remainder") == "to move across"
        limits = [name for name in ("low", "high") if fields.get(name) is not None]
        lengths = ("before", "expected", "target", "per_depth", *limits)
        return cls(**{**fields, **{name: Fraction(fields[name]) for name in lengths}})

    def question(self) -> str:
        """What is said when the size is wanted."""
        return say("Stop the cutter, and measure {what}.", what=self.what)

    def answer(self, size: Millimetres, unit: Unit) -> Judged:
        """What this size (mm) means. The caller reads the size back before acting on it."""
        if size > self.before + _CLOSE_MM:
            text = say("It was {size} before the cut. Measure again.", size=said(self.before, unit))
            return Judged(SizeVerdict.IMPOSSIBLE, text)
        if self.is_under(size):
            text = say("{under} Measure again.", under=self.under_words(size, unit))
            return Judged(SizeVerdict.UNDER, text)
        if abs(size - self.expected) > self.doubt:
            text = say("I expected about {size}. Measure again.", size=said(self.expected, unit))
            return Judged(SizeVerdict.DOUBTED, text)
        return self.left(size, unit)

    def left(self, size: Millimetres, unit: Unit) -> Judged:
        """The depth left, for a size (mm) that is taken as true."""
        depth = self.remaining(size)
        if self.is_under(size):
            return Judged(SizeVerdict.UNDER, self.under_words(size, unit))
        if not depth and self.has_limits:
            return Judged(SizeVerdict.REACHED, say("That is within its limits."))
        if not depth:
            return Judged(SizeVerdict.REACHED, say("That is the finished size."))
        words = said(depth, unit, finely=called_finely(self.room, unit))
        if self.sideways:
            return Judged(
                SizeVerdict.LEFT,
                capital(say("{size} to move across.", size=words)),
                depth,
            )
        return Judged(SizeVerdict.LEFT, capital(say("{size} left to cut.", size=words)), depth)

    def remaining(self, size: Millimetres) -> Millimetres:
        """How much deeper, or further across, the cutter has to go, in mm; 0 at the size."""
        depth = Millimetres((size - self.target) / self.per_depth)
        if self.high is not None:
            return depth if size > self.high else NO_LENGTH
        return depth if depth > _CLOSE_MM else NO_LENGTH

    def is_under(self, size: Millimetres) -> bool:
        """Below the finished size, or below its lower limit: no cut puts it back."""
        return size < (self.target - _CLOSE_MM if self.low is None else self.low)

    def under_words(self, size: Millimetres, unit: Unit) -> str:
        """How far under."""
        if self.low is not None:
            by = said(Millimetres(self.low - size), unit)
            return say("That is {size} under the lower limit.", size=by)
        return say(
            "That is {size} under the finished size.",
            size=said(Millimetres(self.target - size), unit),
        )

    @property
    def has_limits(self) -> bool:
        """The drawing gives a least or a most."""
        return self.low is not None or self.high is not None

    @property
    def room(self) -> Millimetres | None:
        """How far apart two settings may be that both keep to the limits, mm; None: no limits."""
        if self.low is None or self.high is None:
            return None
        return Millimetres((self.high - self.low) / self.per_depth)

    def limits_shown(self, unit: Unit) -> str:
        """ "23.9 to 24 mm", for the eye; "" where the job states none."""
        figures = self.limit_figures(unit)
        return f"{figures} {unit}" if figures else ""

    def limit_figures(self, unit: Unit) -> str:
        """ "23.9 to 24": the same without its unit."""
        if self.low is None or self.high is None:
            return ""
        low, high = bare_figure(self.low, unit), bare_figure(self.high, unit)
        return say("{low} to {high}", low=low, high=high)

    @property
    def doubt(self) -> Millimetres:
        """How far from the expected size a size may be without a question, in mm."""
        return Millimetres(min(_DOUBT_MM, max((self.before - self.target) / 4, 4 * _CLOSE_MM)))

    def sheet(self, unit: Unit) -> str:
        """One line for the written sheet."""
        finished = self.limits_shown(unit) or shown(self.target, unit)
        return f"{self.what}: {shown(self.expected, unit)} now, {finished} finished"


def least_room(measurements: Iterable[Measurement]) -> Millimetres | None:
    """What the closest limits of these leave a dial, mm; None where none have limits."""
    return min((each.room for each in measurements if each.room is not None), default=None)
