"""What a set-up costs a person, reckoned from one table of figures: minutes and chances.

cost = time to set up + moves x time of a move + moves x chance of a slip x a spoilt blank.
The table is `config/order.toml`; each figure there has its source. Here they are whole
numbers (microseconds, and chances in thousand-millionths), so that equal ways tie exactly.
"""

from __future__ import annotations

import os
import tomllib
from collections.abc import Iterator, Mapping
from fractions import Fraction
from functools import lru_cache
from typing import NamedTuple

from solver.candidate import DIRECT, Candidate
from solver.hand import Hand
from solver.model import CostLine, Reckoning, Refused

MINUTE, SECOND = 60_000_000, 1_000_000  # microseconds
SURE = 1_000_000_000  # a chance of 1
STEEP = 2  # a train that steps up by more than this is a steep one

# Section of the table: its unit here, the most that a figure may be, what it is.
_SECTIONS = {
    "set_up": (MINUTE, 1000, "minutes"),
    "move": (SECOND, 1000, "seconds"),
    "slip": (SURE, 1, "a chance"),
    "blank": (MINUTE, 1_000_000, "minutes"),
}
_FIGURES = {
    "worm_out": "set_up", "pin_and_arms": "set_up", "plate_change": "set_up",
    "back_pin": "set_up", "level_head": "set_up", "two_gears": "set_up",
    "four_gears": "set_up", "idler": "set_up", "tight_train": "set_up", "steep_train": "set_up",
    "pin": "move", "turn": "move", "arms": "move", "counted_hole": "move",
    "changed_count": "move", "one_beyond": "move",
    "second_count": "move", "slack": "move", "dial": "move", "stiff": "move",
    "miscounted_turn": "slip", "turn_unseen": "slip", "missed_hole": "slip",
    "hole_unseen": "slip", "counted_wrong": "slip", "slack_forgotten": "slip",
    "misread_dial": "slip", "wrong_train": "slip", "several_at_a_time": "slip",
    "blank": "blank",
}  # fmt: skip

Costs = Mapping[str, int]
"""The figures by their names, in whole numbers."""


class CostItem(NamedTuple):
    """One line of a reckoning: done `times` times, each `time` long and with this chance."""

    what: str
    times: int
    time: int = 0
    slip: int = 0

    def cost(self, blank: int) -> int:
        """What it adds to the cost of a set-up, in the unit of `time`: its time, and its slips each
        at the price of a blank.
        """
        return self.times * (self.time * SURE + self.slip * blank)


# --- the table --------------------------------------------------------------------------


@lru_cache(maxsize=1)
def usual_costs() -> Costs:
    """The figures of the table that comes with the program. Raises Refused for a faulty one."""
    return costs_from_file(_table())


def _table() -> str:
    """Beside the package in a checkout, among the program's packaged files when installed."""
    above = os.path.dirname(os.path.dirname(os.path.abspath(__file__)))  # noqa: PTH100, PTH120
    beside = os.path.join(above, "config", "order.toml")  # noqa: PTH118
    packaged = os.path.join(above, "assistant", "_config", "order.toml")  # noqa: PTH118
    return beside if os.path.isfile(beside) else packaged  # noqa: PTH113


def costs_from_file(path: str) -> Costs:
    """The figures of a table. Raises Refused with file and cure."""
    try:
        with open(path, "rb") as file:  # noqa: PTH123 (pathlib costs start time)
            data = tomllib.load(file, parse_float=Fraction)
        return {name: _figure(name, data[where][name][0]) for name, where in _FIGURES.items()}
    except (OSError, ValueError, LookupError, TypeError) as error:
        what = str(error) if isinstance(error, Refused) else f"{type(error).__name__} {error}"
        raise Refused(f"{path}: {what}", "give a table like config/order.toml") from error


def _figure(name: str, value: object) -> int:
    unit, most, told = _SECTIONS[_FIGURES[name]]
    if isinstance(value, bool) or not isinstance(value, int | Fraction) or not 0 <= value <= most:
        raise Refused(f"{name} {value}", f"give {told}, from 0 to {most}")
    return round(value * unit)


def preferred(costs: Costs, figures: Mapping[str, Fraction]) -> Costs:
    """The table with other figures in it, in the table's own units. Raises Refused."""
    for name in figures:
        if name not in _FIGURES:
            raise Refused(f"{name!r} is no figure of the order", f"known are {', '.join(_FIGURES)}")
    return {**costs, **{name: _figure(name, value) for name, value in figures.items()}}


_ONCE = frozenset(
    (
        *("worm", "setting", "plate", "back pin", "level"),
        *("two gears", "four gears", "idlers", "tight", "steep"),
    )
)


# --- the reckoning ----------------------------------------------------------------------


def cost(candidate: Candidate, costs: Costs, fitted: str | None, scale: bool) -> int:
    """The whole cost, in thousand-millionths of a microsecond: only for comparing."""
    blank = costs["blank"]
    return sum(part.cost(blank) for part in parts(candidate, costs, fitted, scale))


def reckoning(candidate: Candidate, costs: Costs, fitted: str | None, scale: bool) -> Reckoning:
    """The same for people: a line for each part that costs something."""
    lines = tuple(
        CostLine(
            part.what,
            part.times,
            Fraction(part.times * part.time, MINUTE),
            Fraction(part.times * part.slip, SURE),
            part.what in _ONCE,
        )
        for part in parts(candidate, costs, fitted, scale)
        if part.times and (part.time or part.slip)
    )
    return Reckoning(lines, Fraction(costs["blank"], MINUTE))


def parts(c: Candidate, costs: Costs, fitted: str | None, scale: bool) -> Iterator[CostItem]:
    """The lines of the reckoning. `scale`: the head has a degree scale."""
    yield from _set_up(c, costs, fitted)
    yield CostItem("pin", c.hand.moves, costs["pin"])
    if c.kind == DIRECT or (c.plate is None and c.circle is not None):
        yield from _direct(c.hand, costs, scale)
    else:
        yield from _turning(c.hand, costs, scale)
        yield from _counting(c, costs)
    if c.every > 1:
        yield CostItem("several", c.hand.moves, 0, costs["several_at_a_time"])


def _set_up(c: Candidate, costs: Costs, fitted: str | None) -> Iterator[CostItem]:
    if c.plate is None:
        if c.circle is not None:
            yield CostItem("worm", 1, costs["worm_out"])
        return
    yield CostItem("setting", 1, costs["pin_and_arms"])
    if fitted not in (None, c.plate):
        yield CostItem("plate", 1, costs["plate_change"])
    if c.plate_circle is not None:
        yield CostItem("back pin", 1, costs["back_pin"])
    if c.gearing is not None:
        yield from _gears(c, len(c.gearing.drivers) == 1, c.gearing.idlers, costs)


def _gears(c: Candidate, simple: bool, idlers: int, costs: Costs) -> Iterator[CostItem]:
    yield CostItem("level", 1, costs["level_head"])
    if simple:
        yield CostItem("two gears", 1, costs["two_gears"], costs["wrong_train"])
    else:
        yield CostItem("four gears", 1, costs["four_gears"], costs["wrong_train"])
    yield CostItem("idlers", idlers, costs["idler"])
    if c.fouls:
        yield CostItem("tight", 1, costs["tight_train"])
    if c.step_up > STEEP * 1000:
        yield CostItem("steep", 1, costs["steep_train"])
    if c.step_up > 1000:
        yield CostItem("stiff", c.hand.moves * (c.step_up - 1000), costs["stiff"] // 1000)


def _direct(hand: Hand, costs: Costs, scale: bool) -> Iterator[CostItem]:
    """A hole of the direct plate is several degrees: the scale shows one too many."""
    seen = costs["turn_unseen"] if scale else SURE
    yield CostItem("holes", hand.holes, costs["counted_hole"])
    yield CostItem("count", hand.counts, 0, costs["counted_wrong"] * seen // SURE)


def _turning(hand: Hand, costs: Costs, scale: bool) -> Iterator[CostItem]:
    yield CostItem("turning", hand.turned, costs["turn"] // 1000)
    seen = costs["turn_unseen"] if scale else SURE
    yield CostItem("turns", hand.turning, 0, costs["miscounted_turn"] * seen // SURE)


def _counting(c: Candidate, costs: Costs) -> Iterator[CostItem]:
    hand = c.hand
    if c.plate is None:
        yield CostItem("dial", hand.counts, costs["dial"], costs["misread_dial"])
        return
    if hand.changing:
        yield CostItem("holes", hand.holes, costs["counted_hole"])
        yield CostItem("changing", hand.counts, costs["changed_count"], costs["counted_wrong"])
    else:
        slip = costs["missed_hole"] * costs["hole_unseen"] // SURE
        yield CostItem("count", hand.counts, costs["arms"], slip)
        yield CostItem("beyond", hand.beyond, costs["one_beyond"], costs["counted_wrong"])
    if hand.plate_counts:
        yield CostItem(
            "second count", hand.plate_counts, costs["second_count"], costs["counted_wrong"]
        )
        yield CostItem("plate holes", hand.plate_holes, costs["counted_hole"])
    yield CostItem("slack", hand.back, costs["slack"], costs["slack_forgotten"])
