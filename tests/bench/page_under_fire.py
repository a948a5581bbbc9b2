"""How long a press on the page takes beside strangers who open connections and say nothing.

    python -m tests.bench.page_under_fire [--strangers 1000] [--presses 300]

Loopback only. The strangers are a process of their own and open a new connection as soon as they
are shown out of an old one, for as long as the presses last.
"""

from __future__ import annotations

import argparse
import contextlib
import json
import multiprocessing
import platform
import select
import socket
import time
from http.client import HTTPConnection

from assistant.page.display import PageDisplay
from tests.page.hostile import HALF_A_REQUEST
from tests.page.test_server import ASKED, question


def besiege(port: int, count: int, stop: float) -> None:
    """Keeps `count` half requests open until the clock shows `stop`."""
    open_ones: list[socket.socket] = []
    while time.time() < stop:
        while len(open_ones) < count and time.time() < stop:
            stranger = socket.socket()
            with contextlib.suppress(OSError):
                stranger.bind((f"127.0.0.{2 + len(open_ones) % 200}", 0))
                stranger.connect(("127.0.0.1", port))
                stranger.sendall(HALF_A_REQUEST)
                open_ones.append(stranger)
        over, _, _ = select.select(open_ones[:1000], [], [], 0.05)
        for each in over:
            each.close()
        gone = set(over)
        open_ones = [each for each in open_ones if each not in gone]


def press(page: PageDisplay, port: int, asked: int) -> float:
    """Seconds from the press to its answer."""
    body = json.dumps({"token": page._access.token, "gesture": "press", "question": asked})
    begun = time.perf_counter()
    connection = HTTPConnection("127.0.0.1", port, timeout=60)
    connection.request("POST", "/press", body, {"Content-Type": "application/json"})
    status = connection.getresponse().status
    connection.close()
    if status != 204:
        raise SystemExit(f"a press was answered with {status}")
    return time.perf_counter() - begun


def measured(page: PageDisplay, presses: int) -> list[float]:
    port, asked, took = int(page._server.server_address[1]), question(page), []
    for _ in range(presses):
        took.append(press(page, port, asked))
        time.sleep(0.01)
    return sorted(took)


def line(name: str, took: list[float]) -> None:
    middle, late = took[len(took) // 2], took[min(len(took) - 1, len(took) * 99 // 100)]
    print(f"{name:24} {len(took):5} presses: median {middle * 1000:6.1f}, p99 {late * 1000:6.1f}, "
          f"worst {took[-1] * 1000:6.1f} ms")  # fmt: skip


def main() -> None:
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("--strangers", type=int, default=1000)
    asked.add_argument("--presses", type=int, default=300)
    given = asked.parse_args()
    print(f"{platform.machine()}, Python {platform.python_version()}")
    page = PageDisplay(0)
    page.start(lambda event: None)
    page.show(ASKED)
    line("nobody else", measured(page, given.presses))
    port = int(page._server.server_address[1])
    stop = time.time() + 600
    siege = multiprocessing.Process(target=besiege, args=(port, given.strangers, stop), daemon=True)
    siege.start()
    time.sleep(2)
    line(f"{given.strangers} strangers", measured(page, given.presses))
    siege.terminate()
    page.close()


if __name__ == "__main__":
    main()
