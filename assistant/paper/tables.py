"""A table as a file of another program: CSV, or Parquet through PyArrow (an extra)."""

from __future__ import annotations

import csv
import io
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from assistant.errors import Refusal

ENDINGS = (".csv", ".parquet")
_FORMULA = ("=", "+", "-", "@", "\t", "\r")
_CURE = "pip install 'tallyhand[parquet]', or write a .csv"

TableRows = Sequence[Sequence[Any]]
Kinds = Mapping[str, type]
"""What a column holds where it is not words: int, float or bool."""

_WORDS: Kinds = {}


def as_csv(columns: Sequence[str], rows: TableRows) -> bytes:
    """With the mark by which spreadsheets know UTF-8; what they would run is put in as words."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow(columns)
    writer.writerows([tame(cell) for cell in row] for row in rows)
    return out.getvalue().encode("utf-8-sig", "replace")


def tame(cell: Any) -> Any:
    """A word that a spreadsheet would take for a formula gets a quote mark before it."""
    if isinstance(cell, str) and cell.startswith(_FORMULA):
        return f"'{cell}"
    return "" if cell is None else cell


def as_parquet(columns: Sequence[str], rows: TableRows, kinds: Kinds = _WORDS) -> bytes:
    """Each column of its own kind; blanks stay blanks. Raises Refusal without PyArrow.

    The kinds are told and not guessed from the cells: a column that is blank in one shop has to
    fit the same column of another.
    """
    try:
        import pyarrow
        from pyarrow import parquet
    except ImportError as error:
        raise Refusal(f"Parquet needs PyArrow ({error})", _CURE, ": ") from error
    known = {int: pyarrow.int64(), float: pyarrow.float64(), bool: pyarrow.bool_()}
    cells = {
        name: pyarrow.array(
            [row[n] for row in rows], known.get(kinds.get(name, str), pyarrow.string())
        )
        for n, name in enumerate(columns)
    }
    sink = pyarrow.BufferOutputStream()
    parquet.write_table(pyarrow.table(cells), sink)
    written: bytes = sink.getvalue().to_pybytes()
    return written


def write_table(out: Path, columns: Sequence[str], rows: TableRows, kinds: Kinds) -> None:
    """By the ending of the name. Raises Refusal."""
    ending = out.suffix.lower()
    if ending not in ENDINGS:
        raise Refusal(f"{out}", f"give a file that ends in {', '.join(ENDINGS)}", ": ")
    data = as_csv(columns, rows) if ending == ".csv" else as_parquet(columns, rows, kinds)
    try:
        out.write_bytes(data)
    except OSError as error:
        raise Refusal(
            f"{out}: can't write it ({error.strerror})", "choose another place", ": "
        ) from None
