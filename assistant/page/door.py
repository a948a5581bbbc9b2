"""The door of the page's server: connections that have not yet shown that they may come in.

Anybody on the shop's network can open connections and say nothing, or say it letter by letter.
Such a one stands in the door for a moment; when more come than there is room for, the oldest of
whoever has the most in the door is shown out. So a tablet, whose request comes at once and whole,
gets through beside any number of them.
"""

from __future__ import annotations

import contextlib
import io
import socket
import threading
import time

ROOM = 128  # connections in the door, all together
ROOM_EACH = 16  # of one address: a browser opens six at once
REQUEST_S = 2.0  # for the whole of a request; on the shop's network one takes milliseconds


class Door:
    """Who stands in it, by address, oldest first."""

    def __init__(self, room: int = ROOM, each: int = ROOM_EACH) -> None:
        self._room, self._each = room, each
        self._waiting: dict[str, list[socket.socket]] = {}
        self._count = 0
        self._lock = threading.Lock()

    def enter(self, connection: socket.socket, address: str) -> None:
        """Let it stand in the door, and show out whom there is no room for any more."""
        with self._lock:
            self._waiting.setdefault(address, []).append(connection)
            self._count += 1
            out = self._too_many(address)
        if out is not None:
            # Its own thread closes it: here it only hears that nothing more comes.
            with contextlib.suppress(OSError):
                out.shutdown(socket.SHUT_RDWR)

    def leave(self, connection: socket.socket, address: str) -> None:
        """It came in, or went. Harmless for one that was shown out."""
        with self._lock:
            self._take_out(connection, address)

    def _too_many(self, address: str) -> socket.socket | None:
        if len(self._waiting[address]) <= self._each:
            if self._count <= self._room:
                return None
            address = max(self._waiting, key=lambda each: len(self._waiting[each]))
        out = self._waiting[address][0]
        self._take_out(out, address)
        return out

    def _take_out(self, connection: socket.socket, address: str) -> None:
        waiting = self._waiting.get(address, [])
        if connection in waiting:
            waiting.remove(connection)
            self._count -= 1
        if not waiting:
            self._waiting.pop(address, None)


class InTime(io.RawIOBase):
    """Reads from a connection, all of it within so many seconds from now.

    A time limit on each read alone is none: a letter every other second never meets it.
    """

    def __init__(self, connection: socket.socket, seconds: float = REQUEST_S) -> None:
        self._connection = connection
        self._end = time.monotonic() + seconds

    def readable(self) -> bool:
        """As the reader of requests asks of what it reads from."""
        return True

    def readinto(self, buffer: bytearray) -> int:  # type: ignore[override]  # any buffer will do
        """Raises TimeoutError when the time is over."""
        left = self._end - time.monotonic()
        if left <= 0:
            raise TimeoutError("the request took too long")
        self._connection.settimeout(left)
        return self._connection.recv_into(buffer)
