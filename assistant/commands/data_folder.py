"""Where the journals live: `--data`, else TALLYHAND_DATA, else the platform's own place."""

from __future__ import annotations

import os
import stat
from contextlib import suppress
from typing import TYPE_CHECKING

from assistant.commands.argument_parser import Parser
from assistant.commands.command_line import complain

if TYPE_CHECKING:
    from pathlib import Path


def add_data_option(parser: Parser) -> None:
    """`--data`, for a command that reads or writes journals."""
    parser.add_argument(
        "--data",
        metavar="DIR",
        help="folder of the journals (else TALLYHAND_DATA, else your user-data folder)",
    )


def chosen_folder(given: str | None) -> Path | None:
    """The folder named on the command line or in the environment, or None."""
    from pathlib import Path  # not before the words are parsed: `--help` does without

    named = given or os.environ.get("TALLYHAND_DATA")
    return Path(named).expanduser() if named else None


def folder(given: str | None) -> Path:
    """The folder to use."""
    named = chosen_folder(given)
    if named:
        return named
    from platformdirs import user_data_path

    return user_data_path("tallyhand", appauthor=False) / "journals"


def guarded_folder(given: str | None) -> Path:
    """The folder to write to. Where others can write into it, and so remove or exchange its
    journals, the program's own folder is narrowed, and one that was named is told of."""
    path = folder(given)
    if os.name != "posix" or not path.is_dir():
        return path
    if path.stat().st_mode & (stat.S_IWGRP | stat.S_IWOTH):
        if chosen_folder(given) is None:
            with suppress(OSError):
                path.chmod(0o700)
        else:
            complain(f"{path}: others can write here and remove your journals: chmod 700 {path}")
    return path
