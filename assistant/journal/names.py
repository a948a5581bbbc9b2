"""Which files are journals; light, since a list of ten thousand begins here."""

from __future__ import annotations

from pathlib import Path

from assistant.journal.fault import cannot

VERSION = 3
ENDING = ".journal"


def journals(folder: Path) -> list[Path]:
    """The journals in the folder, oldest first. An absent folder holds none. Raises JournalFault
    for one that can't be read."""
    try:
        return sorted(folder.glob(f"*{ENDING}"))
    except OSError as error:
        raise cannot("read the data folder", folder, error) from error
