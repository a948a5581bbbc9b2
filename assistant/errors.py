"""What ends a command: raised anywhere, shown as one line by the command line."""

from __future__ import annotations


class WrongUse(Exception):
    """The command line itself is wrong; the message says what and the cure, in one line."""


class _Wrong(Exception):
    """`what` is wrong, with its place, and the `cure`, "" where the one says the other; both in one
    line, "; " between them, where they are shown."""

    def __init__(self, what: str, cure: str = "") -> None:
        super().__init__(f"{what}; {cure}" if cure else what)
        self.what, self.cure = what, cure


class Unusable(_Wrong):
    """A part of the bench can't be used."""


class Refusal(_Wrong):
    """The command was right but can't be carried out."""
