"""A head while it is being described: kept on the disk after every answer.

The draft lies beside the finished heads as `NAME.draft`; a description that was left goes on
from there.
"""

from __future__ import annotations

import json
from dataclasses import asdict, dataclass, field, fields
from pathlib import Path
from typing import Any

from assistant.errors import Refusal

ENDING = ".draft"


@dataclass
class Draft:
    """What is known so far; None: not asked yet. Texts are as the person wrote them."""

    folder: Path
    name: str
    worm_ratio: str
    describe: str | None = None
    crank_turns: str | None = None  # counted for one turn of the spindle; "": not counted
    direct_circle: int | None = None  # 0: none
    plate_drive: str | None = None
    change_gears: list[int] | None = None
    idlers_for_with: int | None = None
    tilt_degrees: list[int] | None = None
    scale_degrees: str | None = None
    plates: list[list[int]] = field(default_factory=list)
    stamped: list[str] = field(default_factory=list)  # names of the plates; "": none is told
    plates_done: bool = False
    counting: bool = False  # the last plate is not counted to its end
    rows_done: bool = False

    def save(self) -> None:
        """Raises Refusal where the folder can't be written."""
        record = {key: value for key, value in asdict(self).items() if key != "folder"}
        try:
            self.folder.mkdir(parents=True, exist_ok=True)
            part = self.folder / f".{self.name}.part"
            part.write_text(json.dumps(record), "utf-8")
            part.replace(self.folder / f"{self.name}{ENDING}")
        except OSError as error:
            raise Refusal(
                f"{self.folder}: {error.strerror}", "make that folder writable"
            ) from error

    def remove(self) -> None:
        """The draft is forgotten, where there is one."""
        (self.folder / f"{self.name}{ENDING}").unlink(missing_ok=True)


def drafts(folder: Path) -> list[Draft]:
    """Those that were begun and not finished; what can't be read is passed over."""
    found = (_read(file) for file in sorted(folder.glob(f"*{ENDING}")))
    return [draft for draft in found if draft is not None]


def _read(file: Path) -> Draft | None:
    try:
        record: dict[str, Any] = json.loads(file.read_text("utf-8"))
        known = {each.name for each in fields(Draft)} - {"folder"}
        given = {key: value for key, value in record.items() if key in known}
        return Draft(file.parent, **given)
    except (OSError, ValueError, TypeError, AttributeError):
        return None


def plate_name(draft: Draft, nth: int) -> str:
    """As it is stamped, else the first of A, B, ... that no plate is called."""
    if nth < len(draft.stamped) and draft.stamped[nth]:
        return draft.stamped[nth]
    before = draft.stamped[:nth].count("") + max(0, nth - len(draft.stamped))
    free = (name for name in map(_letter, range(1000)) if name not in draft.stamped)
    return next(name for n, name in enumerate(free) if n == before)


def _letter(nth: int) -> str:
    """A, B, ... for the first, then P27 and so on."""
    return chr(ord("A") + nth) if nth < 26 else f"P{nth + 1}"
