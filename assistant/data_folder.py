"""Where the journals live: `--data`, else TALLYHAND_DATA, else the platform's own place."""

from __future__ import annotations

import os
from pathlib import Path

from assistant.cli import Parser


def add_option(parser: Parser) -> None:
    parser.add_argument(
        "--data",
        metavar="DIR",
        help="folder of the journals (else TALLYHAND_DATA, else your user-data folder)",
    )


def chosen(given: str | None) -> Path | None:
    """The folder named on the command line or in the environment, or None."""
    named = given or os.environ.get("TALLYHAND_DATA")
    return Path(named).expanduser() if named else None


def folder(given: str | None) -> Path:
    """The folder to use."""
    named = chosen(given)
    if named:
        return named
    from platformdirs import user_data_path

    return user_data_path("tallyhand", appauthor=False) / "journals"
