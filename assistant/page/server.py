"""Serves the page and its stream of events; every reader has a thread of its own.

A reader that is slow, silent or hostile costs one thread for a while and never the session: who
has not shown that he may look stands in the door (`assistant.page.door`), and the seats are
kept for those who have.
"""

from __future__ import annotations

import contextlib
import io
import json
import socket
import threading
from collections.abc import Callable
from http import HTTPStatus
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from typing import Any
from urllib.parse import parse_qs, urlsplit

from assistant.page.access import Access
from assistant.page.document import NO_KEY, SECURITY, static
from assistant.page.door import Door, InTime
from assistant.page.hub import Hub

BEAT_S = 0.5  # a page answers at least this often; one that hears nothing for long says so
PATIENCE_S = 10.0  # a reader that takes longer to say or take something is let go
MOST_READERS = 48  # that follow the page
MOST_BYTES = 2048  # of a press
STATIC = {
    "/page.css": ("page.css", "text/css; charset=utf-8"),
    "/page.js": ("page.js", "text/javascript; charset=utf-8"),
    "/icon.svg": ("icon.svg", "image/svg+xml"),
    "/form.css": ("form.css", "text/css; charset=utf-8"),
    "/form.js": ("form.js", "text/javascript; charset=utf-8"),
}

# Given the posted facts; True when they were a press that could be passed on.
Press = Callable[[dict[str, Any]], bool]
# A page has answered: it is there, and its script runs.
Answered = Callable[[], None]


class PageServer(ThreadingHTTPServer):
    """The page of one session. `document` gives the page as it is to be sent now."""

    daemon_threads = True
    block_on_close = False
    request_queue_size = 512  # one that finds no room here tries again only after a second

    def __init__(
        self,
        place: tuple[str, int],
        access: Access,
        hub: Hub,
        document: Callable[[], bytes],
        press: Press,
        answered: Answered,
    ) -> None:
        self.access, self.hub, self.document = access, hub, document
        self.press, self.answered = press, answered
        self.sent: Callable[[bytes], None] = lambda page: None
        """Told of each page once it is with the system that brings it to the reader."""
        self.door = Door()
        self.seats = threading.BoundedSemaphore(MOST_READERS)
        super().__init__(place, Handler)

    def process_request(self, request: Any, client_address: Any) -> None:
        """Lets the reader in by the door, or sends it away where no thread is to be had."""
        self.door.enter(request, client_address[0])
        try:
            super().process_request(request, client_address)
        except RuntimeError:  # no thread is to be had: this reader goes, the session stays
            self.door.leave(request, client_address[0])
            self.shutdown_request(request)

    def process_request_thread(self, request: Any, client_address: Any) -> None:
        """Serves the reader, and counts it out however that ends."""
        try:
            super().process_request_thread(request, client_address)
        finally:
            self.door.leave(request, client_address[0])

    def handle_error(self, request: Any, client_address: Any) -> None:
        """A reader's connection broke: nobody at the bench needs to read of it."""


class Handler(BaseHTTPRequestHandler):
    """One connection."""

    server: PageServer
    timeout = PATIENCE_S
    server_version = "tallyhand"
    sys_version = ""

    def setup(self) -> None:
        """Reads the request within a time limit: a slow reader holds up nobody."""
        super().setup()
        self.rfile = io.BufferedReader(InTime(self.connection))  # type: ignore[type-var]

    def parse_request(self) -> bool:
        """Its words are in; what follows for one that may look has more time."""
        whole = super().parse_request()
        if whole and self.command == "GET":
            self.connection.settimeout(PATIENCE_S)
        return whole

    def do_GET(self) -> None:
        """The page, its parts and its stream of news, to who may look; else why not."""
        path = self._path()
        if path in STATIC:
            name, kind = STATIC[path]
            self._answer(HTTPStatus.OK, kind, static(name))
        elif path not in ("/", "/events"):
            self._refuse(HTTPStatus.NOT_FOUND, "nothing here")
        elif path == "/" and (cookie := self._brought_key()):
            self._answer(HTTPStatus.SEE_OTHER, "text/plain", b"", {"Location": "/", **cookie})
        elif not self.server.access.may_look(self.headers):
            self._answer(HTTPStatus.FORBIDDEN, "text/html; charset=utf-8", NO_KEY.encode())
        elif path == "/":
            page = self.server.document()
            self._answer(HTTPStatus.OK, "text/html; charset=utf-8", page)
            self.server.sent(page)
        elif not self.server.seats.acquire(blocking=False):
            self._refuse(HTTPStatus.SERVICE_UNAVAILABLE, "too many pages follow this session")
        else:
            self._come_in()

    def _come_in(self) -> None:
        """A seat is taken; the door is free for others."""
        self.server.door.leave(self.connection, self.client_address[0])
        try:
            self._stream()
        finally:
            self.server.seats.release()

    def _path(self) -> str:
        try:
            return urlsplit(self.path).path
        except ValueError:
            return ""

    def do_POST(self) -> None:
        """A press, or a sign of life, from a page that may press; else why not."""
        facts, path = self._posted(), self._path()
        if facts is None or path not in ("/press", "/here"):
            self._refuse(HTTPStatus.BAD_REQUEST, "no press")
        elif not self.server.access.may_press(self.headers, facts.get("token")):
            self._refuse(HTTPStatus.FORBIDDEN, "not from this page")
        elif path == "/here":
            self.server.answered()
            self._answer(HTTPStatus.NO_CONTENT, "text/plain", b"")
        elif not self.server.press(facts):
            self._refuse(HTTPStatus.CONFLICT, "no press that counts now")
        else:
            self._answer(HTTPStatus.NO_CONTENT, "text/plain", b"")

    def _brought_key(self) -> dict[str, str] | None:
        keys = parse_qs(self.path.partition("?")[2]).get("key", [])
        cookie = self.server.access.cookie_for(keys[0]) if keys else None
        return {"Set-Cookie": cookie} if cookie else None

    def _posted(self) -> dict[str, Any] | None:
        """The JSON object that was posted, or None for anything else."""
        length = self.headers.get("Content-Length", "")
        plain = self.headers.get("Content-Type", "").split(";")[0].strip() == "application/json"
        if not plain or not length.isdecimal() or int(length) > MOST_BYTES:
            return None
        try:
            facts = json.loads(self.rfile.read(int(length)))
        except (ValueError, RecursionError):
            return None
        return facts if isinstance(facts, dict) else None

    def _stream(self) -> None:
        """Server-sent events until the reader goes or the session is over."""
        self._head(HTTPStatus.OK, {"Content-Type": "text/event-stream; charset=utf-8"})
        self.connection.setsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY, 1)
        self._send("retry: 1000\n\n")
        seen, more = 0, True
        while more:
            news, more = self.server.hub.newer(seen, BEAT_S)
            for number, kind, text in news:
                self._send(f"event: {kind}\ndata: {text}\n\n")
                seen = number
            if not news:
                self._send("event: beat\ndata: {}\n\n")

    def _send(self, text: str) -> None:
        self.wfile.write(text.encode("utf-8"))
        self.wfile.flush()

    def _refuse(self, status: HTTPStatus, why: str) -> None:
        self._answer(status, "text/plain; charset=utf-8", f"{why}\n".encode())

    def _answer(
        self, status: HTTPStatus, kind: str, body: bytes, more: dict[str, str] | None = None
    ) -> None:
        lines = {"Content-Type": kind, "Content-Length": str(len(body)), **(more or {})}
        self._head(status, lines)
        self.wfile.write(body)

    def _head(self, status: HTTPStatus, lines: dict[str, str]) -> None:
        self.send_response(status)
        for name, value in {**SECURITY, **lines}.items():
            self.send_header(name, value)
        self.send_header("Connection", "close")
        self.end_headers()

    def log_message(self, format: str, *args: object) -> None:  # noqa: A002 (the base class's name)
        """The terminal belongs to the session."""


def serve(server: PageServer) -> threading.Thread:
    """Answers in a thread of its own until `stop_server`."""
    thread = threading.Thread(target=server.serve_forever, args=(0.1,), daemon=True, name="page")
    thread.start()
    return thread


def stop_server(server: PageServer, thread: threading.Thread) -> None:
    """Lets every reader go; never hangs."""
    server.hub.close()
    if thread.is_alive():
        server.shutdown()
        thread.join(1.0)
    with contextlib.suppress(OSError):
        server.server_close()


def shop_address() -> str:
    """This machine's address on the shop's network, as far as it knows one; sends nothing."""
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as probe:
        try:
            probe.connect(("192.0.2.1", 9))  # reserved for documentation (RFC 5737)
            return str(probe.getsockname()[0])
        except OSError:
            return socket.gethostname()
