"""What the ears reached in the benchmark, by noise and decibels, as data for the program.

`python -m assistant.hearing.accuracy docs/hearing-figures.md` takes the figures from the page
that the benchmark writes into `data/accuracy.json`; a test holds the two together.
"""

from __future__ import annotations

import json
import re
import sys
from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path
from typing import Any

FILE = Path(__file__).parent / "data" / "accuracy.json"
CLEAN = "clean"
_ROW = re.compile(r"^\|(.+)\|\s*$")
_PAIR = re.compile(r"([\d.]+) / ([\d.]+)")
_EARS = {"trained": "trained", "grammar": "grammar", "whisper": "whisper"}


@dataclass(frozen=True, slots=True)
class Expectation:
    """Of a hundred phrases by voices that the ear never heard, so many are taken, and so many
    taken for another phrase. `low` and `high` are the neighbours in the benchmark's table."""

    low: float
    high: float
    wrong: float


def from_page(text: str) -> dict[str, Any]:
    """The first table with a column of decibels, and the one of a voice that was learned."""
    ears: list[str] = []
    found: dict[str, dict[str, dict[str, list[float]]]] = {}
    learned: dict[str, list[float]] = {}
    for line in text.splitlines():
        row = _ROW.match(line)
        cells = [cell.strip() for cell in row.group(1).split("|")] if row else []
        if not cells:
            ears = ears if line.strip() else []
        elif cells[:2] == ["noise", "dB"]:
            ears = [_EARS.get(cell.split()[0], cell) for cell in cells[2:]]
        elif cells[0] in ("as shipped", "after learning"):
            learned[cells[0]] = [float(pair[0]) for pair in _PAIR.findall(line)]
        elif ears and len(cells) == len(ears) + 2:
            for ear, cell in zip(ears, cells[2:], strict=True):
                if pair := _PAIR.search(cell):
                    values = [float(pair[1]), float(pair[2])]
                    found.setdefault(ear, {}).setdefault(cells[0], {})[cells[1]] = values
    return {"ears": found, "learned": learned}


def expected_accuracy(ear: str, decibels: float, noise: str = "mill") -> Expectation | None:
    """What to expect of this ear with the voice so many dB over the noise; None where the benchmark
    has no figures of it. Between two rows of the table both are given, never a value between."""
    table: dict[str, Any] = json.loads(FILE.read_text("utf-8"))["ears"].get(ear, {})
    rows = {float(at): (pair[0], pair[1]) for at, pair in table.get(noise, {}).items()}
    if not rows:
        return None
    if CLEAN in table:
        rows[40.0] = tuple(table[CLEAN]["-"])
    steps = sorted(rows)
    for below, above in reversed(list(pairwise(steps))):
        # A few clips more by chance: nobody is promised more in noise than in the clear.
        rows[below] = (min(rows[below][0], rows[above][0]), rows[below][1])
    if decibels <= steps[0]:
        return Expectation(0.0, rows[steps[0]][0], rows[steps[0]][1])
    for below, above in pairwise(steps):
        if decibels < above:
            pairs = rows[below], rows[above]
            low, high = sorted(pair[0] for pair in pairs)
            return Expectation(low, high, max(pair[1] for pair in pairs))
    last = rows[steps[-1]]
    return Expectation(last[0], last[0], last[1])


def learned_share() -> tuple[float | None, float | None]:
    """Of a hundred phrases in hard noise: taken before and after the ear learned the voice."""
    record: dict[str, list[float]] = json.loads(FILE.read_text("utf-8"))["learned"]
    before, after = record.get("as shipped"), record.get("after learning")
    return (before[-1] if before else None), (after[-1] if after else None)


def main(words: list[str]) -> int:
    """Take the figures from a page."""
    record = from_page(Path(words[0]).read_text("utf-8"))
    FILE.write_text(json.dumps(record, indent=1) + "\n", "utf-8")
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
