"""Makes docs/order.md: the first choice for 2 to 400 beside what it was in a fixed order.

`python -m tests.docs.order` writes it. What was is in order_before.txt; what is, the solver says.
"""

from __future__ import annotations

import re
from collections import defaultdict
from fractions import Fraction
from math import prod

from solver import Gearing, Move, Setup, plan
from tests.commands import ROOT
from tests.solver.heads import shipped

PAGE = ROOT / "docs" / "order.md"
BEFORE = ROOT / "tests" / "docs" / "order_before.txt"
HEADS = ("three-plate-40-geared", "two-sided-40", "three-plate-40")
Row = tuple[int, str, str]

_CLASSES = {
    "two counts": "two counts a cut gave way to a simple train",
    "back": "the same, and the plate came back at every move",
    "steep": "the train stepped up by more than two; a lower one of as many gears is there",
    "four gears": "two gears stepped up by more than two, and over so many moves four that step "
    "up less cost less",
    "lower": "the train that steps up less, or needs an idler less",
    "changed over": "the two circles changed over, or another pair: lighter to count",
    "arms": "of equal errors, the circle where fewer moves go beyond the arms as they stand",
    "other": "the lighter count",
}
_INTRODUCTION = """\
# The order, 2 to 400: what changed, and why

The first choice of the solver on the shipped heads, as it was while methods stood in a fixed order
(direct, plain, compound, differential), and as it is by the reckoning of `config/order.toml`.
Nothing told of the plate on the head, no tolerance. Divisions that are not listed kept their first
choice. `+` and `−` are the second count, plate and crank together; `…` a count that is not the same
at every move; a pair of figures is drivers into driven, from the spindle. What was is of
26 November 2026; what is was made by `python -m tests.docs.order`, and a test holds the page to it.
Every row was proved when it was planned.
"""


def page() -> str:
    return "\n".join([_INTRODUCTION, *(_of_head(name) for name in HEADS)]).rstrip() + "\n"


def _of_head(name: str) -> str:
    was, on = before(name), shipped(name)
    rows: dict[str, list[Row]] = defaultdict(list)
    for n, old in was.items():
        setup = plan(on, divisions=n, most=1)[0]
        new = told(setup)
        if new != old:
            rows[_class(old, new, setup)].append((n, old, new))
    lines = [f"## {name}: {sum(map(len, rows.values()))} of {len(was)} changed", ""]
    for each, words in _CLASSES.items():
        if each in rows:
            lines += [f"### {len(rows[each])}: {words}", "", "| divisions | before | now |"]
            lines += ["|---|---|---|", *("| {} | {} | {} |".format(*row) for row in rows[each]), ""]
    return "\n".join(lines)


def before(name: str) -> dict[int, str]:
    """What was put first, by divisions."""
    lines = (line.partition(": ") for line in BEFORE.read_text("utf-8").splitlines())
    return {
        int(place.split()[1]): words for place, _, words in lines if place.startswith(name + " ")
    }


def told(setup: Setup) -> str:
    """`29/43; 86 into 24`: the first move, and the gears."""
    words = _move(setup.moves[0]) + (" …" if len(setup.moves) > 1 else "")
    if setup.gearing:
        words += f"; {_train(setup.gearing)}"
    return words + (f"; {setup.every} at a time" if setup.every > 1 else "")


def _move(move: Move) -> str:
    if move.direct_circle:
        return f"{move.direct_holes} of {move.direct_circle} direct"
    if not (move.holes or move.plate_circle):
        return f"{move.turns} turns"
    words = f"{move.turns} t " * bool(move.turns) + f"{move.holes}/{move.circle}"
    if not move.plate_circle:
        return words
    return f"{words} {'+−'[move.plate_holes < 0]} {abs(move.plate_holes)}/{move.plate_circle}"


def _train(gearing: Gearing) -> str:
    pairs = zip(gearing.drivers, gearing.driven, strict=True)
    return ", ".join(f"{driver} into {driven}" for driver, driven in pairs)


def _class(old: str, new: str, setup: Setup) -> str:
    if "into" in old and "into" in new:
        if new.count("into") > old.count("into"):
            return "four gears"
        return "steep" if _step_up(old) > 2 else "lower"
    if re.search(r" [+−] ", old):
        return "changed over" if "into" not in new else "back" if "−" in old else "two counts"
    beyond = setup.reckoning and any(line.what == "beyond" for line in setup.reckoning.lines)
    return "arms" if beyond else "other"


def _step_up(words: str) -> Fraction:
    return prod((Fraction(int(a), int(b)) for a, b in re.findall(r"(\d+) into (\d+)", words)),
                start=Fraction(1))  # fmt: skip


if __name__ == "__main__":
    PAGE.write_text(page(), "utf-8")
