"""What every command shares: exit codes, and one line on stderr.

Exit codes: 0 done, 1 refused or a finding, 2 wrong use.
"""

from __future__ import annotations

import sys

from assistant.words.plain_text import plain

DONE, REFUSED, WRONG_USE = 0, 1, 2
LONGEST = 4000  # letters of a complaint: a path may be long


def complain(message: str) -> None:
    """One line on stderr. What it quotes may be anybody's: nothing in it steers the terminal."""
    print(plain(message, LONGEST), file=sys.stderr)


def tell(message: str) -> None:
    """A last word on stderr; a terminal that was closed meanwhile hears nothing."""
    try:
        print(message, file=sys.stderr)
    except OSError:
        return


def version() -> str:
    """The program's version, and the form of the journals that it writes: a journal that asks for
    an update names the form that it needs."""
    from assistant import __version__
    from assistant.journal.names import VERSION

    return f"{__version__} (journal format {VERSION})"
