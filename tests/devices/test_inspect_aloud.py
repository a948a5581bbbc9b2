"""`tallyhand inspect --voice` as a process, over a real sound server: it asks, a voice answers.

The voice is synthetic, not a person. It does as a person does: where a figure is read back wrong it
goes back, where one was not understood it says it again.
"""

from __future__ import annotations

import subprocess
import threading
import time
from pathlib import Path
from queue import Empty, Queue

import pytest

from tests.commands import PROGRAM, ROOT
from tests.whole.person import Hearing
from tests.whole.sound import SoundServer

pytestmark = pytest.mark.sound
pytest.importorskip("pyopen_wakeword")

FIGURES = {
    "Tooth one.": ("nineteen point zero five", "Nineteen point zero five."),
    "Tooth two.": ("twenty point three five", "Twenty point three five."),
    "Tooth three.": ("sixteen point nine two", "Sixteen point nine two."),
}
MOST = 400  # seconds; on a machine of its own it takes fifty
UNANSWERED = 30  # the opening is spoken for half as long


class Person:
    """Answers what the program asks; its second figure it gives wrong at first."""

    def __init__(self, server: SoundServer, program: subprocess.Popen[str]) -> None:
        self._server, self._ears = server, Hearing(server)
        self._lines: Queue[str] = Queue()
        self.heard: list[str] = []
        self._slipped = False
        self._expected = ""
        assert program.stdout
        threading.Thread(target=self._read, args=(program.stdout,), daemon=True).start()

    def _read(self, lines: object) -> None:
        for line in lines:  # type: ignore[attr-defined]
            self._lines.put(line.rstrip("\n"))
        self._lines.put("")  # the program has ended

    def answer_all(self) -> None:
        end, words = time.monotonic() + MOST, ""
        while True:
            assert time.monotonic() < end, self.heard
            try:
                line = self._lines.get(timeout=UNANSWERED)
            except Empty:
                self._say(words)  # nobody answers: it was not heard at all
                continue
            assert line, self.heard
            self.heard.append(line)
            if "total cumulative" in line:
                return
            if words := self._answer(line):
                self._ears.wait_for_new_sound()  # a line is shown before it is said
                self._say(words)

    def _say(self, words: str) -> None:
        self._ears.wait_for_quiet(1.0)
        self._ears.from_now()
        self._server.say(words)

    def close(self) -> None:
        self._ears.close()

    def _answer(self, line: str) -> str:
        if self._expected and "I did not get" not in line and self._expected not in line:
            self._expected = ""
            return "go back one"
        self._expected = ""
        if "That was the last one" in line:
            return "reading is true"
        for question, (figure, back) in FIGURES.items():
            if line.endswith(question):
                return self._figure(question, figure, back)
        return ""

    def _figure(self, question: str, figure: str, back: str) -> str:
        self._expected = back
        if question == "Tooth two." and not self._slipped:
            self._slipped = True
            return (
                "fifteen point two five"  # the eye slipped on the dial: it is read back, and mended
            )
        return figure


def test_readings_are_told_by_voice_read_back_and_mended(
    server: SoundServer, tmp_path: Path
) -> None:
    """Three teeth at 19.05, 20.35 and 16.92: pitches 1.3, -3.43, 2.13, whatever was misheard."""
    program = subprocess.Popen(
        [*PROGRAM, "inspect", "--teeth", "3", "--k", "1", "--voice"], cwd=ROOT, text=True,
        env={**server.env, "XDG_CONFIG_HOME": str(tmp_path)}, stdin=subprocess.PIPE,
        stdout=subprocess.PIPE, stderr=subprocess.PIPE,
    )  # fmt: skip
    person = Person(server, program)
    try:
        person.answer_all()
        assert program.wait(60) == 0
    finally:
        person.close()
        program.kill()
    said = "\n".join(person.heard)
    assert (
        "Fifteen point two five. Tooth three." in said or "I did not get that. Tooth two." in said
    )
    assert "single pitch deviation: 3.43, from tooth 2 to 3" in said
    assert "total cumulative: 3.43" in said
