"""The leads that a head's change gears give, as rows: through the worm, and on the head's spindle.

On the spindle, the worm out of mesh, the same gears give a lead shorter by the worm ratio
(Practical Treatise on Milling and Milling Machines, 1914, p. 63).
"""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from typing import NamedTuple

from assistant.job.kinds import lead_train
from assistant.job.units import Unit, in_unit
from solver import Head, Millimetres

COLUMNS = ("lead", "unit", "gear_on", "head", "stud_meshing", "stud_beside", "screw", "off")
HEADINGS = ("Lead", "First gear on", "Head", "Stud, meshing", "Stud, beside", "Screw", "Off")
WORM, SPINDLE = "worm", "spindle"


class LeadRow(NamedTuple):
    """`order` is met from the head to the screw; two gears have idlers between. `lead` in mm."""

    lead: Millimetres
    gear_on: str
    order: tuple[int, ...]


def each_lead(head: Head, screw: Millimetres) -> list[LeadRow]:
    """Every lead once, the shortest first, with a screw of so many mm; of ways to the same lead the
    one through the worm."""
    found: dict[Fraction, LeadRow] = {}
    machine = lead_train.lead_of_machine(head, screw)
    ways = [(WORM, machine)]
    if lead_train.takes_spindle_gear(head):
        ways.append((SPINDLE, screw))
    for gear_on, equal in ways:
        for ratio, order in lead_train.by_ratio(head.change_gears):
            found.setdefault(equal * ratio, LeadRow(Millimetres(equal * ratio), gear_on, order))
    return sorted(found.values())


def nearest_leads(rows: list[LeadRow], wanted: Millimetres, most: int) -> list[LeadRow]:
    """The best first; of equals the one through the worm, which can be indexed by its plate."""
    return sorted(rows, key=lambda row: (abs(row.lead - wanted), row.gear_on == SPINDLE))[:most]


def between(
    rows: list[LeadRow], least: Millimetres | None, most: Millimetres | None
) -> list[LeadRow]:
    """Those in a stretch, both ends in mm; None: open."""
    return [
        row for row in rows
        if (least is None or row.lead >= least) and (most is None or row.lead <= most)
    ]  # fmt: skip


def lead_cells(row: LeadRow, unit: Unit, wanted: Millimetres | None) -> tuple[str, ...]:
    """In the order of HEADINGS; figures to a thousandth of a millimetre, a ten-thousandth of an
    inch."""
    places = 3 if unit == "mm" else 4
    off = "" if wanted is None else _off(row, unit, wanted)
    return (f"{in_unit(row.lead, unit):.{places}f}", row.gear_on, *_gears(row), off)


def _off(row: LeadRow, unit: Unit, wanted: Millimetres) -> str:
    if row.lead == wanted:
        return "exact"
    share = float(row.lead / wanted - 1) * 100
    places = 3 if unit == "mm" else 4
    return f"{in_unit(Millimetres(row.lead - wanted), unit):+.{places}f} ({share:+.3f} %)"


def _gears(row: LeadRow) -> tuple[str, ...]:
    """Two gears stand on head and screw, with idlers between."""
    if len(row.order) == 2:
        return str(row.order[0]), "idlers", "", str(row.order[1])
    return tuple(map(str, row.order))


def lead_csv_row(row: LeadRow, unit: Unit, wanted: Millimetres | None) -> list[str]:
    """Cells in the order of COLUMNS."""
    lead, gear_on, *gears, _ = lead_cells(row, unit, wanted)
    places = 3 if unit == "mm" else 4
    off = "" if wanted is None else f"{in_unit(Millimetres(row.lead - wanted), unit):.{places}f}"
    return [lead, unit, gear_on, *("" if each == "idlers" else each for each in gears), off]


def lead_record(row: LeadRow, wanted: Millimetres | None) -> dict[str, object]:
    """JSON-ready, exact beside the number."""
    off = {} if wanted is None else {"off_mm": float(row.lead - wanted)}
    return {
        "lead_mm": float(row.lead),
        "exact_lead_mm": str(row.lead),
        "gear_on": row.gear_on,
        "order": list(row.order),
        **off,
    }


def leads_text(rows: list[LeadRow], unit: Unit, wanted: Millimetres | None) -> Iterator[str]:
    """The table for people, a line a row."""
    table = [HEADINGS, *(lead_cells(row, unit, wanted) for row in rows)]
    used = [n for n, name in enumerate(HEADINGS) if wanted is not None or name != "Off"]
    widths = {n: max(len(row[n]) for row in table) for n in used}
    for row in table:
        yield "  ".join(f"{row[n]:>{widths[n]}}" for n in used).rstrip()
