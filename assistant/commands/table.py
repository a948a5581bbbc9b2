"""`tallyhand table`: an indexing table for any head, as text, CSV, JSON or a page to print."""

from __future__ import annotations

from typing import Any

from assistant import errors
from assistant.commands import command_line, options
from assistant.commands.plan_words import chosen_head, wishes
from solver import Head, Refused

_FORMS = ("--csv", "--json", "--page", "--wall")


def main(given: options.Given) -> int:
    """Writes the table in one form. Raises WrongUse for more than one, or a span that is none."""
    if sum(form in given for form in _FORMS) > 1:
        raise errors.WrongUse(f"tallyhand table: give one of {', '.join(_FORMS)}, not several")
    head = chosen_head("table", given)
    first, last = given.whole("--from", 2), given.whole("--to", 100)
    _check_span(first, last)
    try:
        _write(head, first, last, given)
    except Refused as error:
        raise errors.WrongUse(f"tallyhand table: {error}") from error
    return command_line.DONE


def _check_span(first: int, last: int) -> None:
    if not 2 <= first <= last <= 10_000_000:
        raise errors.WrongUse(
            f"tallyhand table: from {first} to {last}: "
            "give two whole numbers from 2 to 10000000, the smaller one first"
        )


def _write(head: Head, first: int, last: int, given: options.Given) -> None:
    if "--wall" in given:
        from assistant.paper.wall_page import wall_page

        _save(given.text("--wall") or "", wall_page(head))
        return
    import sys

    from assistant.paper.table_rows import best_setups

    wished = wishes(given)
    rows = best_setups(head, first, last, wished)
    if not sys.stdout.isatty() or "--page" in given or "--json" in given:
        # Rows that run over the terminal themselves show how far it has come.
        from assistant.commands.progress import bar

        rows = bar(rows, last - first + 1, "Divisions")
    if "--csv" in given:
        _print_csv(rows)
    elif "--json" in given:
        _print_json(head, rows)
    elif "--page" in given:
        from assistant.paper.table_page import table_page

        _save(given.text("--page") or "", table_page(head, rows))
    else:
        _print_text(rows)


def _print_csv(rows: Any) -> None:
    import csv
    import sys

    from assistant.paper.table_rows import COLUMNS, table_csv_row

    writer = csv.writer(sys.stdout, lineterminator="\n")
    writer.writerow(COLUMNS)
    for divisions, setup in rows:
        writer.writerow(table_csv_row(divisions, setup))


def _print_json(head: Head, rows: Any) -> None:
    import json

    records = [{"divisions": divisions, **setup.to_record()} for divisions, setup in rows]
    print(json.dumps({"head": head.name, "rows": records}, ensure_ascii=False))


def _print_text(rows: Any) -> None:
    from assistant.paper.table_rows import HEADINGS, table_cells

    widths = (9, 12, 6, 52, 5, 36, 6)
    for row in (HEADINGS, *(table_cells(divisions, setup) for divisions, setup in rows)):
        padded = (f"{cell:<{width}}" for cell, width in zip(row, widths, strict=True))
        print(" ".join(padded).rstrip())


def _save(name: str, text: str) -> None:
    try:
        with open(name, "w", encoding="utf-8") as file:  # noqa: PTH123 (quick start)
            file.write(text)
    except OSError as error:
        raise errors.Refusal(
            f"{name!r}: {error.strerror}", "give a file that can be written", ": "
        ) from error
    print(f"{name} is written: open it in a browser and print it.")
