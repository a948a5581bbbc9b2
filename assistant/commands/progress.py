"""How far a long piece of work has come: a line on the terminal that goes when it is done.

Nothing is drawn for the first second, and nothing at all where the errors go to a file or a
pipe: what a program reads is never mixed with it.
"""

from __future__ import annotations

import sys
import time
from collections.abc import Iterable, Iterator
from typing import TextIO, TypeVar

PATIENCE_S = 1.0
_EVERY_S = 0.1
_WIDE = 24  # cells of the bar


_T = TypeVar("_T")


def bar(
    items: Iterable[_T], total: int, what: str, *, slow: bool = False, out: TextIO | None = None
) -> Iterator[_T]:
    """The same items, with a bar of how many of `total` have been taken.

    `slow`: each may take a second by itself, so that the bar is drawn before the first.
    """
    out = out or sys.stderr
    if not out.isatty():
        yield from items
        return
    drawn = time.monotonic() + (-_EVERY_S if slow else PATIENCE_S - _EVERY_S)
    shown = False
    try:
        for n, item in enumerate(items):
            now = time.monotonic()
            if slow or now - drawn >= _EVERY_S:
                drawn, shown = now, True
                out.write("\r" + progress_line(n, total, what))
                out.flush()
            yield item
    finally:
        if shown:
            out.write("\r\x1b[K")
            out.flush()


def progress_line(done: int, total: int, what: str) -> str:
    """ "Divisions [######..................] 25 %, 250 of 1000"."""
    share = min(done / total, 1.0) if total else 1.0
    full = int(share * _WIDE)
    return f"{what} [{'#' * full}{'.' * (_WIDE - full)}] {share:4.0%}, {done} of {total}"
