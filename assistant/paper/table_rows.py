"""The rows of an indexing table: the best set-up of each division, as cells of text."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from assistant.paper.plan_text import move_text
from solver import Head, Setup, plan

COLUMNS = (
    "divisions", "method", "plate", "circle", "turns", "holes", "plate_holes", "plate_circle",
    "direct_holes", "minutes", "sector_spaces", "every", "drivers", "driven", "idlers",
    "plate_runs", "exact", "worst_error_arcsec", "true_error_arcsec",
)  # fmt: skip

ARCSEC_PER_TURN = 360 * 60 * 60

HEADINGS = ("Divisions", "Method", "Plate", "Move", "Arms", "Gears", "Off by")


def best_setups(
    head: Head, first: int, last: int, wished: dict[str, Any]
) -> Iterator[tuple[int, Setup]]:
    """Each division with its best set-up; `wished` goes to `plan`. Raises solver.Refused."""
    block = head.plate_drive == "block"
    for divisions in range(first, last + 1):
        if block and head.direct_circle[0] % divisions:
            continue
        setups = plan(head, divisions=divisions, most=1, **wished)
        yield divisions, setups[0]


def table_csv_row(divisions: int, setup: Setup) -> list[Any]:
    """Cells in the order of COLUMNS; what differs from move to move is left empty."""
    move = setup.moves[0]._asdict() if len(setup.moves) == 1 else {}
    gears = setup.gearing
    cells = {
        **move,
        **setup._asdict(),
        "divisions": divisions,
        "exact": "yes" if setup.exact else "no",
        "worst_error_arcsec": f"{setup.worst_error_arcsec:.2f}",
        "true_error_arcsec": _true(setup),
        "drivers": " ".join(map(str, gears.drivers)) if gears else "",
        "driven": " ".join(map(str, gears.driven)) if gears else "",
        "idlers": gears.idlers if gears else "",
        "plate_runs": gears.plate if gears else "",
    }
    if setup.method == "direct":
        cells |= {"turns": "", "holes": ""}
    return ["" if cells.get(name) is None else cells.get(name) for name in COLUMNS]


def _true(setup: Setup) -> str:
    """With the head's own errors; empty where it was never measured."""
    known = setup.true_error
    return "" if known is None else f"{float(known * ARCSEC_PER_TURN):.2f}"


def table_cells(divisions: int, setup: Setup) -> tuple[str, ...]:
    """Cells in the order of HEADINGS, for people."""
    gears = setup.gearing
    train = ""
    if gears:
        pairs = zip(gears.drivers, gears.driven, strict=True)
        train = ", ".join(f"{driver} into {driven}" for driver, driven in pairs)
        train += f"; {gears.idlers} idl., {gears.plate}"
    return (
        str(divisions),
        setup.method + (f", {setup.every} at a time" if setup.every > 1 else ""),
        "any" if setup.any_plate else setup.plate or "",
        _move(setup),
        str(setup.sector_spaces or ""),
        train,
        _off(setup),
    )


def _off(setup: Setup) -> str:
    """Of the moves; of the work where the head was measured."""
    if setup.true_error is not None:
        return f'{float(setup.true_error * ARCSEC_PER_TURN):.0f}"'
    return "" if setup.exact else f'{setup.worst_error_arcsec:.0f}"'


def _move(setup: Setup) -> str:
    if len(setup.moves) == 1:
        return move_text(setup.moves[0])
    other = next((move.plate_circle for move in setup.moves if move.plate_circle), None)
    circles = f"{setup.circle}" if other is None else f"{setup.circle} and {other}"
    return f"each its own, on {circles}" if setup.circle else "each its own, on the dial"
