"""The argument parser of the commands that may take their time to start."""

from __future__ import annotations

import argparse
import os
from typing import Any, NoReturn

from assistant.errors import WrongUse


class _Lines(argparse.RawDescriptionHelpFormatter):
    """As wide as the terminal. The usual way of asking for that imports packers and archives."""

    def __init__(self, prog: str, **more: Any) -> None:
        super().__init__(prog, width=_columns() - 2, **more)


def _columns() -> int:
    """Of the terminal, or as COLUMNS says; 80 where there is none."""
    told = os.environ.get("COLUMNS", "")
    if told.isdigit() and int(told):
        return int(told)
    try:
        return os.get_terminal_size().columns or 80
    except OSError:
        return 80


class Parser(argparse.ArgumentParser):
    """An argument parser whose errors are one line and name the cure."""

    def __init__(self, command: str, what: str, example: str) -> None:
        super().__init__(
            prog=f"tallyhand {command}",
            description=what,
            epilog=f"example: {example}",
            formatter_class=_Lines,
            allow_abbrev=False,
        )

    def error(self, message: str) -> NoReturn:
        """Raises WrongUse in one line, where the library would print its usage and leave."""
        raise WrongUse(f"{self.prog}: {message}; see {self.prog} --help")
