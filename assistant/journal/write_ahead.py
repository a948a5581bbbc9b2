"""Looks a write-ahead log over: is what its reader leaves aside a torn end, or a loss?

SQLite reads a log up to the first frame that does not fit and passes over the rest in
silence. At the end that is right: the frame was being written when the power went. In the
middle it is not: what follows was whole once, and acknowledged.

The layout is that of the SQLite file format, section 4 ("The Write-Ahead Log"): a header of
32 bytes, then frames of 24 bytes and a page; all numbers big-endian except in the sums.
"""

from __future__ import annotations

import struct
from collections.abc import Iterator
from dataclasses import dataclass

_HEADER = 32
_FRAME_HEADER = 24
_MAGIC = 0x377F0682  # the last bit says in which byte order the sums are made
_WORD = 0xFFFFFFFF


@dataclass(frozen=True, slots=True)
class Tail:
    """What stands behind the last whole record."""

    torn: bool  # the remains of one record that was being written
    lost: str = ""  # why more than that is missing, or ""


def tail(log: bytes, committed: int) -> Tail:
    """What the log holds behind the `committed` frames that its reader takes."""
    if len(log) < _HEADER:
        return Tail(torn=bool(log))
    if not _header_fits(log):
        # A header is written and synced before any frame, so it can't be a torn one.
        return Tail(torn=False, lost="the head of its write-ahead log does not fit")
    endings = list(_left_over(log, committed))
    if True in endings[:-1]:
        return Tail(torn=True, lost="its write-ahead log breaks off before its end")
    return Tail(torn=bool(endings))


def _header_fits(log: bytes) -> bool:
    magic = int.from_bytes(log[:4], "big")
    if magic & ~1 != _MAGIC:
        return False
    order = ">" if magic & 1 else "<"
    words = struct.unpack(f"{order}6I", log[:24])
    first = second = 0
    for n in range(0, 6, 2):
        first = (first + words[n] + second) & _WORD
        second = (second + words[n + 1] + first) & _WORD
    return (first, second) == struct.unpack(">2I", log[24:_HEADER])


def _left_over(log: bytes, committed: int) -> Iterator[bool]:
    """For each frame of this log behind the committed ones: does it end a record?

    Frames of an earlier use of the same file bear other salts and do not count; a frame
    that is cut off ends nothing.
    """
    size = _FRAME_HEADER + (int.from_bytes(log[8:12], "big") or 65536)
    salts = log[16:24]
    for start in range(_HEADER + committed * size, len(log), size):
        frame = log[start : start + size]
        if len(frame) < size:
            yield from [False] * (frame[8:16] == salts or len(frame) < 16)
        elif frame[8:16] == salts:
            yield frame[4:8] != b"\0\0\0\0"
