"""A machine without NumPy has no sound and no ear; everything else works, and it says so."""

from __future__ import annotations

import http.client
import json
import os
import re
import subprocess
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

from assistant.engine.events import PedalUsed
from assistant.engine.phases import Step
from assistant.journal.writing import JournalRecords, journals, read_journal
from tests.commands import PROGRAM, ROOT, one_line, tallyhand
from tests.whole import screen as screens
from tests.whole.screen import Screen

# Put before everything else that a process imports: NumPy can't be found, as where it never was.
BLOCK = """
import sys
class Absent:
    def find_spec(self, name, path=None, target=None):
        if name.partition(".")[0] == "numpy":
            raise ModuleNotFoundError(f"No module named {name!r}", name=name)
sys.meta_path.insert(0, Absent())
"""
JOB = """
title = "Notches of the mill's strike"
head = "three-plate-40"
[work]
kind = "angles"
angle = "40d"
count = 2
"""
CURE = "-m pip install numpy"


@pytest.fixture
def without(tmp_path: Path) -> dict[str, str]:
    """The environment of a machine without NumPy."""
    place = tmp_path / "absent"
    place.mkdir()
    (place / "sitecustomize.py").write_text(BLOCK)
    return {**os.environ, "PYTHONPATH": str(place), "XDG_CONFIG_HOME": str(tmp_path / "config")}


def test_it_plans_and_rehearses(without: dict[str, str], tmp_path: Path) -> None:
    """Arithmetic and engine are exact, and need no floats; the job is rehearsed to its end."""
    plan = tallyhand("plan", "--head", "three-plate-40", "--divisions", "21", env=without)
    assert plan.returncode == 0 and "PLAIN" in plan.stdout, plan.stderr
    job = tmp_path / "notches.toml"
    job.write_text(JOB)
    words = ("rehearse", job, "--json", "--data", tmp_path / "data")
    done = tallyhand(*words, given='{"press": "main"}\n' * 60, env=without)
    assert done.returncode == 0, done.stderr
    assert '"phase": "finished"' in done.stdout


def test_doctor_and_hear_name_what_to_install(without: dict[str, str], tmp_path: Path) -> None:
    """Each part that stands on it says so with the command; what does not is told of too."""
    config = tmp_path / "tallyhand.toml"
    config.write_text("")
    done = tallyhand("doctor", "--json", "--config", config, env=without)
    found = {each["part"]: each for each in json.loads(done.stdout)["findings"]}
    assert done.returncode == 1 and done.stderr == ""
    for part in ("microphone", "speaker", "recogniser"):
        assert CURE in found[part]["cure"], found[part]
    assert {"pedal", "paper"} <= set(found)
    assert CURE in one_line(tallyhand("hear", "--json", "x.wav", env=without), 1)


class Session:
    """A running session, its journal, and the means to answer it."""

    def __init__(self, folder: Path, env: dict[str, str]) -> None:
        self._data, self._output = folder / "data", folder / "output.txt"
        job = folder / "notches.toml"
        job.write_text(JOB)
        words = ["run", str(job), "--port", "0", "--data", str(self._data)]
        with self._output.open("wb") as out:
            self.process = subprocess.Popen(
                [*PROGRAM, *words], stdin=subprocess.PIPE, stdout=out, stderr=out, env=env, cwd=ROOT
            )

    def text(self) -> str:
        return self._output.read_text("utf-8")

    @property
    def reading(self) -> JournalRecords | None:
        found = journals(self._data)
        return read_journal(found[-1]) if found else None

    @property
    def step(self) -> Step | None:
        reading = self.reading
        return reading.entries[-1].state.step if reading and reading.entries else None

    def by_keyboard(self) -> None:
        assert self.process.stdin
        self.process.stdin.write(b"\n")
        self.process.stdin.flush()

    def by_page(self) -> None:
        """As the page's own script presses, after the question that it shows."""
        port = int(self._found(r"Bench page: http://127\.0\.0\.1:(\d+)"))
        connection = http.client.HTTPConnection("127.0.0.1", port, timeout=60)
        connection.request("GET", "/")
        token = re.search(r'data-token="([^"]+)"', _text(connection))
        assert token
        connection.request("GET", "/events")
        facts = {"token": token[1], "gesture": "press", "question": _question(connection)}
        connection.close()
        kind = {"Content-Type": "application/json"}
        connection.request("POST", "/press", json.dumps(facts), kind)
        _text(connection)
        connection.close()

    def _found(self, pattern: str) -> str:
        end = time.monotonic() + 60
        while not (found := re.search(pattern, self.text())):
            assert time.monotonic() < end and self.process.poll() is None, self.text()
            time.sleep(0.05)
        return found[1]

    def answer(self, how: Callable[[], None]) -> None:
        """Again and again, as somebody does who is not sure whether it was taken."""
        before = self._stand()
        end = time.monotonic() + 120
        while self._stand() == before:
            assert time.monotonic() < end and self.process.poll() is None, self.text()
            how()
            again = time.monotonic() + 2
            while self._stand() == before and time.monotonic() < again:
                time.sleep(0.05)

    def _stand(self) -> tuple[object, ...]:
        reading = self.reading
        if reading is None or not reading.entries:
            return ()
        state = reading.entries[-1].state
        return state.step, state.item, state.done, state.place


def _text(connection: http.client.HTTPConnection) -> str:
    answer = connection.getresponse()
    assert answer.status < 400, answer.status
    return answer.read().decode("utf-8")


def _question(connection: http.client.HTTPConnection) -> int:
    answer: Any = connection.getresponse()
    while line := answer.readline().decode("utf-8"):
        if line.startswith("data: ") and '"question"' in line:
            return int(json.loads(line[6:])["question"])
    raise AssertionError("the page told of no question")


def _teach(screen: Screen, env: dict[str, str], tries: int = 4) -> None:
    """The learn step waits for 15 seconds: on a busy machine it is begun again, as by a person."""
    for _ in range(tries):
        learning = subprocess.Popen([*PROGRAM, "doctor", "--learn-pedal"], env=env, cwd=ROOT)
        screen.press_until("F13", lambda doing=learning: doing.poll() is not None, 120)
        if learning.returncode == 0:
            return
    raise AssertionError("no press was felt")


@pytest.fixture
def screen() -> Iterator[Screen]:
    with Screen() as server:
        yield server


@pytest.mark.live
@pytest.mark.slow(30)
@pytest.mark.skipif(bool(screens.missing()), reason=f"not here: {screens.missing()}")
def test_a_job_by_keyboard_page_and_pedal(
    tmp_path: Path, without: dict[str, str], screen: Screen
) -> None:
    """To its end, with each of the three; what is missing is said first, with its cure."""
    env = {**without, "DISPLAY": screen.display}
    _teach(screen, env)
    session = Session(tmp_path, env)
    try:
        by_pedal = lambda: screen.press("F13", 90)  # noqa: E731
        while session.step is not Step.FINISHED:
            # A pedal counts for lock and guard only once it has been still for half a minute.
            for how in (session.by_keyboard, session.by_page, by_pedal):
                confirming = session.step in (Step.LOCK, Step.CALL, Step.GUARD, Step.LEAVE_OFF)
                if session.step is not Step.FINISHED:
                    session.answer(session.by_page if confirming else how)
        assert session.process.wait(120) == 0, session.text()
    finally:
        session.process.kill()
        session.process.wait()
    said = session.text()
    assert CURE in said and said.index(CURE) < said.index("Before we begin")
    reading = session.reading
    assert reading
    used = {entry.event.source for entry in reading.entries if isinstance(entry.event, PedalUsed)}
    assert used == {"keyboard", "page", "pedal"}
