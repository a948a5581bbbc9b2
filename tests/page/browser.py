"""A real Chromium for the tests, and a rehearsed session that shows itself on a page."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path
from typing import Any

from assistant.bench.rehearsal import Rehearsal
from assistant.bench.session import Bench
from assistant.devices.speech.silent import SilentAnnouncer
from assistant.job.compiler import head_of, stages_of
from assistant.job.job_file import job_from_text
from assistant.job.programme import Programme
from assistant.journal.writing import Journal
from assistant.page.display import PageDisplay

CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser")
FLAGS = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--no-first-run",
]

# The screens that are promised: a 24-inch monitor, a 10-inch tablet both ways, a phone.
SCREENS = {
    "monitor": {"width": 1920, "height": 1080},
    "tablet": {"width": 1280, "height": 800},
    "tablet-on-end": {"width": 800, "height": 1280},
    "phone": {"width": 390, "height": 844},
}

COUNT_WHEEL = """
title = "Count wheel of the cider mill"
head = "three-plate-40"
[work]
kind = "divisions"
count = 9
depth = "3.2 mm"
"""


@contextmanager
def chromium() -> Iterator[Any]:
    from playwright.sync_api import sync_playwright

    assert CHROMIUM, "chromium is needed: install the packages in tests/packages.txt"
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=CHROMIUM, args=FLAGS)
        yield browser
        browser.close()


def programme(text: str = COUNT_WHEEL) -> Programme:
    job = job_from_text(text, "test job")
    stage = stages_of(job, head_of(job))[0]
    return replace(stage.programme, labels=stage.labels if any(stage.labels) else ())


class Shown:
    """A rehearsal whose outlet is the bench's own, with the page as its display."""

    def __init__(self, folder: Path, job: str = COUNT_WHEEL, port: int = 0) -> None:
        self.programme = programme(job)
        self.page = PageDisplay(port)
        journal = Journal.create(folder, self.programme, job)
        outlet = Bench(SilentAnnouncer(lambda tone: None), self.page, (self.page,))
        self.rehearsal = Rehearsal(journal, outlet)  # type: ignore[arg-type]
        self.rehearsal.start()

    def play(self, *lines: str) -> None:
        """Script lines; an empty one is a press."""
        self.rehearsal.run(lines, "test", blank_presses=True)

    @property
    def state(self) -> Any:
        return self.rehearsal._session.state

    def set_up(self) -> None:
        """Answer every item of the set-up: the spindle lock of the first cut is asked next."""
        self.play(*[""] * len(self.programme.checklist))

    def close(self) -> None:
        self.page.close()
        self.rehearsal.close()


def wait_text(tab: Any, selector: str, text: str) -> None:
    """Until the element holds exactly this text."""
    tab.wait_for_function(
        "([s, t]) => document.querySelector(s)?.textContent === t", arg=[selector, text]
    )
