"""What every command shares: one-line errors, exit codes, the example in `--help`.

Exit codes: 0 done, 1 refused or a finding, 2 wrong use.
"""

from __future__ import annotations

import sys

from assistant.plain_text import plain

# A name that type checkers take for true; importing it from `typing` would cost start time.
TYPE_CHECKING = False
if TYPE_CHECKING:
    from assistant.argument_parser import Parser as Parser  # noqa: PLC0414 (passed on)

DONE, REFUSED, WRONG_USE = 0, 1, 2
LONGEST = 4000  # letters of a complaint: a path may be long


class WrongUse(Exception):
    """The command line itself is wrong; the message says what and the cure, in one line."""


class Refusal(Exception):
    """The command was right but can't be carried out; one line with the place and the cure."""


def complain(message: str) -> None:
    """One line on stderr. What it quotes may be anybody's: nothing in it steers the terminal."""
    print(plain(message, LONGEST), file=sys.stderr)


def tell(message: str) -> None:
    """A last word on stderr; a terminal that was closed meanwhile hears nothing."""
    try:
        print(message, file=sys.stderr)
    except OSError:
        return


def __getattr__(name: str) -> object:
    # `plan` and `table` never need argparse, and have to start quickly.
    if name == "Parser":
        from assistant.argument_parser import Parser

        return Parser
    raise AttributeError(f"module 'assistant.cli' has no attribute {name!r}")
