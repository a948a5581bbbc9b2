"""A disk as a power cut leaves it: what was synced is there, of the rest any part.

The model is the strict one of POSIX: only a synced file holds its bytes for certain, and only
a synced folder its names. Of what was not synced each sector of 512 bytes is there or not by
chance, in any order; names change in the order in which they were changed.
"""

from __future__ import annotations

import random
from dataclasses import dataclass, field
from pathlib import Path

from tests.trust.recorded import Op

SECTOR = 512


@dataclass
class _File:
    synced: bytearray = field(default_factory=bytearray)
    now: bytearray = field(default_factory=bytearray)  # as programs see it
    pending: list[Op] = field(default_factory=list)


def _apply(content: bytearray, op: Op) -> None:
    if op.what == "truncate":
        del content[op.offset :]
        content.extend(bytes(op.offset - len(content)))
        return
    end = op.offset + len(op.data)
    content.extend(bytes(max(0, end - len(content))))
    content[op.offset : end] = op.data


class Disk:
    """Follows the operations; can be cut off after any of them."""

    def __init__(self) -> None:
        self._files: dict[int, _File] = {}
        self._names: dict[str, int] = {}  # as programs see them
        self._synced: dict[str, int] = {}
        self._pending: list[Op] = []

    def do(self, op: Op) -> None:
        match op.what:
            case "make" | "rename" | "unlink":
                self._files.setdefault(op.file, _File())
                self._name(self._names, op)
                self._pending.append(op)
            case "write" | "truncate":
                file = self._files[op.file]
                _apply(file.now, op)
                file.pending.append(op)
            case "sync":
                file = self._files[op.file]
                file.synced, file.pending = bytearray(file.now), []
            case "sync folder":
                self._synced, self._pending = dict(self._names), []

    @staticmethod
    def _name(names: dict[str, int], op: Op) -> None:
        if op.what == "make":
            names[op.path] = op.file
        elif op.what == "unlink":
            names.pop(op.path, None)
        elif op.path in names:
            names[op.to] = names.pop(op.path)

    def after_kill(self, folder: Path) -> None:
        """Lay down what a kill leaves: all that the kernel was given."""
        for name, number in self._names.items():
            _lay(folder, name, self._files[number].now)

    def after_power_cut(self, folder: Path, chance: random.Random, kept: float) -> None:
        """Lay down what a power cut may leave; `kept`: of unsynced sectors, 0 to 1."""
        names = dict(self._synced)
        for op in self._pending[: chance.randint(0, len(self._pending))]:
            self._name(names, op)
        for name, number in names.items():
            _lay(folder, name, self._torn(self._files[number], chance, kept))

    @staticmethod
    def _torn(file: _File, chance: random.Random, kept: float) -> bytearray:
        content = bytearray(file.synced)
        for op in file.pending:
            if op.what == "truncate":
                if chance.random() < kept:
                    _apply(content, op)
                continue
            for start in range(0, len(op.data), SECTOR):
                if chance.random() < kept:
                    part = op.data[start : start + SECTOR]
                    _apply(content, Op("write", offset=op.offset + start, data=part))
        return content


def _lay(folder: Path, name: str, content: bytearray) -> None:
    if name.endswith("-shm"):
        content = bytearray(b"\xa5" * 32768)  # written past the system calls: take it for rubbish
    (folder / Path(name).name).write_bytes(content)
