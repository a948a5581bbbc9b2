"""`tallyhand job new --voice` as a process, over a real sound server: a voice answers, and keys.

The voice is synthetic, not a person. It does as a person does: what is read back wrong it takes
back, what was not heard or not understood it says again.
"""

from __future__ import annotations

import os
import re
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

MOST = 1800  # seconds; on a machine of its own it takes a hundred
UNANSWERED = 60  # no sentence here is spoken for half as long
TRIES = 8  # sentences spoken to one question; after them its answer is typed
# By the question: what is spoken, how it is read back ("" for a phrase, which is not), its keys.
SPOKEN = {
    "In which lengths is the drawing?": ("set and checked", "", "1"),
    "What kind of work is it?": ("seven", "Seven.", "7"),  # its number in the list
    "How many flats?": ("six", "Six.", "6"),
    "Size across flats, with its limits?": ("twenty four", "Twenty-four.", "24"),
}
TAKEN = re.compile(r"^(?:<|[\d./]+(?: \w+)?)$", re.MULTILINE)  # what was spoken, as it is shown
TYPED = {"What is it called?": "Plug of the press"}


class Person:
    def __init__(self, server: SoundServer, program: subprocess.Popen[bytes]) -> None:
        self._server, self._program, self._ears = server, program, Hearing(server)
        self.shown, self._answered_to = "", 0
        self.spoken: list[str] = []
        self._open, self._tries = "", 0  # the question to be spoken to, and how often it was

    def close(self) -> None:
        self._ears.close()

    def answer_all(self) -> None:
        """Until the program has ended; what nobody answers is said again after a while."""
        end, words, since = time.monotonic() + MOST, "", time.monotonic()
        while self._program.poll() is None:
            assert time.monotonic() < end, self.shown
            if not self._more():
                if words and time.monotonic() - since > UNANSWERED:
                    words, since = self._say(words), time.monotonic()
                continue
            # What came before the last answer was answered by it.
            since_then = self.shown[self._answered_to :]
            if not since_then.strip():
                continue
            shown_to = len(self.shown)
            answer = self._answer(since_then, since_then.rstrip().splitlines()[-1].strip())
            if answer is not None:
                words, since, self._answered_to = answer, time.monotonic(), shown_to

    def _more(self) -> bool:
        """Something new was shown, and nothing more comes for a moment."""
        assert self._program.stdout
        stream, new = self._program.stdout.fileno(), False
        while select.select([stream], [], [], 0.5)[0]:
            if not (block := os.read(stream, 65536)):
                break
            self.shown, new = self.shown + block.decode(), True
        return new

    def _answer(self, new: str, last: str) -> str | None:
        """What was spoken; "" where the answer was typed, None where nothing is asked."""
        if "Say reading is true" in last and not self._open:
            # A noise was taken for a figure; the question is one to be typed to.
            last = next((line for line in reversed(new.splitlines()) if "?" in line), "")
        if "Say reading is true" in last:
            back = SPOKEN[self._open][1]
            right = bool(back) and last.startswith(back)
            return self._say("reading is true" if right else "go back one")
        if "ype them" in last or "Type the figures" in last:
            return self._type(SPOKEN[self._open][2]) if self._open else None
        if "?" not in last:
            return None
        question = next((each for each in SPOKEN if each in last), "")
        if self._open and question != self._open:
            taken = TAKEN.findall(new)
            key = SPOKEN[self._open][2]
            if taken and taken[-1] not in ("<", key, f"{key} mm"):
                # "go back one" was heard as something else: by key, then
                self._tries = TRIES
                return self._type("<")
        if question:
            if question != self._open:
                self._open, self._tries = question, 0
            return self._say(SPOKEN[question][0])
        self._open = ""
        if "Diameter of the bar?" in last:
            return self._type("30")
        return self._type(next((text for each, text in TYPED.items() if each in last), ""))

    def _say(self, words: str) -> str:
        if self._tries >= TRIES:
            return self._type(SPOKEN[self._open][2])
        self._tries += 1
        self._ears.wait_for_quiet(1.0)
        self._server.say(words)
        self.spoken.append(words)
        return words

    def _type(self, line: str) -> str:
        assert self._program.stdin
        self._program.stdin.write(f"{line}\n".encode())
        self._program.stdin.flush()
        return ""


def test_a_job_by_voice_and_keys(server: SoundServer, tmp_path: Path) -> None:
    """Flats by their number in the list of kinds, six of them, twenty-four across, spoken and
    confirmed; names and the bar typed."""
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
    work = job["work"]
    found = (work["kind"], work["sides"], work["across_flats"])
    assert found == ("polygon", 6, "24 mm"), person.shown
    assert "Say reading is true" in person.shown  # some figure was heard, right or wrong
    assert {"set and checked", "seven"} <= set(person.spoken) and job["units"] == "mm"
