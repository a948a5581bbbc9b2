"""What ends a command: raised anywhere, shown as one line by the command line."""

from __future__ import annotations


class WrongUse(Exception):
    """The command line itself is wrong; the message says what and the cure, in one line."""


class Refusal(Exception):
    """The command was right but can't be carried out; one line with the place and the cure."""
