"""The argument parser of the commands that may take their time to start."""

from __future__ import annotations

import argparse
from typing import NoReturn

from assistant.errors import WrongUse


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
