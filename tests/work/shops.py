"""Heads and shops for the tests, from the heads that come with the program."""

from __future__ import annotations

from fractions import Fraction

from assistant.files.places import head_file
from assistant.job.part import Cutter, Machine, Part, Shop
from solver import load_head


def shop(head: str = "three-plate-40", unit: str = "mm", screw: str | None = "5",
         cutter: Cutter | None = None) -> Shop:  # fmt: skip
    machine = Machine(table_screw=Fraction(screw) if screw else None)
    return Shop(load_head(head_file(head)), unit, machine, cutter or Cutter())


def answers(part: Part) -> list[str]:
    """Refusals and warnings, for a test to look into."""
    return [each.text for each in (*part.refusals, *part.warnings)]
