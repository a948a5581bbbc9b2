"""What ends a command: raised anywhere, shown as one line by the command line."""

from __future__ import annotations


class WrongUse(Exception):
    """The command line itself is wrong; the message says what and the cure, in one line."""


class Unusable(Exception):
    """A part of the bench can't be used: `what` is wrong, and the `cure`, "" where none is."""

    def __init__(self, what: str, cure: str = "") -> None:
        super().__init__(f"{what}; {cure}" if cure else what)
        self.what, self.cure = what, cure


class Refusal(Exception):
    """The command was right but can't be carried out; one line with the place and the cure."""
