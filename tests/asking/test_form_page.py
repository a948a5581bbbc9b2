"""The questions of `job new` as a page: what it asks, what it shows, and the file that it writes.

The hexagon: depth of a flat on a bar D is (D - across flats) / 2, sharp corners from
across flats / cos 30 (plane geometry; common practice).
"""

from __future__ import annotations

import http.client
import io
import json
import re
import subprocess
import threading
import tomllib
from collections.abc import Iterator
from contextlib import contextmanager
from html import unescape
from http import HTTPStatus
from pathlib import Path
from typing import Any

import pytest

from assistant.asking.form_server import FormPage
from assistant.asking.interview import Asking, Interview
from assistant.bench import language_files
from assistant.errors import Refusal
from assistant.page.server import Handler
from assistant.words.language import speaking
from tests.commands import JOBS, PROGRAM, ROOT, one_line, tallyhand

HEXAGON = {".title": "Plug of the press", "work.kind": "polygon", "work.sides": "6",
           "work.across_flats": "24", "work.bar": "28"}  # fmt: skip


class Browser:
    """What a page does, without one."""

    def __init__(self, port: int, token: str) -> None:
        self.port, self.token = port, token

    @classmethod
    def of(cls, page: FormPage) -> Browser:
        return cls(page.server.server_address[1], page.access.token)

    @classmethod
    def at(cls, port: int) -> Browser:
        """With the token that the page itself has."""
        found = re.search(r'name="token" content="([^"]+)"', cls(port, "").text())
        assert found
        return cls(port, found[1])

    def text(self, path: str = "/") -> str:
        return self._asked("GET", path)[1]

    def tell(self, *, token: str | None = None, **facts: Any) -> int:
        body = json.dumps({**facts, "token": self.token if token is None else token})
        return self._asked("POST", "/press", body)[0]

    def give(self, answers: dict[str, str]) -> None:
        for name, text in answers.items():
            assert self.tell(ask=name, text=text) == 204, name

    def _asked(self, how: str, path: str, body: str | None = None) -> tuple[int, str]:
        there = http.client.HTTPConnection("127.0.0.1", self.port, timeout=60)
        sent = {"Content-Type": "application/json", "Origin": f"http://127.0.0.1:{self.port}"}
        there.request(how, path, body, sent)
        answer = there.getresponse()
        return answer.status, unescape(answer.read().decode())


@pytest.fixture
def served(tmp_path: Path) -> Iterator[tuple[FormPage, Browser, Path]]:
    interview = Interview(Asking(iter(()), io.StringIO()), "three-plate-40", "mm")
    file = tmp_path / "job.toml"

    def write() -> Path:
        if file.is_dir():
            raise Refusal("no room for the job")
        file.write_text(interview.text(), "utf-8")
        return file

    page = FormPage(interview, write, 0)
    yield page, Browser.of(page), file
    page.close()


def test_an_answer_brings_the_questions_that_follow(served: Any) -> None:
    _, browser, _ = served
    assert "How many flats?" not in browser.text()
    browser.give({"work.kind": "polygon"})
    asked = browser.text()
    assert "How many flats?" in asked and "How many teeth?" not in asked
    assert 'name="work.sides"' in asked and 'placeholder="6"' in asked
    assert "Still open: What is it called?" in asked
    browser.give({"work.kind": "spur-gear"})
    assert "How many flats?" not in browser.text()


def test_figures_section_and_plan_grow_with_the_answers(served: Any) -> None:
    """(28 - 24) / 2 = 2 mm deep; 24 / cos 30 = 27.713 over sharp; 4 holes of 24, six times."""
    _, browser, _ = served
    assert "<svg" not in browser.text()
    browser.give(HEXAGON)
    shown = browser.text()
    assert "<dt>depth of each flat</dt><dd>2 mm</dd>" in shown
    assert "27.713 mm" in shown
    assert shown.count('class="part"') == 1 and "6 x 4 of 24 direct" in shown
    assert "<style" not in shown  # the page's own rules allow none


def test_a_wrong_answer_is_told_beside_its_question(served: Any) -> None:
    _, browser, _ = served
    browser.give({**HEXAGON, "work.sides": "two"})
    place = re.search(r'id="work\.sides".*?</div>', browser.text())
    assert place and "give a whole number" in place[0]
    browser.give({"work.sides": "4"})
    assert "give a whole number" not in browser.text()
    assert "4 x 6 of 24 direct" in browser.text()
    browser.give({"work.sides": ""})
    assert "6 x 4 of 24 direct" in browser.text()  # what custom has, again


def test_what_is_written_is_the_job(served: Any) -> None:
    page, browser, file = served
    assert browser.tell(write=True) == 409 and not file.exists()
    browser.give(HEXAGON)
    file.mkdir()
    assert browser.tell(write=True) == 409 and "no room for the job" in browser.text()
    file.rmdir()
    assert browser.tell(write=True) == 204
    assert f"The job is in {file}" in browser.text()
    assert page.wait() == file
    done = tallyhand("job", "check", file, "--json")
    assert json.loads(done.stdout)["cuts"] == 6
    assert browser.tell(ask="work.sides", text="8") == 409


def test_it_takes_answers_from_its_own_page_alone(served: Any) -> None:
    page, browser, _ = served
    assert browser.tell(ask="work.kind", text="polygon", token="x") == 403
    assert "How many flats?" not in browser.text()
    browser.give({"work.kind": "polygon", ".title": "<script>alert(1)</script>"})
    there = http.client.HTTPConnection("127.0.0.1", browser.port, timeout=60)
    there.request("GET", "/", headers={"Host": "cider.example"})
    assert there.getresponse().status == 403
    assert b"<script>alert" not in page.document()


def test_a_tablet_shows_the_keys_that_an_answer_needs(served: Any) -> None:
    """Figures for a count, figures with a point for a number, letters one tap away for a length."""
    _, browser, _ = served
    browser.give({"work.kind": "spur-gear"})
    shown = browser.text()

    def keys(name: str) -> tuple[str, bool]:
        found = re.search(rf'id="{name}" .*?inputmode="(\w+)"[^>]*>(<button)?', shown)
        assert found, name
        return found[1], bool(found[2])

    assert keys("work.teeth") == ("numeric", False)
    assert keys("work.module") == ("decimal", False)
    assert keys("work.blank") == ("decimal", True)
    assert keys(r"\.title") == ("text", False)


def test_the_last_page_is_out_before_the_program_ends(
    served: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    """However long the machine takes to send it."""
    page, browser, _ = served
    sends, may_send = threading.Event(), threading.Event()
    head = Handler._head

    def late(handler: Handler, status: HTTPStatus, lines: dict[str, str]) -> None:
        if page.written and handler.command == "GET":
            sends.set()
            may_send.wait(60)
        head(handler, status, lines)

    monkeypatch.setattr(Handler, "_head", late)
    browser.give(HEXAGON)
    assert browser.tell(write=True) == 204
    reader = threading.Thread(target=browser.text)
    ended = threading.Thread(target=page.wait)
    reader.start()
    ended.start()
    assert sends.wait(60)
    ended.join(0.3)
    assert ended.is_alive()
    may_send.set()
    ended.join(60)
    reader.join(60)
    assert not ended.is_alive()


def test_a_page_made_before_the_job_was_written_ends_nothing(served: Any) -> None:
    """Two browsers: one looks while the other has the job written. The first one's page does not
    tell where it is, and so is not what the program waits for; either last page is."""
    page, _, file = served
    lock = page._lock

    class WrittenBetween:
        """The other browser comes in as soon as the lock is free."""

        def __enter__(self) -> None:
            lock.acquire()

        def __exit__(self, *_: object) -> None:
            lock.release()
            page.written = file

    page._lock = WrittenBetween()
    page._page_sent(page.document())
    page._lock = lock
    assert not page._told.is_set()
    one, _ = page.document(), page.document()
    page._page_sent(one)
    assert page._told.is_set()


def test_it_speaks_german() -> None:
    language_files.load_language("de")
    with speaking("de"):
        page = FormPage(Interview(Asking(iter(()), io.StringIO()), "three-plate-40", "mm"), Path, 0)
    try:
        shown = Browser.of(page).text()
    finally:
        page.close()
    assert 'lang="de"' in shown and "A new job" not in shown and "Enter: " not in shown


@contextmanager
def edited(file: Path, *more: str) -> Iterator[tuple[subprocess.Popen[str], Browser]]:
    """`tallyhand job edit FILE --page` as a process."""
    words = ["job", "edit", str(file), "--page", "--port", "0", *more]
    program = subprocess.Popen(
        [*PROGRAM, *words], cwd=ROOT, stdout=subprocess.PIPE, stdin=subprocess.DEVNULL, text=True
    )
    try:
        assert program.stdout
        address = next(line for line in program.stdout if "http://" in line).split()[-1]
        browser = Browser.at(int(address.rstrip("/").rsplit(":", 1)[1]))
        yield program, browser
    finally:
        program.kill()
        program.wait()


def test_a_file_that_is_there_is_changed_on_the_page(tmp_path: Path) -> None:
    """Its answers stand in the fields; only what was changed is another in the file, and its
    comments, and what it leaves open, stay as they are."""
    text = (JOBS / "hexagon-plug.toml").read_text("utf-8")
    file = tmp_path / "plug.toml"
    file.write_text(text, "utf-8")
    with edited(file) as (program, browser):
        shown = browser.text()
        assert "A job changed" in shown and 'value="24 mm"' in shown and "<svg" in shown
        browser.give({"work.across_flats": "22"})
        assert browser.tell(write=True) == 204
        assert f"The job is in {file}" in browser.text()
        assert program.wait(60) == 0
    assert file.read_text("utf-8") == text.replace('"24 mm"', '"22 mm"')


def test_a_bare_number_is_in_the_unit_of_the_file(tmp_path: Path) -> None:
    """A job in inches that does not say so at its top: 0.75 is no millimetre."""
    text = (JOBS / "hexagon-plug.toml").read_text("utf-8")
    text = text.replace('"24 mm"', '"0.75 in"').replace('"30 mm"', '"1 in"')
    file = tmp_path / "plug.toml"
    file.write_text(text, "utf-8")
    with edited(file) as (_, browser):
        browser.give({"work.across_flats": "0.8"})
        assert browser.tell(write=True) == 204
    assert file.read_text("utf-8") == text.replace('"0.75 in"', '"0.8 in"')


def test_a_fault_of_the_file_stands_beside_its_question(tmp_path: Path) -> None:
    """It is not written while it is wrong; of a job of several rings one is to be named."""
    file = tmp_path / "plug.toml"
    text = (JOBS / "hexagon-plug.toml").read_text("utf-8").replace("sides = 6", "sides = 1")
    file.write_text(text, "utf-8")
    with edited(file) as (_, browser):
        assert "it must be 2 to 400" in browser.text()
        assert browser.tell(write=True) == 409
        browser.give({"work.sides": "6"})
        assert browser.tell(write=True) == 204
    assert file.read_text("utf-8") == text.replace("sides = 1", "sides = 6")
    rings = JOBS / "dial-and-holes.toml"
    line = one_line(tallyhand("job", "edit", rings, "--page"), 1)
    assert "--ring holes, or --ring lines" in line
    line = one_line(tallyhand("job", "edit", rings, "--page", "--ring", "teeth"), 1)
    assert "no ring 'teeth'" in line and "holes, lines" in line


@pytest.mark.parametrize("ring", ["holes", "1"])
def test_one_ring_of_several_is_changed_on_the_page(tmp_path: Path, ring: str) -> None:
    """Its own questions stand there, none of the other's; in the file its table alone is new."""
    text = (JOBS / "dial-and-holes.toml").read_text("utf-8")
    file = tmp_path / "dial.toml"
    file.write_text(text, "utf-8")
    with edited(file, "--ring", ring) as (program, browser):
        shown = browser.text()
        assert 'value="8"' in shown and 'value="50 mm"' in shown and "<svg" in shown
        assert "work.lines" not in shown
        browser.give({"work.holes": "10"})
        assert browser.tell(write=True) == 204
        browser.text()
        assert program.wait(60) == 0
    assert file.read_text("utf-8") == text.replace("holes = 8\n", "holes = 10\n")
    assert tallyhand("job", "check", file).returncode == 0


def test_one_ring_of_several_is_changed_by_question(tmp_path: Path) -> None:
    """The answer that was changed stands in its ring; Enter takes the material that is offered for
    it, and the plan."""
    text = (JOBS / "dial-and-holes.toml").read_text("utf-8")
    file = tmp_path / "dial.toml"
    file.write_text(text, "utf-8")
    listed = tallyhand("job", "edit", file, "--ring", "lines", given="?\n\n")
    number = re.search(r"^ +(\d+) +How many spaces", listed.stdout, re.MULTILINE)
    assert number, listed.stdout + listed.stderr
    done = tallyhand("job", "edit", file, "--ring", "lines", given=f"{number[1]}\n90\n\n\n")
    assert done.returncode == 0, done.stdout + done.stderr
    before, now = tomllib.loads(text), tomllib.loads(file.read_text("utf-8"))
    assert now["ring"] == [before["ring"][0], {**before["ring"][1], "lines": 90}]
    assert now["order"] == "free"


@pytest.mark.live
def test_in_a_browser_on_a_tablet(browser: Any, tmp_path: Path) -> None:
    """By touch and keys alone, as a process, from the address that it prints to the file."""
    (tmp_path / "tallyhand.toml").write_text("format = 1\n", "utf-8")
    file = tmp_path / "plug.toml"
    words = ["job", "new", "--page", "--port", "0", "--out", str(file),
             "--config", str(tmp_path / "tallyhand.toml")]  # fmt: skip
    program = subprocess.Popen(
        [*PROGRAM, *words], cwd=ROOT, stdout=subprocess.PIPE, stdin=subprocess.DEVNULL, text=True
    )
    context = browser.new_context(viewport={"width": 800, "height": 1280}, has_touch=True)
    try:
        assert program.stdout
        address = next(line for line in program.stdout if "http://" in line).split()[-1]
        tab = context.new_page()
        faults: list[str] = []
        tab.on("pageerror", lambda error: faults.append(str(error)))
        tab.goto(address)
        tab.fill("[name='.title']", "Plug of the press")
        tab.select_option("[name='work.kind']", "polygon")
        for name, text in (("work.across_flats", "24"), ("work.bar", "28")):
            tab.wait_for_selector(f"[name='{name}']", timeout=60_000)
            tab.fill(f"[name='{name}']", text)
            tab.press(f"[name='{name}']", "Enter")
        tab.wait_for_selector("aside svg", timeout=60_000)
        tab.tap("button[data-write]", timeout=60_000)
        tab.wait_for_selector("text=The job is in", timeout=60_000)
        assert program.wait(60) == 0 and "across_flats" in file.read_text("utf-8")
        assert faults == []
    finally:
        context.close()
        program.kill()
        program.wait()


@pytest.mark.live
def test_a_tap_is_felt_while_the_page_comes_again(browser: Any, tmp_path: Path) -> None:
    """Who types and then taps has the finger on the button when the page comes with the answer."""
    file = tmp_path / "plug.toml"
    text = (JOBS / "hexagon-plug.toml").read_text("utf-8")
    file.write_text(text, "utf-8")
    with edited(file) as (program, asked):
        tab = browser.new_page()
        try:
            tab.goto(f"http://127.0.0.1:{asked.port}/", timeout=60_000)
            tab.fill("[name='work.sides']", "8")
            tab.hover("button[data-write]")
            with tab.expect_response(lambda each: each.request.method == "GET") as again:
                tab.mouse.down()
            again.value.finished()
            tab.evaluate("new Promise((done) => setTimeout(done, 300))")
            tab.mouse.up()
            tab.wait_for_selector("text=The job is in", timeout=60_000)
        finally:
            tab.close()
        assert program.wait(60) == 0
    assert file.read_text("utf-8") == text.replace("sides = 6", "sides = 8")
