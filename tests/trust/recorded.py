"""Records what a run of the program does to the disk, system call by system call (strace)."""

from __future__ import annotations

import json
import os
import re
import shutil
import subprocess
import tempfile
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from tests.commands import COUNT_WHEEL, PROGRAM, ROOT

needs_strace = shutil.which("strace") is None

CHANGES = (
    "openat", "write", "pwrite64", "ftruncate", "fsync", "fdatasync", "rename", "unlink", "mkdir",
)  # fmt: skip
_TRACED = (
    *CHANGES, "lseek", "renameat", "renameat2", "unlinkat", "link", "creat", "writev", "pwritev",
    "pwritev2", "fallocate", "copy_file_range", "sendfile", "mkdirat",
)  # fmt: skip
_LINE = re.compile(r"(?:\d+ +)?(\w+)\((.*)\) += (-?\d+)")
_TEXT = re.compile(r'"((?:\\x[0-9a-f]{2})*)"')
_HANDLE = re.compile(r"(?:AT_FDCWD|(\d+))<")


@dataclass(frozen=True)
class Op:
    """One thing done to the disk, or one acknowledgement given (`what` is "ack")."""

    what: str
    path: str = ""
    file: int = -1  # number of the file, the same whatever it is called
    offset: int = 0
    data: bytes = b""
    to: str = ""


SCRIPT = "".join(
    json.dumps(line) + "\n"
    for line in [
        *[{"press": "main"}] * 14,
        {"say": "where am I"},
        {"note": "burr on notch three"},
        *[{"press": "main"}] * 8,
        {"say": "lost my count"},
        {"press": "main"},
    ]
)


def rehearse(data: Path, *before: str, script: str = SCRIPT, out: int | Any = None) -> int:
    """Run the rehearsal behind the words `before` (strace and its options); the exit code."""
    with tempfile.TemporaryFile("w+") as given:
        given.write(script)
        given.seek(0)
        command = [*before, *PROGRAM, "rehearse", str(COUNT_WHEEL), "--json", "--data", str(data)]
        return subprocess.run(
            command, stdin=given, stdout=out or subprocess.DEVNULL, stderr=subprocess.DEVNULL,
            check=False, cwd=ROOT, env={**os.environ, "PYTHONDONTWRITEBYTECODE": "1"},
        ).returncode  # fmt: skip


def record(data: Path) -> list[Op]:
    """What the rehearsal does to the data folder, and when it acknowledges what."""
    trace = data.parent / "trace"
    traced = ",".join(f"?{name}" for name in _TRACED)
    words = [
        "strace",
        "-f",
        "-y",
        "-xx",
        "-s",
        "2000000",
        "-o",
        str(trace),
        "-e",
        f"trace={traced}",
    ]
    assert rehearse(data, *words) == 0
    return list(_Reader(data).ops(trace.read_text().splitlines()))


class _Reader:
    """Follows handles, positions and files through the trace."""

    def __init__(self, data: Path) -> None:
        self._data = str(data)
        self._handles: dict[int, str | int] = {}  # a folder's path, or a file's number
        self._at: dict[int, int] = {}
        self._names: dict[str, int] = {}
        self._files = 0

    def ops(self, lines: list[str]) -> Iterator[Op]:
        for line in lines:
            assert "unfinished" not in line, "a second thread is at work"
            found = _LINE.match(line)
            if not found or int(found[3]) < 0:
                continue
            name, arguments, result = found[1], found[2], int(found[3])
            texts = [bytes.fromhex(t.replace("\\x", "")) for t in _TEXT.findall(arguments)]
            handle = _HANDLE.match(arguments)
            number = int(handle[1]) if handle and handle[1] else -1
            yield from getattr(self, f"_{name}")(number, texts, arguments, result)

    def _ours(self, path: str) -> bool:
        return path == self._data or path.startswith(f"{self._data}/")

    def _openat(self, _: int, texts: list[bytes], arguments: str, fd: int) -> Iterator[Op]:
        path = texts[0].decode()
        self._handles.pop(fd, None)
        if not self._ours(path):
            return
        self._at[fd] = 0
        if path == self._data:
            self._handles[fd] = path
            return
        if path not in self._names:
            self._names[path] = self._files
            self._files += 1
            yield Op("make", path, self._names[path])
        self._handles[fd] = self._names[path]
        if "O_TRUNC" in arguments:
            yield Op("truncate", file=self._names[path], offset=0)

    def _write(self, fd: int, texts: list[bytes], _: str, result: int) -> Iterator[Op]:
        if fd == 1 and texts[0].startswith(b'{"state"'):
            yield Op("ack", data=texts[0])
        file = self._handles.get(fd)
        if isinstance(file, int):
            yield Op("write", file=file, offset=self._at[fd], data=texts[0][:result])
            self._at[fd] += result

    def _lseek(self, fd: int, _: list[bytes], __: str, result: int) -> Iterator[Op]:
        self._at[fd] = result
        return iter(())

    def _pwrite64(self, fd: int, texts: list[bytes], arguments: str, n: int) -> Iterator[Op]:
        file = self._handles.get(fd)
        if isinstance(file, int):
            yield Op("write", file=file, offset=_last(arguments), data=texts[0][:n])

    def _ftruncate(self, fd: int, _: list[bytes], arguments: str, __: int) -> Iterator[Op]:
        file = self._handles.get(fd)
        if isinstance(file, int):
            yield Op("truncate", file=file, offset=_last(arguments))

    def _fsync(self, fd: int, *_: object) -> Iterator[Op]:
        file = self._handles.get(fd)
        if isinstance(file, str):
            yield Op("sync folder", file)
        elif file is not None:
            yield Op("sync", file=file)

    _fdatasync = _fsync

    def _rename(self, _: int, texts: list[bytes], *__: object) -> Iterator[Op]:
        old, new = texts[0].decode(), texts[1].decode()
        if self._ours(old):
            self._names[new] = self._names.pop(old)
            yield Op("rename", old, to=new)

    def _unlink(self, _: int, texts: list[bytes], *__: object) -> Iterator[Op]:
        path = texts[0].decode()
        if self._ours(path):
            self._names.pop(path, None)
            yield Op("unlink", path)

    def _mkdir(self, *_: object) -> Iterator[Op]:
        return iter(())

    def _unlinkat(self, _: int, texts: list[bytes], arguments: str, __: int) -> Iterator[Op]:
        assert self._data not in arguments and not self._ours(texts[0].decode())
        return iter(())

    def __getattr__(self, name: str) -> Any:
        """A call that the journal is not known to make: let it not touch the data folder."""

        def elsewhere(fd: int, texts: list[bytes], arguments: str, _: int) -> Iterator[Op]:
            ours = [text for text in texts if self._ours(text.decode(errors="replace"))]
            assert fd not in self._handles and not ours, f"{name}({arguments[:200]})"
            return iter(())

        return elsewhere


def _last(arguments: str) -> int:
    """The last argument, a number: offset or length."""
    return int(arguments.rsplit(maxsplit=1)[-1])
