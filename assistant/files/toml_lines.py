"""TOML text with the line of every key, so that a fault can name its place."""

from __future__ import annotations

import re
import tomllib
from typing import Any

# Blanks go with the name and are stripped after: matched apart, a long row of them takes hours.
_TABLE = re.compile(r"^\s*\[\[?([^\]]+)\]\]?\s*(#.*)?$")
_KEY = re.compile(r"^\s*([A-Za-z0-9_-]+|\"[^\"]+\")\s*=")


MOST_LETTERS = 8000  # in a line: a key of many parts takes the parser its square in time
MOST_LINES = 50_000


class TomlFault(ValueError):
    """The text is no TOML, or a value in it is wrong: `line` is where (1 is the first)."""

    def __init__(self, line: int, what: str) -> None:
        super().__init__(what)
        self.line = line


def parse(text: str) -> dict[str, Any]:
    """The data. Raises TomlFault with the line for text that is no TOML, or is too much of it."""
    _check_size(text)
    try:
        return tomllib.loads(text)
    except RecursionError as error:
        raise TomlFault(1, "brackets within brackets without end") from error
    except ValueError as error:  # TOMLDecodeError, and a number of thousands of digits
        found = re.search(r"\(at line (\d+), column \d+\)", str(error))
        what = re.sub(r"\s*\(at .*\)", "", str(error))
        line = int(found.group(1)) if found else max(1, len(text.splitlines()))
        raise TomlFault(line, what) from error


def _check_size(text: str) -> None:
    lines = text.splitlines()
    if len(lines) > MOST_LINES:
        raise TomlFault(MOST_LINES + 1, f"{len(lines)} lines: {MOST_LINES} at the most")
    for n, line in enumerate(lines, 1):
        if len(line) > MOST_LETTERS:
            raise TomlFault(n, f"{len(line)} letters in a line: {MOST_LETTERS} at the most")


def line_of(text: str, table: str, key: str) -> int:
    """The line of `key` in `[table]`, or of the table `key` itself where `table` is "".

    The second `[[table]]` of a list is called "table[2]". Where the key is missing: the
    line of its table; where that is missing too, 1.
    """
    here = ""
    table_line = 1
    met: dict[str, int] = {}
    for n, line in enumerate(text.splitlines(), 1):
        header = _TABLE.match(line)
        if header:
            name = header.group(1).strip()
            met[name] = met.get(name, 0) + 1
            here = f"{name}[{met[name]}]" if line.lstrip().startswith("[[") else name
            if not table and name == key:
                return n
            table_line = n if here == table else table_line
        found = _KEY.match(line)
        if found and here == table and found.group(1).strip('"') == key:
            return n
    return table_line
