"""What every command shares: one-line errors, exit codes, the example in `--help`.

Exit codes: 0 done, 1 refused or a finding, 2 wrong use.
"""

from __future__ import annotations

import argparse
import sys
from typing import NoReturn

DONE, REFUSED, WRONG_USE = 0, 1, 2


class WrongUse(Exception):
    """The command line itself is wrong; the message says what and the cure, in one line."""


class Refusal(Exception):
    """The command was right but can't be carried out; one line with the place and the cure."""


class Parser(argparse.ArgumentParser):
    """An argument parser whose errors are one line and name the cure."""

    def __init__(self, command: str, what: str, example: str) -> None:
        super().__init__(
            prog=f"tallyhand {command}",
            description=what,
            epilog=f"example: {example}",
            formatter_class=argparse.RawDescriptionHelpFormatter,
            allow_abbrev=False,
        )

    def error(self, message: str) -> NoReturn:
        raise WrongUse(f"{self.prog}: {message}; see {self.prog} --help")


def complain(message: str) -> None:
    """One line on stderr."""
    print(" ".join(message.split()), file=sys.stderr)
