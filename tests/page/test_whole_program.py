"""`tallyhand run` as a process, a real Chromium beside it, and the plug pulled out."""

from __future__ import annotations

import re
import subprocess
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from assistant.journal.writing import journals, read_journal
from tests.commands import COUNT_WHEEL, PROGRAM, ROOT, one_line, tallyhand
from tests.page.browser import wait_text

pytestmark = pytest.mark.live

QUIET = """
[speech]
engine = "none"
[ear]
kind = "none"
[pedal]
kind = "none"
"""


class Program:
    """The running program; `page` is the address that it printed."""

    def __init__(self, folder: Path, *words: str) -> None:
        config = folder / "tallyhand.toml"
        config.write_text(QUIET)
        self._output = folder / f"output-{time.monotonic_ns()}.txt"
        with self._output.open("wb") as out:
            self.process = subprocess.Popen(
                [*PROGRAM, *words, "--data", str(folder / "data"), "--config", str(config)],
                stdin=subprocess.DEVNULL, stdout=out, stderr=subprocess.STDOUT, cwd=ROOT,
            )  # fmt: skip
        self.page = self._address()

    def _address(self) -> str:
        end = time.monotonic() + 60
        while time.monotonic() < end:
            found = re.search(r"Bench page: (\S+)", self.text())
            if found:
                return found[1]
            assert self.process.poll() is None, self.text()
            time.sleep(0.05)
        raise AssertionError(f"no page: {self.text()}")

    def text(self) -> str:
        return self._output.read_text("utf-8")

    def close(self) -> None:
        if self.process.poll() is None:
            self.process.terminate()
            self.process.wait(60)


@pytest.fixture
def programs() -> Iterator[list[Program]]:
    started: list[Program] = []
    yield started
    for program in started:
        program.close()


def test_pressed_on_the_page_killed_and_resumed(
    browser: Any, tmp_path: Path, programs: list[Program]
) -> None:
    """A touch moves the job on; a kill is said at once; the resumed session comes by itself."""
    first = Program(tmp_path, "run", str(COUNT_WHEEL), "--port", "0")
    programs.append(first)
    context = browser.new_context()
    tab = context.new_page()
    tab.goto(first.page)
    tab.wait_for_selector("#gone", state="hidden")
    item = tab.text_content("#awaited")
    end = time.monotonic() + 60
    while tab.text_content("#awaited") == item:  # a press that comes too soon is refused
        assert time.monotonic() < end
        tab.click("#press")
        tab.wait_for_timeout(2000)
    reading = read_journal(journals(tmp_path / "data")[-1])
    presses = [e.event for e in reading.entries if getattr(e.event, "source", "") == "page"]
    assert presses and reading.state.item == 1

    first.process.kill()
    tab.wait_for_selector("#gone:not([hidden])", timeout=60000)
    wait_text(tab, "#gone-head", "Session gone")
    assert tab.is_disabled("#press")

    port = first.page.rstrip("/").rsplit(":", 1)[1]
    second = Program(tmp_path, "resume", "--port", port)
    programs.append(second)
    assert second.page == first.page
    tab.wait_for_selector("#gone", state="hidden", timeout=60000)
    tab.wait_for_function("() => !document.querySelector('#press').disabled")

    second.process.terminate()
    tab.wait_for_selector("#gone:not([hidden])", timeout=60000)
    wait_text(tab, "#gone-head", "Session closed")
    context.close()


def test_a_taken_port(tmp_path: Path, programs: list[Program]) -> None:
    """Two sessions on one machine: the second page takes another port and says so."""
    one = Program(tmp_path, "run", str(COUNT_WHEEL), "--port", "0")
    programs.append(one)
    port = one.page.rstrip("/").rsplit(":", 1)[1]
    other = Program(tmp_path, "run", str(COUNT_WHEEL), "--port", port)
    programs.append(other)
    assert other.page != one.page and f"Port {port} is taken" in other.text()


@pytest.mark.parametrize(
    "words",
    [("--port", "70000"), ("--no-page", "--network"), ("--port", "x")],
)
def test_a_slip_on_the_command_line_is_one_line(tmp_path: Path, words: tuple[str, ...]) -> None:
    """What is wrong and the cure, and no session is begun."""
    line = one_line(tallyhand("run", COUNT_WHEEL, *words, "--data", tmp_path), 2)
    assert words[0] in line
    assert journals(tmp_path) == []
