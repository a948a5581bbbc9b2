"""Keeps a journal to one session: a lock file beside it, and a lock on the journal itself.

The lock file alone can be removed while a session works (a tidy hand, a synchronised folder),
and a second session would take a new one of the same name. The journal can't be removed and
stay the same journal.
"""

from __future__ import annotations

import os
import sys
from contextlib import suppress
from pathlib import Path

from filelock import FileLock, Timeout

from assistant.journal.fault import JournalFault, cannot


class Lock:
    """Held from `take` to `release`, or to the end of the process."""

    def __init__(self, path: Path) -> None:
        self._path = path
        self._beside = FileLock(f"{path}.lock", timeout=0, mode=0o600)
        self._itself: int | None = None

    def take(self) -> None:
        """Raises JournalFault where another session holds the journal."""
        try:
            self._beside.acquire()
            self._itself = _lock_itself(self._path)
        except (Timeout, BlockingIOError):
            self.release()
            raise JournalFault(
                "another session has this journal open: finish or close that one first",
                named=self._path,
            ) from None
        except OSError as error:
            self.release()
            raise cannot("lock the journal", self._path, error) from error

    def release(self) -> None:
        """Harmless when nothing is held."""
        if self._itself is not None:
            # While both are held: who opened the old file meanwhile still meets the journal's own
            # lock. Where there is none of that kind the file stays.
            with suppress(OSError):
                self._path.with_name(f"{self._path.name}.lock").unlink()
            with suppress(OSError):
                os.close(self._itself)
            self._itself = None
        self._beside.release()


def _lock_itself(path: Path) -> int | None:
    """An open file whose lock goes with it. SQLite's own locks are of the other kind (fcntl),
    which Linux keeps apart from these; elsewhere they may meet, so there it is left out."""
    if sys.platform != "linux" or not path.exists():
        return None
    import fcntl

    handle = os.open(path, os.O_RDONLY)
    try:
        fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except OSError:
        os.close(handle)
        raise
    return handle
