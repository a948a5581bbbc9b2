"""Serves the page of `job new`, through the door and by the rules of the bench page."""

from __future__ import annotations

import threading
from collections.abc import Callable, Mapping
from contextvars import copy_context
from pathlib import Path
from typing import Any

from assistant.asking import form_page
from assistant.asking.interview import Interview
from assistant.errors import Refusal
from assistant.job.question import Place
from assistant.page.access import Access
from assistant.page.hub import Hub
from assistant.page.server import PageServer, serve, stop_server
from assistant.words.language import say

LOOPBACK = "127.0.0.1"


class FormPage:
    """One interview, asked by a browser on this machine. `write` writes the job and gives its
    place; a Refusal that it raises stands on the page. `title` stands over it. `fill`: what custom
    answers is written too; a file that is there keeps what it leaves open. Raises OSError where the
    port is taken."""

    def __init__(
        self, interview: Interview, write: Callable[[], Path], port: int, title: str = "",
        *, fill: bool = True,
    ) -> None:  # fmt: skip
        self._interview, self._write = interview, write
        self._title, self._fill = title or say("A new job"), fill
        interview.values.setdefault(("", "units"), interview.units)
        self._faults: dict[Place, str] = {}
        self._lock = threading.Lock()
        self._language = copy_context()
        self.access = Access()
        self.written: Path | None = None
        self._told = threading.Event()
        self._last_page: bytes | None = None
        self._trouble = ""
        place = (LOOPBACK, port)
        self.server = PageServer(place, self.access, Hub(), self.document, self.press, lambda: None)
        self.server.sent = self._page_sent
        self._thread = serve(self.server)

    @property
    def address(self) -> str:
        """Where a browser on this machine finds it: on no other network."""
        return f"http://{LOOPBACK}:{self.server.server_address[1]}/"

    def document(self) -> bytes:
        """The page as it is now, in the language of the person who asked for it."""
        with self._lock:
            if self._last_page is not None:
                return self._last_page
            made = self._language.copy().run(
                form_page.form_document,
                self._interview,
                self._faults,
                self.access.token,
                self.written,
                self._trouble,
                self._title,
            )
            if self.written is not None:
                self._last_page = made
        return made

    def _page_sent(self, page: bytes) -> None:
        """The program ends with the page that tells where the job is: it must be out by then."""
        if page is self._last_page:
            self._told.set()

    def press(self, facts: Mapping[str, Any]) -> bool:
        """An answer, or that the job is to be written; False for anything else."""
        with self._lock:
            return self._language.copy().run(self._pressed, facts)

    def _pressed(self, facts: Mapping[str, Any]) -> bool:
        if self.written is not None:
            return False
        if facts.get("write") is True:
            return self._finish()
        name, text = facts.get("ask"), facts.get("text")
        if not isinstance(name, str) or not isinstance(text, str):
            return False
        table, _, key = name.rpartition(".")
        asked, _ = form_page.filled(self._interview)
        question = next((q for q in asked.questions() if q.place == (table, key)), None)
        if question is None:
            return False
        fault = self._interview.take(question, text.strip())
        self._faults.pop(question.place, None)
        if fault:
            self._faults[question.place] = fault
        return True

    def _finish(self) -> bool:
        trial, still = form_page.filled(self._interview)
        if still or not form_page.answers_shown(self._interview).good:
            return False
        kept = self._interview.values
        if self._fill:
            self._interview.values = trial.values
        try:
            self.written = self._write()
        except Refusal as error:
            self._interview.values, self._trouble = kept, str(error)
            return False
        return True

    def wait(self) -> Path | None:
        """Until the job is written and the page has been told of it."""
        self._told.wait()
        return self.written

    def close(self) -> None:
        """Stops serving; the port is free when this returns."""
        stop_server(self.server, self._thread)
