"""Where the answers to questions come from: typed, a pipe, or a file."""

from __future__ import annotations

import sys
from collections.abc import Iterator
from pathlib import Path

from assistant import errors


def answers(file: str | None) -> tuple[Iterator[str], bool]:
    """The lines, and whether they have to be shown: a terminal shows what is typed.

    Raises Refusal for a file that can't be read.
    """
    if file is None:
        return _typed(), not sys.stdin.isatty()
    try:
        return iter(Path(file).read_text("utf-8").splitlines()), True
    except (OSError, UnicodeDecodeError) as error:
        raise errors.Refusal(
            f"{file}: {error}", "give a text file of answers, a line each"
        ) from error


def _typed() -> Iterator[str]:
    # readline, not iteration: a question must not wait for more than its own line.
    while line := sys.stdin.readline():
        yield line.rstrip("\n")
