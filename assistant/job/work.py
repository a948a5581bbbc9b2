"""What a kind of work is: what its drawing gives, how that is read and asked for, what it is
worked out to. Each kind is a file in `kinds/`, and has there only what is its own."""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections.abc import Callable
from dataclasses import dataclass, replace

from assistant.job.cutter_fit import Wanted
from assistant.job.part import Findings, Objection, Part, Shop
from assistant.job.question import Question
from assistant.job.reader import Table
from assistant.job.units import Unit


class Work(ABC):
    """The drawing's figures, ready to be worked out: a frozen record of the kind's own.

    Lengths are millimetres. Nothing here raises: what can't be made is refused in the part.
    """

    __slots__ = ()

    @abstractmethod
    def make(self, shop: Shop, found: Findings) -> Part | None:
        """The part, its warnings in `found`; None, or anything, where `found` has a refusal."""

    def work_out(self, shop: Shop) -> Part:
        """The part; where it can't be made, its refusals say why and what would do."""
        found = Findings()
        part = self.make(shop, found)
        if part is None or found.refusals:
            part = Part(refusals=tuple(found.refusals))
        return replace(part, unit=shop.unit, warnings=tuple(found.warnings))

    def wanted_cutter(self, unit: Unit) -> Wanted | None:
        """What it is cut with; None where any tool may serve, or none of a drawer."""
        return None

    def odd_size(self, unit: Unit) -> Objection | None:
        """A figure that is close to a standard size but not it; None where there is none."""
        return None


@dataclass(frozen=True)
class Kind:
    """A kind by the `name` that a job file gives it.

    `title` is English, marked: what a person chooses it by. `rank` is its place among the others
    there; without one it comes last. `keys` are those of its own that its table may hold, and
    `questions` ask for them in the order in which the drawing is read. `counts`: the key that
    counts its equal spaces, where there may be so many that the work gets warm. `as_wide`: the
    cutter is as wide as the work's `width`.
    """

    name: str
    title: str
    keys: tuple[str, ...]
    read: Callable[[Table], Work]
    questions: tuple[Question, ...]
    counts: str = ""
    as_wide: bool = False
    rank: int = 1000
