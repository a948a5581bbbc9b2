"""`tallyhand leads`: the leads that the change gears give for helical work, as a table."""

from __future__ import annotations

import csv
import json
import sys
from argparse import Namespace

from assistant import errors
from assistant.commands import command_line
from assistant.commands.plan_words import owned, read_head, usual_head
from assistant.job.kinds import lead_train
from assistant.job.units import Unit, millimetres_from_text, shown
from assistant.paper import lead_rows
from solver import Head, Millimetres, Refused


def main(given: Namespace) -> int:
    """0 with the leads that were asked for. Raises Refusal for a head without change gears."""
    head = read_head(given.head) if given.head else owned().of(read_head(usual_head("leads")))
    if not head.change_gears:
        raise errors.Refusal(
            f"tallyhand leads: head {head.name} has no change gears",
            "use one that the table screw can drive, like three-plate-40-geared, or add "
            "change_gears to its file",
            ": ",
        )
    screw, unit = _length("--screw", given.screw)
    wanted = _maybe("--lead", given.lead)
    rows = lead_rows.each_lead(head, screw)
    if wanted is not None:
        rows = lead_rows.nearest_leads(rows, wanted, given.most)
    rows = lead_rows.between(rows, _maybe("--from", given.first), _maybe("--to", given.last))
    _print(given, head, Millimetres(screw), unit, rows, wanted)
    return command_line.DONE


def _length(option: str, text: str) -> tuple[Millimetres, Unit]:
    try:
        return millimetres_from_text(text)
    except Refused as error:
        raise errors.WrongUse(f"tallyhand leads: {option} {error}") from error


def _maybe(option: str, text: str | None) -> Millimetres | None:
    return None if text is None else _length(option, text)[0]


def _print(
    given: Namespace, head: Head, screw: Millimetres, unit: Unit, rows: list[lead_rows.LeadRow],
    wanted: Millimetres | None,
) -> None:  # fmt: skip
    if given.json:
        found = [lead_rows.lead_record(row, wanted) for row in rows]
        machine = float(lead_train.lead_of_machine(head, screw))
        print(json.dumps({"head": head.name, "lead_of_machine_mm": machine, "leads": found}))
    elif given.csv:
        writer = csv.writer(sys.stdout, lineterminator="\n")
        writer.writerow(lead_rows.COLUMNS)
        writer.writerows(lead_rows.lead_csv_row(row, unit, wanted) for row in rows)
    else:
        for line in _told(head, screw, unit, rows, wanted):
            print(line)


def _told(
    head: Head,
    screw: Millimetres,
    unit: Unit,
    rows: list[lead_rows.LeadRow],
    wanted: Millimetres | None,
) -> list[str]:
    machine = shown(lead_train.lead_of_machine(head, screw), unit)
    lines = [f"{head.name}, table screw {shown(screw, unit)}: lead of the machine {machine}"]
    if not rows:
        return [*lines, "No train of these gears that clears gives a lead there."]
    lines += ["", *lead_rows.leads_text(rows, unit, wanted), ""]
    lines.append(
        "Met from head to screw; only trains that clear. Idlers decide the hand: prove it."
    )
    if any(row.gear_on == lead_rows.SPINDLE for row in rows):
        lines.append(
            "On the spindle: worm out of mesh, and the plate can't index. Part the gears, and "
            "go on by the direct plate and by whole teeth of the first gear."
        )
    return lines
