"""The journal's witness: a small file beside it that says how far the journal once reached.

A journal that was cut short at the edge of a record looks whole. The witness knows better:
it is written after each record is safe, so it never runs ahead of an honest journal. It is
not synced (a record costs one sync, not two): after a power cut it may lag, and then it
only knows less.

It holds the journal's turn as well: the order in which jobs were taken up, whatever the
clock said.
"""

from __future__ import annotations

import os
import re
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path

ENDING = ".witness"
_LINE = "turn {:012d} records {:012d}\n"
_PATTERN = re.compile(rb"turn (\d{12}) records (\d{12})\n")


@dataclass(frozen=True, slots=True)
class Word:
    """What a witness says. Without one (a journal copied alone) it knows of nothing."""

    turn: int = 0
    records: int = 0


def word(journal: Path) -> Word:
    """What the journal's witness says. One that can't be read says nothing."""
    try:
        found = _PATTERN.fullmatch(_beside(journal).read_bytes())
    except OSError:
        return Word()
    return Word(int(found[1]), int(found[2])) if found else Word()


def next_turn(folder: Path) -> int:
    """A turn later than that of every journal in the folder."""
    return 1 + max((word(path).turn for path in _journals_of(folder)), default=0)


def _journals_of(folder: Path) -> list[Path]:
    return [path.with_suffix("") for path in folder.glob(f"*{ENDING}")]


def _beside(journal: Path) -> Path:
    return Path(f"{journal}{ENDING}")


class Witness:
    """Held by the session that writes the journal. What it can't write it leaves unsaid:
    the record itself is safe by then."""

    def __init__(self, journal: Path, turn: int, records: int) -> None:
        self._turn = turn
        self._file: int | None = None
        with suppress(OSError):
            # A link planted under this name is not followed to another file.
            flags = os.O_RDWR | os.O_CREAT | getattr(os, "O_BINARY", 0)
            flags |= getattr(os, "O_NOFOLLOW", 0)
            self._file = os.open(_beside(journal), flags, 0o600)
        self.note(records)
        self._sync()

    def note(self, records: int) -> None:
        """The journal holds this many records, all of them on the disk."""
        if self._file is None:
            return
        with suppress(OSError):
            os.lseek(self._file, 0, os.SEEK_SET)
            os.write(self._file, _LINE.format(self._turn, records).encode("ascii"))

    def _sync(self) -> None:
        """The turn is worth a sync: once for each time that a job is taken up."""
        if self._file is not None:
            with suppress(OSError):
                os.fsync(self._file)

    def close(self) -> None:
        """Lets the file go; what it says stays."""
        if self._file is not None:
            with suppress(OSError):
                os.close(self._file)
            self._file = None
