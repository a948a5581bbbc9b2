"""From a drawing on paper to the first cut, on real terminals, at the pace of a person.

    .venv/bin/python -m tests.newcomer.first_cut [--out docs/first-cut.md]

A newcomer who has never seen a question before reads each of them, thinks, types the answer key
by key into `tallyhand job new`, which begins the job, and presses Enter once each item of the
set-up was read. What the hands do at the machine meanwhile is not in it. The pace:
thinking 1.35 s and half a second a key after Card, Moran and Newell's keystroke-level model
(1980: 0.28 s for an average typist, 0.5 for random letters), reading at 238 words a minute, a
list as far as the answer (Brysbaert 2019, the mean of 190 studies); all from memory. It takes
five minutes: no test calls it.
"""

from __future__ import annotations

import argparse
import contextlib
import os
import re
import sys
import tempfile
import time
from dataclasses import dataclass, field
from pathlib import Path

from assistant.engine.phases import Step
from assistant.engine.state import State
from assistant.journal.writing import journals, read_journal
from tests.commands import PROGRAM, ROOT
from tests.newcomer.terminal import Terminal, leave
from tests.whole.person import Hearing
from tests.whole.sound import SoundServer

THINK_S, KEY_S, WORDS_A_MINUTE = 1.35, 0.5, 238
DRAWING = """\
Drawing 7, sheet 1: drain plug of the cider press. Bronze, bar 30 mm. Hexagon, 24 mm across
flats. The cutter in the drawer: 20 mm."""
# What the drawing says, by what is asked; what it does not say is answered by Enter.
SAYS = (
    (r"^What is it called\?", "Drain plug"),
    (r"^The number of the drawing\?", "7"),
    (r"^What kind of work is it\?", "flats on a round bar"),
    (r"^How many flats\?", "6"),
    (r"^Size across flats", "24"),
    (r"^Diameter of the bar\?", "30"),
    (r"^Which material\?", "bronze"),
    (r"^Diameter of the cutter\?", "20"),
    (r"^Write the job\?", "run"),
)


@dataclass
class Diary:
    """What was asked and answered, and when, in seconds from the drawing taken in hand."""

    began: float = field(default_factory=time.monotonic)
    lines: list[tuple[float, str, str]] = field(default_factory=list)

    def note(self, asked: str, answer: str) -> None:
        at = time.monotonic() - self.began
        self.lines.append((at, asked, answer))
        print(f"{at:6.1f}  {asked}  {answer or 'Enter'}", flush=True)


def main() -> int:
    parser = argparse.ArgumentParser(prog="python -m tests.newcomer.first_cut", description=__doc__)
    parser.add_argument("--out", help="write the page with the transcript here")
    given = parser.parse_args()
    with (
        tempfile.TemporaryDirectory(prefix="first-cut-") as folder,
        SoundServer(Path(folder) / "sound") as sound,
    ):
        diary, file, load = Diary(), Path(folder) / "drain-plug.toml", os.getloadavg()[0]
        hearing = Hearing(sound)
        terminal = Terminal(_words(sound, Path(folder), "job", "new", "--out", str(file)))
        try:
            _asked(terminal, diary)
            asked_s = time.monotonic() - diary.began
            _run(terminal, Path(folder), hearing, diary)
        finally:
            hearing.close()
        page = _page(diary, asked_s, file.read_text("utf-8"), (load, os.getloadavg()[0]))
    if given.out:
        Path(given.out).write_text(page, "utf-8")
    return 0 if diary.lines[-1][0] < 300 else 1


def _words(sound: SoundServer, folder: Path, *words: str) -> list[str]:
    """A home with nothing in it but the sound of a desktop."""
    home = {"HOME": str(folder), "XDG_CONFIG_HOME": "", "XDG_DATA_HOME": "", "TERM": "xterm"}
    env = {"PATH": os.environ["PATH"], "LANG": "C.UTF-8", **home, **sound.added}
    return ["env", "-C", str(ROOT), *(f"{name}={text}" for name, text in env.items()),
            *PROGRAM, *words]  # fmt: skip


def _asked(terminal: Terminal, diary: Diary) -> None:
    """`tallyhand job new`, to its last question."""
    read, asked = 0, ""
    while not asked.startswith("Write the job?"):
        shown = _settled(terminal, read)
        assert not terminal.ended, shown[-1500:]
        new, read = shown[read:], len(shown)
        asked = shown.rstrip().splitlines()[-1].strip()
        answer, to_read = _answer(asked, new)
        time.sleep(len(to_read.split()) * 60 / WORDS_A_MINUTE + THINK_S)
        for key in answer:
            terminal.type(key)
            time.sleep(KEY_S)
        diary.note(asked, answer)
        terminal.type("\n")
        time.sleep(KEY_S)
        read += len(answer)


def _settled(terminal: Terminal, beyond: int = 0) -> str:
    """What is shown, once there is more than that and nothing more comes for a moment."""
    shown = ""
    while not terminal.ended:
        with contextlib.suppress(AssertionError):
            terminal.wait_for("\x00", 0.3)
        if terminal.shown == shown and len(shown.rstrip()) > beyond:
            break
        shown = terminal.shown
    return terminal.shown


def _answer(asked: str, new: str) -> tuple[str, str]:
    """What is typed, and what was read before it."""
    said = next((answer for words, answer in SAYS if re.search(words, asked)), "")
    listed = re.search(rf"^[ *]*(\d+)  {re.escape(said)}", new, re.MULTILINE) if said else None
    return (listed[1], new[: listed.end()]) if listed else (said, new)


def _run(terminal: Terminal, folder: Path, hearing: Hearing, diary: Diary) -> None:
    """The session that it began, until the first cut is asked for. The safety words, the first
    item after them and what is asked for lock and guard are heard to their end; the other items of
    the set-up are read on the screen."""
    data = folder / ".local" / "share" / "tallyhand" / "journals"
    hearing.wait_for_new_sound()
    diary.note("(the session begins to speak)", "nothing")
    hearing.wait_for_quiet(0.8)
    hearing.from_now()
    heard = True
    while (state := _state(data, terminal)).step is not Step.CUT:
        if state.step is Step.SET_UP and state.item:
            time.sleep(len(state.said.split()) * 60 / WORDS_A_MINUTE)
        elif not heard:
            hearing.wait_for_new_sound()  # nobody answers before it is asked
            hearing.wait_for_quiet(0.8)
        heard = False
        time.sleep(THINK_S)
        diary.note(state.said, "")
        terminal.type("\n")
        end = time.monotonic() + 3
        while _state(data, terminal) == state and time.monotonic() < end:
            time.sleep(0.05)
        time.sleep(0.15)  # the sentence that was pressed into has stopped by then
        hearing.from_now()
    diary.note(state.said, "the first cut begins")
    leave(terminal)


def _state(data: Path, terminal: Terminal) -> State:
    with contextlib.suppress(AssertionError):
        terminal.wait_for("\x00", 0.01)  # what it draws is read away
    return read_journal(journals(data)[-1]).entries[-1].state


PAGE = """\
# From a drawing to the first cut

Somebody who has never seen a question of `tallyhand job new` has a drawing on paper and an empty
home. From the drawing to the first cut it took **{whole}**: {asked} for the job, {run} from there.
What the hands do at the machine meanwhile (the head bolted down, the work held, the cutter touched
off) is not in it. The aim is five minutes.

A script played the person on a real terminal with real sound, on a machine of two cores with a
load of {load} (`python -m tests.newcomer.first_cut`): each question was read at 238 words a minute,
a list as far as the answer; 1.35 s to think, half a second a key. The safety words, the first item
after them and what is asked for lock and guard were heard to their end; the other items of the
set-up were read on the screen. The pace is that of the keystroke-level model, from memory.

```text
{drawing}
```

| at | asked | typed |
|---|---|---|
{lines}

The file that came of it:

```toml
{job}
```
"""


def _page(diary: Diary, asked_s: float, job: str, load: tuple[float, float]) -> str:
    end = diary.lines[-1][0]
    lines = [f"| {_clock(at)} | {asked} | {answer or '*Enter*'} |"
             for at, asked, answer in diary.lines]  # fmt: skip
    return PAGE.format(
        whole=_clock(end), asked=_clock(asked_s), run=_clock(end - asked_s), drawing=DRAWING,
        lines="\n".join(lines), job=job.strip(), load=f"{load[0]:.1f} to {load[1]:.1f}",
    )  # fmt: skip


def _clock(seconds: float) -> str:
    whole = round(seconds)
    return f"{whole // 60}:{whole % 60:02}"


if __name__ == "__main__":
    sys.exit(main())
