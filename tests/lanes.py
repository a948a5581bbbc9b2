"""Which lane of the tests is run, and how far a test goes in it.

`day` is the lane of every run; `quick` is the part of it that needs the processor alone; `release`
is what takes too long for every day: tests marked so, and those marked `longer` at full length.
"""

from __future__ import annotations

import os
from collections import defaultdict
from collections.abc import Callable, Iterable
from typing import Any
from zlib import crc32

import pytest

LANES = ("day", "quick", "release", "all")
NAME = "TALLYHAND_TEST_LANE"
# The quick lane: the core (table, solver, contract of kinds, words, journal), the house, and the
# pages that are made from code.
QUICK = (
    "engine/", "solver/", "kinds/", "kept/", "work/test_answers.py", "work/test_pages.py",
    "work/test_units.py", "journal/test_chain.py", "journal/test_journal.py",
    "journal/test_replay.py", "language/test_catalogue_tool.py", "docs/test_manual.py",
    "docs/test_named.py", "trust/test_lock.py", "whole/test_house.py", "whole/test_lanes.py",
)  # fmt: skip
# Where whole programs run as processes, and are waited for: tried once more when they fail.
WAITING = tuple(f"tests/{folder}/" for folder in ("devices", "newcomer", "page", "trust", "whole"))
QUICK_OUT = ("release", "live", "slow")  # and of these not what is marked so


def in_full() -> bool:
    """Whether tests run at full length. Known once pytest has read its command line."""
    return os.environ.get(NAME, "day") in ("release", "all")


def length(day: int, full: int, name: str = "") -> int:
    """How many trials: `day` of them, `full` at full length, or what the variable `name` says.

    Mark the test `longer`, or the release lane passes it by.
    """
    given = os.environ.get(name, "") if name else ""
    return int(given) if given else full if in_full() else day


def of_share(name: str, shares: int) -> int:
    """In which of so many shares this name falls, from 0; the same in each run."""
    return crc32(name.encode()) % shares


def drawn(
    cases: Iterable[Any],
    share: int,
    name: Callable[[Any], str] = str,
    sort: Callable[[Any], object] = lambda case: None,
) -> list[Any]:
    """The cases as parameters: one in `share` of each sort for every day, at least one; the others
    are marked `release`. Drawn by the names, never by place: the same ones at each run."""
    sorts = defaultdict(list)
    for case in cases:
        sorts[sort(case)].append(case)
    made = []
    for several in sorts.values():
        several.sort(key=lambda case: crc32(name(case).encode()))
        daily = -(-len(several) // share)
        for n, case in enumerate(several):
            marks = () if n < daily else pytest.mark.release
            made.append(pytest.param(case, marks=marks, id=name(case)))
    return sorted(made, key=lambda each: each.id)


def wanted(lane: str, marks: set[str], file: str) -> bool:
    """Whether a test with these marks is of the lane; `file` is told from the tests' folder."""
    if lane == "all":
        return True
    if lane == "release":
        return bool(marks & {"release", "longer"})
    if lane == "quick":
        return file.startswith(QUICK) and not marks & set(QUICK_OUT)
    return "release" not in marks
