"""A file of angles, one a line, from 0, rising; blank lines and `#` remarks are skipped."""

from __future__ import annotations

import sys
from pathlib import Path

from assistant.errors import Refusal, passed_on
from solver import Refused, Turns, angle_from_text


def read_positions(name: str) -> list[Turns]:
    """The angles in turns. Raises Refusal with the file and the line."""
    where = "standard input" if name == "-" else name
    places: list[Turns] = []
    for n, line in enumerate(_text(name).splitlines(), 1):
        bare = line.split("#")[0].strip()
        if bare:
            places.append(_place(bare, f"{where} line {n}", places))
    if not places:
        raise Refusal(f"{where}: no angles in it", "give one a line, from 0", ": ")
    return places


def _text(name: str) -> str:
    if name == "-":
        return sys.stdin.read()
    try:
        return Path(name).read_text(encoding="utf-8")
    except UnicodeDecodeError as error:
        raise Refusal(f"{name}: this is no text file", "give one angle a line", ": ") from error
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or "no such file"
        raise Refusal(f"{name!r}: {reason}", "give a file with one angle a line", ": ") from error


def _place(text: str, where: str, before: list[Turns]) -> Turns:
    try:
        place = angle_from_text(text)
    except Refused as error:
        raise passed_on(error, str(where)) from error
    if place > 1:
        raise Refusal(
            f"{where}: {text} passes a full turn", "angles lie from 0 to 360 degrees", ": "
        )
    if before and place <= before[-1]:
        raise Refusal(f"{where}: {text} is not past the angle before it", "list them rising", ": ")
    return place
