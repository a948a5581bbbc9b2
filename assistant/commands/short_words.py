"""The words of the commands that must start quickly. They are read, and `--help` is shown, before
anything that the commands work with is imported.
"""

from __future__ import annotations

from typing import NamedTuple

from assistant.commands import options


class Words(NamedTuple):
    """What a command does, an example that works, and its options."""

    what: str
    example: str
    table: tuple[options.Option, ...]


_PLAN = Words(
    "Works out how to index on a head: the ways that there are, best first, each proved.",
    "tallyhand plan --head three-plate-40 --divisions 21",
    (
        ("--head", "NAME_OR_FILE", "a head by its name, or your own head file"),
        ("--divisions", "N", "equal divisions, 2 to 10 million"),
        (
            "--angle",
            "ANGLE",
            "one move: 8d50m, 8°50', 8:50, 8.8333, 2/3 (degrees), 7/51 turn, 12 thou at 1.5 in",
        ),
        ("--positions", "FILE", "one angle a line, from 0, rising; - reads standard input"),
        ("--rings", "N,N,...", "several rings, with the fewest changes of plate"),
        ("--fitted", "PLATE", "the plate that is on the head now"),
        ("--tolerance", "ERROR", "error that is good enough: 30 (arc-seconds), 0.02 mm at 35 mm"),
        ("--radius", "LENGTH", "also give errors as a length at this radius: 35 mm, 1.5 in"),
        ("--prefer", "WISH,...", "a method to come first, or a figure of the order: blank=240"),
        ("--reckoning", "", "show every line of what the first way is reckoned to cost"),
        ("--most", "K", "so many ways at most (text shows 4 unless told; JSON all)"),
        ("--moves", "", "show every move"),
        ("--errors", "", "show the error of every position of the best way"),
        ("--json", "", "write JSON only"),
        ("--help", "", "this text"),
    ),
)
_TABLE = Words(
    "An indexing table for a head: a row a division, the best set-up in each.",
    "tallyhand table --head three-plate-40 --from 2 --to 100 --page table.html",
    (
        ("--head", "NAME_OR_FILE", "a head by its name, or your own head file"),
        ("--from", "N", "first division (2 unless told)"),
        ("--to", "N", "last division (100 unless told)"),
        ("--fitted", "PLATE", "the plate that is on the head now"),
        ("--prefer", "WISH,...", "a method to come first, or a figure of the order: blank=240"),
        ("--tolerance", "ERROR", "error that is good enough: 30 (arc-seconds), 0.02 mm at 35 mm"),
        ("--radius", "LENGTH", "radius for a tolerance given as a length"),
        ("--csv", "", "write CSV"),
        ("--json", "", "write JSON only"),
        ("--page", "FILE", "write the table as a page to print (HTML)"),
        ("--wall", "FILE", "write a page for the wall by the machine: the head at a glance (HTML)"),
        ("--help", "", "this text"),
    ),
)

SHORT = {"plan": _PLAN, "table": _TABLE}


def read_or_help(command: str, words: list[str]) -> options.Given | None:
    """What was given; None where `--help` was asked for, and is shown. Raises WrongUse."""
    known = SHORT[command]
    if "--help" in words or "-h" in words:
        print(options.help_text(command, known.what, known.table, known.example))
        return None
    return options.read_words(command, known.table, words)
