"""What can go wrong with a journal, in one line with its cure."""

from __future__ import annotations

import errno
from pathlib import Path

from assistant.errors import Refusal


class JournalFault(Refusal):
    """The journal can't be made, read or written; the message names the file and the cure.

    `record` is the first record that does not fit, where that is known; `named` the file that the
    message begins with, None where the name stands further on or nowhere.
    """

    def __init__(self, message: str, record: int | None = None, named: Path | None = None) -> None:
        super().__init__(message if named is None else f"{named}: {message}")
        self.record, self.named = record, named


class OutOfReach(JournalFault):
    """The disk does not allow it now: full, read-only, gone, or no right to it. It may later."""


def damaged(path: Path, why: object, record: int | None = None) -> JournalFault:
    """The fault of a journal that does not hold together, at that record where it is known,
    with the cure.
    """
    return JournalFault(
        f"the journal is damaged ({why}): it was left untouched; "
        "copy it to a safe place, then begin the job anew from the last mark on the work",
        record,
        path,
    )


_ROOM, _BACK = "free some space", "bring the disk or the folder back"
_RIGHT = "give yourself the right to write there, or choose another folder with --data"
_FOLDER = "choose a folder, not a file, with --data"

_CURES = {
    errno.ENOSPC: _ROOM,
    errno.EDQUOT: _ROOM,
    errno.EACCES: _RIGHT,
    errno.EPERM: _RIGHT,
    errno.EROFS: "choose a folder that can be written, with --data",
    errno.ENOTDIR: _FOLDER,
    errno.EEXIST: _FOLDER,
    errno.ENOENT: _BACK,
}
"""By the system's number: its words are in the language of the machine."""

_CURES_OF_SQLITE = {8: _RIGHT, 13: _ROOM, 14: _RIGHT}
"""By SQLite's primary result codes READONLY, FULL and CANTOPEN (sqlite.org/rescode.html)."""

_MENDED = (_ROOM, _BACK)
"""After these the same command serves."""


def cannot(what: str, path: Path, error: Exception, *, begun: bool = True) -> OutOfReach:
    """The fault of a file that the system does not let us at, with the cure for its reason.

    `begun`: there is a job to go on with; where no journal could be made there is none.
    """
    cure = _cure(error)
    if cure in _MENDED:
        cure += ", then: tallyhand resume" if begun else ", then begin the job again"
    why = getattr(error, "strerror", None) or str(error)
    return OutOfReach(f"can't {what} {path} ({why}): {cure}")


def _cure(error: Exception) -> str:
    """What mends it; of SQLite's extended codes the lowest byte is the primary one."""
    code = getattr(error, "sqlite_errorcode", None)
    known = _CURES.get(getattr(error, "errno", 0)) if code is None else None
    return known or _CURES_OF_SQLITE.get((code or 0) & 0xFF, "look at the disk")
