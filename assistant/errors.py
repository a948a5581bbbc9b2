"""What ends a command: raised anywhere, shown as one line by the command line."""

from __future__ import annotations

from typing import Protocol


class Cured(Protocol):
    """A fault that has its cure beside it, as the solver's own has."""

    what: str
    cure: str
    between: str


class WrongUse(Exception):
    """The command line itself is wrong; the message says what and the cure, in one line."""


class _Wrong(Exception):
    """`what` is wrong, with its place, and the `cure`, "" where the one says the other; both in one
    line where they are shown, with `between` between them."""

    def __init__(self, what: str, cure: str = "", between: str = "; ") -> None:
        super().__init__(f"{what}{between}{cure}" if cure else what)
        self.what, self.cure, self.between = what, cure, between


class Unusable(_Wrong):
    """A part of the bench can't be used."""


class Refusal(_Wrong):
    """The command was right but can't be carried out."""


def passed_on(fault: Cured, place: str = "") -> Refusal:
    """The same as a Refusal, what and cure still apart; `place` comes before what is wrong."""
    what = f"{place}: {fault.what}" if place else fault.what
    return Refusal(what, fault.cure, fault.between)


class Reason(str):
    """Why a device can't be used, in one line: `what` it is, and the `cure` where it has one."""

    cure: str

    def __new__(cls, what: str, cure: str = "") -> Reason:
        """The line, with "; " between the two."""
        made = super().__new__(cls, f"{what}; {cure}" if cure else what)
        made.cure = cure
        return made
