"""The indexing table as a page to print."""

from __future__ import annotations

from collections.abc import Iterable

from assistant.paper import html_page
from assistant.paper.table_rows import HEADINGS, table_cells
from solver import Head, Setup

_NOTE = (
    "Arms: spaces between the sector arms; the hole that the pin is in counts as nought. "
    "Gears: from the spindle side; with or against is how the plate runs to the crank: turn the "
    "crank and watch the plate before any cut. Off by: worst position in arc-seconds."
)


def table_page(head: Head, rows: Iterable[tuple[int, Setup]]) -> str:
    """A row a division; the headings come again on every printed page."""
    body = html_page.plain_table(
        HEADINGS, (table_cells(divisions, setup) for divisions, setup in rows)
    )
    about = head.describe or head.name
    return html_page.whole_page(
        f"Indexing table: {head.name}",
        [html_page.paragraph(about), body, html_page.paragraph(_NOTE)],
    )
