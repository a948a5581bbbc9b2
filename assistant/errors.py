"""What ends a command: raised anywhere, shown as one line by the command line."""

from __future__ import annotations


class WrongUse(Exception):
    """The command line itself is wrong; the message says what and the cure, in one line."""


class _Wrong(Exception):
    """`what` is wrong, with its place, and the `cure`, "" where the one says the other; both in one
    line where they are shown, with `between` between them."""

    def __init__(self, what: str, cure: str = "", between: str = "; ") -> None:
        super().__init__(f"{what}{between}{cure}" if cure else what)
        self.what, self.cure = what, cure


class Unusable(_Wrong):
    """A part of the bench can't be used."""


class Refusal(_Wrong):
    """The command was right but can't be carried out."""


class Reason(str):
    """Why a device can't be used, in one line: `what` it is, and the `cure` where it has one."""

    cure: str

    def __new__(cls, what: str, cure: str = "") -> Reason:
        """The line, with "; " between the two."""
        made = super().__new__(cls, f"{what}; {cure}" if cure else what)
        made.cure = cure
        return made
