"""`tallyhand job new --voice` as a process, over a real sound server: a voice answers, and keys.

The voice is synthetic, not a person. It does as a person does: what is read back wrong it takes
back, what was not heard or not understood it says again.
"""

from __future__ import annotations

import os
import select
import subprocess
import time
import tomllib
from pathlib import Path

import pytest

from tests.commands import PROGRAM, ROOT
from tests.whole.person import Hearing
from tests.whole.sound import SoundServer

pytestmark = pytest.mark.sound
pytest.importorskip("pyopen_wakeword")

MOST = 500  # seconds; on a machine of its own it takes a hundred
UNANSWERED = 25  # no sentence here is spoken for longer
# What is spoken, by the question that is open, with how it is read back; "" is a phrase.
SPOKEN = {
    "In which lengths is the drawing?": ("set and checked", ""),
    "How many flats?": ("six", "Six."),
    "Size across flats, with its limits?": ("twenty four", "Twenty-four."),
}
TYPED = {"What is it called?": "Plug of the press", "What kind of work is it?": "polygon"}


class Person:
    def __init__(self, server: SoundServer, program: subprocess.Popen[bytes]) -> None:
        self._server, self._program, self._ears = server, program, Hearing(server)
        self.shown, self._read_to = "", 0
        self.spoken: list[str] = []

    def close(self) -> None:
        self._ears.close()

    def answer_all(self) -> None:
        """Until the program has ended; what nobody answers is said again after a while."""
        end, words, since = time.monotonic() + MOST, "", time.monotonic()
        while self._program.poll() is None:
            assert time.monotonic() < end, self.shown
            if not self._more():
                if words and time.monotonic() - since > UNANSWERED:
                    self._say(words)
                    since = time.monotonic()
                continue
            last = self.shown.rstrip().splitlines()[-1].strip()
            if (answer := self._answer(last)) is not None:
                words, since = answer, time.monotonic()

    def _more(self) -> bool:
        """Something new was shown, and nothing more comes for a moment."""
        assert self._program.stdout
        stream, new = self._program.stdout.fileno(), False
        while select.select([stream], [], [], 0.5)[0]:
            if not (block := os.read(stream, 65536)):
                break
            self.shown, new = self.shown + block.decode(), True
        return new

    def _answer(self, last: str) -> str | None:
        """What was spoken; "" where the answer was typed, None where nothing is asked."""
        if "Say reading is true" in last:
            question = next(q for q in SPOKEN if q in self.shown.rsplit("= ", 1)[-1])
            right = last.startswith(SPOKEN[question][1])
            return self._say("reading is true" if right else "go back one")
        for question, (words, _) in SPOKEN.items():
            if question in last:
                return self._say(words)
        if "?" not in last:
            return None
        typed = next((text for question, text in TYPED.items() if question in last), "")
        typed = "30" if "Diameter of the bar?" in last else typed
        assert self._program.stdin
        self._program.stdin.write(f"{typed}\n".encode())
        self._program.stdin.flush()
        return ""

    def _say(self, words: str) -> str:
        self._ears.wait_for_quiet(1.0)
        self._server.say(words)
        self.spoken.append(words)
        return words


def test_a_job_by_voice_and_keys(server: SoundServer, tmp_path: Path) -> None:
    """Six flats, twenty-four across, spoken and confirmed; names and the bar typed."""
    (tmp_path / "tallyhand.toml").write_text("format = 1\n", "utf-8")
    file = tmp_path / "plug.toml"
    program = subprocess.Popen(
        [*PROGRAM, "job", "new", "--voice", "--out", str(file),
         "--config", str(tmp_path / "tallyhand.toml")], cwd=ROOT,
        env={**server.env, "XDG_CONFIG_HOME": str(tmp_path), "PYTHONUNBUFFERED": "1"},
        stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.STDOUT,
    )  # fmt: skip
    person = Person(server, program)
    try:
        person.answer_all()
        assert program.wait(60) == 0, person.shown
    finally:
        person.close()
        program.kill()
        program.wait()
    job = tomllib.loads(file.read_text("utf-8"))
    assert (job["work"]["sides"], job["work"]["across_flats"]) == (6, "24 mm"), person.shown
    assert person.spoken.count("reading is true") >= 2
    assert "set and checked" in person.spoken and job["units"] == "mm"
