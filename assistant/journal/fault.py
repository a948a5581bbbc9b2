"""What can go wrong with a journal, in one line with its cure."""

from __future__ import annotations

from pathlib import Path

from assistant.errors import Refusal


class JournalFault(Refusal):
    """The journal can't be made, read or written; the message names the file and the cure.

    `record` is the first record that does not fit, where that is known.
    """

    def __init__(self, message: str, record: int | None = None) -> None:
        super().__init__(message)
        self.record = record


class OutOfReach(JournalFault):
    """The disk does not allow it now: full, read-only, gone, or no right to it. It may later."""


def damaged(path: Path, why: object, record: int | None = None) -> JournalFault:
    """The fault of a journal that does not hold together, at that record where it is known,
    with the cure.
    """
    return JournalFault(
        f"{path}: the journal is damaged ({why}): it was left untouched; "
        "copy it to a safe place, then begin the job anew from the last mark on the work",
        record,
    )


_CURES = {
    "disk is full": "free some space, then: tallyhand resume",
    "No space left": "free some space, then: tallyhand resume",
    "readonly": "give yourself the right to write there, or choose another folder with --data",
    "Permission denied": "give yourself the right to write there, or choose another with --data",
    "Read-only": "choose a folder that can be written, with --data",
    "Not a directory": "choose a folder, not a file, with --data",
    "File exists": "choose a folder, not a file, with --data",
    "No such file": "bring the disk or the folder back, then: tallyhand resume",
    "unable to open": "give yourself the right to write there, or choose another with --data",
}


def cannot(what: str, path: Path, error: Exception) -> OutOfReach:
    """The fault of a file that the system does not let us at, with the cure for its reason."""
    why = getattr(error, "strerror", None) or str(error)
    cure = next((cure for sign, cure in _CURES.items() if sign in why), "look at the disk")
    return OutOfReach(f"can't {what} {path} ({why}): {cure}")
