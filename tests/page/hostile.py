"""Connections that want nothing but the page's attention. Loopback only, so many and no more."""

from __future__ import annotations

import contextlib
import socket
from collections.abc import Iterator

HALF_A_REQUEST = b"GET /events HTTP/1.1\r\nHost: x\r\n"  # and never the empty line


@contextlib.contextmanager
def crowd(port: int, count: int, host: str = "127.0.0.1") -> Iterator[list[socket.socket]]:
    """So many connections, each of which has said half of a request; from four addresses."""
    open_ones: list[socket.socket] = []
    try:
        for n in range(count):
            reader = socket.socket()
            reader.settimeout(20)
            reader.bind((f"127.0.0.{2 + n % 4}", 0))
            reader.connect((host, port))
            with contextlib.suppress(OSError):  # shown out already
                reader.sendall(HALF_A_REQUEST)
            open_ones.append(reader)
        yield open_ones
    finally:
        for reader in open_ones:
            reader.close()
