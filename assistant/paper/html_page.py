"""The sheet that the printable pages share: plain ink on paper, nothing fetched from anywhere."""

from __future__ import annotations

from collections.abc import Iterable
from html import escape

_STYLE = """
:root { --ink: #1b1b1b; --rule: #b9b2a4; --tint: #f4f0e6; }
* { box-sizing: border-box; }
body { margin: 2rem auto; max-width: 62rem; padding: 0 1rem; color: var(--ink);
  font: 15px/1.4 "Source Sans 3", "Segoe UI", "DejaVu Sans", sans-serif; background: #fff; }
h1 { font-size: 1.7rem; margin: 0 0 .2rem; border-bottom: 3px solid var(--ink); }
h2 { font-size: 1.1rem; margin: 1.4rem 0 .4rem; }
p { margin: .3rem 0; }
table { border-collapse: collapse; width: 100%; font-variant-numeric: tabular-nums; }
th, td { text-align: left; padding: .18rem .6rem .18rem 0; border-bottom: 1px solid var(--rule);
  vertical-align: top; }
th { border-bottom: 2px solid var(--ink); }
tbody tr:nth-child(5n) td { border-bottom-color: var(--ink); background: var(--tint); }
td:first-child { font-weight: 700; }
.wall { font-size: 19px; }
.wall table { font-size: 17px; }
.warn { border: 2px solid var(--ink); padding: .5rem .8rem; margin-top: 1rem; }
@page { margin: 14mm; }
@media print {
  body { margin: 0; max-width: none; padding: 0; }
  thead { display: table-header-group; }
  tr { break-inside: avoid; } }
"""


def whole_page(title: str, parts: Iterable[str], kind: str = "") -> str:
    """A whole HTML page; `parts` are finished HTML."""
    body = "\n".join(parts)
    return (
        '<!doctype html>\n<html lang="en">\n<head>\n<meta charset="utf-8">\n'
        f"<title>{escape(title)}</title>\n<style>{_STYLE}</style>\n</head>\n"
        f'<body class="{kind}">\n<h1>{escape(title)}</h1>\n{body}\n</body>\n</html>\n'
    )


def paragraph(text: str, kind: str = "") -> str:
    """Plain words as a paragraph, escaped; `kind` is its class in the style."""
    return f'<p class="{kind}">{escape(text)}</p>' if kind else f"<p>{escape(text)}</p>"


def part_heading(text: str) -> str:
    """Plain words as a heading of a part of the page, escaped."""
    return f"<h2>{escape(text)}</h2>"


def plain_table(headings: Iterable[str], rows: Iterable[Iterable[str]]) -> str:
    """Cells of plain words as a table, escaped."""
    top = "".join(f"<th>{escape(cell)}</th>" for cell in headings)
    body = "\n".join(
        "<tr>" + "".join(f"<td>{escape(cell)}</td>" for cell in row) + "</tr>" for row in rows
    )
    return f"<table>\n<thead><tr>{top}</tr></thead>\n<tbody>\n{body}\n</tbody>\n</table>"
