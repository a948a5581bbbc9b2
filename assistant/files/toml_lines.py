"""TOML text with the line of every key, so that a fault can name its place."""

from __future__ import annotations

import functools
import re
import tomllib
from collections.abc import Iterator
from typing import Any

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
        raise TomlFault(_most_brackets(text), "brackets within brackets without end") from error
    except ValueError as error:  # TOMLDecodeError, and a number of thousands of digits
        found = re.search(r"\(at line (\d+), column \d+\)", str(error))
        what = re.sub(r"\s*\(at .*\)", "", str(error))
        what = what.replace("Cannot overwrite a value", "this key stands in the table already")
        line = int(found.group(1)) if found else max(1, len(text.splitlines()))
        raise TomlFault(line, what) from error


def _most_brackets(text: str) -> int:
    """The line that opens the most of them: the reader names none where it gives up."""
    opened = [line.count("[") + line.count("{") for line in text.splitlines()]
    return opened.index(max(opened)) + 1


def _check_size(text: str) -> None:
    lines = text.splitlines()
    if len(lines) > MOST_LINES:
        raise TomlFault(MOST_LINES + 1, f"{len(lines)} lines: {MOST_LINES} at the most")
    for n, line in enumerate(lines, 1):
        if len(line) > MOST_LETTERS:
            raise TomlFault(n, f"{len(line)} letters in a line: {MOST_LETTERS} at the most")


def line_of(text: str, table: str, key: str) -> int:
    """The line of `key` in `[table]`, or of the table `key` itself where `table` is "".

    The second `[[table]]` of a list is called "table[2]". Where the key is missing: the line of
    its table; where that is missing too, 1. However it is written: dotted, quoted, within braces.
    """
    lines = _lines(text)
    place = f"{table}.{key}" if table else key
    return lines.get(place) or lines.get(table) or 1


@functools.lru_cache(maxsize=4)
def _lines(text: str) -> dict[str, int]:
    """Where each table and key begins, by its name ("ring[2].lines"). Read only after a fault."""
    found: dict[str, int] = {}
    heads: dict[str, int] = {}
    here = ""
    for line, statement, data in _statements(text):
        if statement.lstrip().startswith("["):
            here = _header(data, heads)
            _keep(found, here, {}, line)
        else:
            _keep(found, here, data, line)
    return found


def _statements(text: str) -> Iterator[tuple[int, str, dict[str, Any]]]:
    """Every header and every key with its value: the fewest lines that the TOML parser takes by
    themselves, the number of the first one, and what they hold."""
    begin, open_lines = 1, ""
    for n, line in enumerate(text.splitlines(keepends=True), 1):
        begin = begin if open_lines else n
        is_open, open_lines = bool(open_lines), open_lines + line
        if is_open and not _CLOSES & set(line):
            continue  # to try each line of a long list would take its square in time
        try:
            data = tomllib.loads(open_lines)
        except (ValueError, RecursionError):
            continue
        if data:
            yield begin, open_lines, data
        open_lines = ""


_CLOSES = set("]}\"'")  # what a value of several lines ends with


def _header(data: dict[str, Any], heads: dict[str, int]) -> str:
    """The name of the table that a header opens; of a list, with its number."""
    names: list[str] = []
    while data:
        ((name, inner),) = data.items()
        names.append(name)
        if isinstance(inner, list):
            place = ".".join(names)
            heads[place] = heads.get(place, 0) + 1
            return f"{place}[{heads[place]}]"
        data = inner
    return ".".join(names)


def _keep(found: dict[str, int], here: str, data: dict[str, Any], line: int) -> None:
    """The first line of the table, of each key in it and of all that these hold."""
    if here:
        found.setdefault(here, line)
        found.setdefault(here.partition("[")[0].partition(".")[0], line)
    for name, value in data.items():
        place = f"{here}.{name}" if here else name
        found.setdefault(place, line)
        if isinstance(value, dict):
            _keep(found, place, value, line)
