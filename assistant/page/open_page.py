"""Opens the bench page as the settings ask, and tells the terminal where it is."""

from __future__ import annotations

import errno
import io
import sys
from pathlib import Path
from typing import TextIO

from assistant.files.settings import PageSettings
from assistant.page.access import KEY_FILE, kept_key
from assistant.page.display import PageDisplay


def open_page(settings: PageSettings, journal: Path) -> PageDisplay | None:
    """The page, served already; None where it is switched off or can't be had, with a line why.

    Beside the journal lies the key of a page on the network, so that its code stays the same.
    """
    if not settings.serve:
        return None
    key = kept_key(journal.with_name(KEY_FILE)) if settings.network else ""
    page = _listen(settings, settings.port, key, journal.name)
    if page is not None:
        _tell(page, bool(key))
    return page


def _listen(settings: PageSettings, port: int, key: str, session: str) -> PageDisplay | None:
    """On the port asked for, or on any free one when another session has it."""
    try:
        return PageDisplay(port, key, settings.address, session)
    except OSError as error:
        why = error.strerror or str(error)
        if error.errno == errno.EADDRINUSE and port:
            print(f"Port {port} is taken: the bench page takes another one.", file=sys.stderr)
            return _listen(settings, 0, key, session)
        print(f"No bench page ({why}): the session goes on without it.", file=sys.stderr)
        return None


def _tell(page: PageDisplay, network: bool) -> None:
    if network:
        print(code(page.address, sys.stderr), file=sys.stderr)
        print("Whoever has this address can see the session and press its buttons.",
              file=sys.stderr)  # fmt: skip
    print(f"Bench page: {page.address}", file=sys.stderr)
    if network and sys.stdin.isatty() and sys.stderr.isatty():
        print("Scan the code with the tablet, then press Enter to begin.", file=sys.stderr)
        sys.stdin.readline()


def code(address: str, out: TextIO) -> str:
    """The address as a QR code of half blocks; "" where it can't be drawn."""
    import segno

    drawn = io.StringIO()
    segno.make(address, micro=False).terminal(out=drawn, compact=True)
    try:
        drawn.getvalue().encode(out.encoding or "ascii")
    except (UnicodeEncodeError, LookupError):
        return ""
    return drawn.getvalue()
