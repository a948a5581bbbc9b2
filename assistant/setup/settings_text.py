"""The settings file, changed value by value: every comment and every other line stays.

A change is on the disk before the next question: leaving loses nothing. What would not be read
back is never written, and the file as it was before the first change is kept beside it.
"""

from __future__ import annotations

import os
import time
from pathlib import Path

import tomlkit
from tomlkit.items import Table

from assistant.errors import Refusal
from assistant.files.places import config_folder
from assistant.files.settings import FILE_NAME, Settings, read_settings

_HEADER = """# Settings of tallyhand, written by `tallyhand setup`. Run it again at any time, or
# change a line here: what you write yourself stays.
"""


class SettingsText:
    """Raises Refusal, naming the line, for a file that is there and can't be read."""

    def __init__(self, file: Path) -> None:
        self.file = file
        self.settings = read_settings(file) if file.exists() else Settings(file)
        self._there = file.exists()
        self._text = file.read_text("utf-8") if self._there else _template()
        self._before = file.read_bytes() if self._there else None
        self.kept: Path | None = None  # the file as it was

    def set(self, section: str, key: str, value: object) -> None:
        """Change one value and write the file. Raises Refusal when that can't be done."""
        if self._there and self.file.exists():
            # An editor may have it open beside us: what was saved there meanwhile counts.
            self.settings = read_settings(self.file)
            self._text = self.file.read_text("utf-8")
        document = tomlkit.parse(self._text)
        # A value that is the default already need not appear in a file that leaves it out.
        if getattr(getattr(self.settings, section), key) == value and self._there:
            return
        table = document.get(section)
        if not isinstance(table, Table):
            table = tomlkit.table()
            document[section] = table
        table[key] = value
        self._write(tomlkit.dumps(document))

    def save(self) -> None:
        """Write the file also where nothing differs from the defaults."""
        if not self._there:
            self._write(self._text)

    def _write(self, text: str) -> None:
        part = self.file.with_name(f".{self.file.name}.part")
        try:
            self.file.parent.mkdir(parents=True, exist_ok=True)
            self._keep_old()
            with part.open("w", encoding="utf-8") as out:
                out.write(text)
                out.flush()
                os.fsync(out.fileno())
            found = _as_read(part, self.file)
            part.replace(self.file)
        except OSError as error:
            why = error.strerror or str(error)
            raise Refusal(f"{self.file}: {why}", "make that folder writable") from error
        self._text, self._there = text, True
        self.settings = found

    def _keep_old(self) -> None:
        if self._before is None or self.kept is not None:
            return
        stamp = time.strftime("%Y%m%dT%H%M%S")
        kept = self.file.with_name(f"{self.file.name}.before-{stamp}")
        number = 1
        while kept.exists():
            number += 1
            kept = self.file.with_name(f"{self.file.name}.before-{stamp}-{number}")
        kept.write_bytes(self._before)
        self.kept = kept


def _as_read(part: Path, file: Path) -> Settings:
    """The settings in the part, as those of the file. Raises Refusal and takes the part away."""
    import dataclasses

    try:
        return dataclasses.replace(read_settings(part), file=file)
    except Refusal as error:
        part.unlink()
        what = error.what.replace(str(part), str(file))
        raise Refusal(what, error.cure, error.between) from error


def _template() -> str:
    """The commented defaults without their own heading."""
    text = (config_folder() / FILE_NAME).read_text("utf-8")
    lines = text.splitlines(keepends=True)
    while lines and lines[0].startswith("#"):
        lines.pop(0)
    return _HEADER + "".join(lines)
