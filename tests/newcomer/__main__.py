"""A newcomer on a clean machine, timed: from the README's commands to the first spoken move.

    sudo .venv/bin/python -m tests.newcomer --suite bookworm [--out FILE.md] [--keep FOLDER]

Needs root, debootstrap, a network and the sound server of the tests. Everything happens in a
root of its own (`room.py`); this machine is not changed. It takes minutes: no test calls it.
"""

from __future__ import annotations

import argparse
import os
import platform
import re
import subprocess
import sys
import tempfile
import time
from pathlib import Path

from tests.newcomer.room import SUITES, Room, base, clean_room, mirror_for
from tests.newcomer.terminal import Terminal, leave
from tests.whole.person import Hearing
from tests.whole.sound import SoundServer

ROOT = Path(__file__).parents[2]
Step = tuple[str, float]
MOVE = r"(?:One|Two|Three|\w+) turns?, then \w[\w-]* holes? on the \w[\w-]* circle"


def main() -> int:
    given = _arguments()
    steps: list[Step] = []
    keep = Path(given.keep)
    keep.mkdir(parents=True, exist_ok=True)
    bare = base(given.suite, given.mirror, keep)
    with (
        tempfile.TemporaryDirectory(prefix="newcomer-") as folder,
        clean_room(bare, keep) as room,
        SoundServer(Path(folder)) as sound,
    ):
        room.take(ROOT)
        transcript = _first_hour(room, sound, Path(folder), steps)
    report = _report(given.suite, steps)
    print(report)
    if given.out:
        Path(given.out).write_text(report + "\n", "utf-8")
    if given.transcript:
        Path(given.transcript).write_text(transcript, "utf-8")
    return 0


def _arguments() -> argparse.Namespace:
    parser = argparse.ArgumentParser(prog="python -m tests.newcomer", description=__doc__)
    parser.add_argument("--suite", choices=SUITES, default="bookworm")
    parser.add_argument(
        "--mirror",
        help="address of the suite's packages; by default where this machine's own come from",
    )
    parser.add_argument("--keep", default="/var/tmp/newcomer", help="folder of the bare systems")
    parser.add_argument("--out", help="write the table of times here")
    parser.add_argument("--transcript", help="write here what the terminal showed")
    given = parser.parse_args()
    given.mirror = given.mirror or mirror_for(given.suite)
    if not given.mirror:
        parser.error(f"{given.suite} is not of this machine's distribution: name its --mirror")
    return given


def _first_hour(room: Room, sound: SoundServer, folder: Path, steps: list[Step]) -> str:
    socket = _open_to_all(folder)
    shown = []
    for what, command in (
        ("git from the distribution", "sudo apt-get update -qq && sudo apt-get install -yqq git"),
        ("git clone", "git clone -q file:///srv/tallyhand.git tallyhand"),
    ):
        steps.append(_plain(room, what, command))
    hearing = Hearing(sound)
    try:
        shown.append(_demo(room, socket, hearing, steps))
        shown.append(_set_up(room, socket, hearing, sound, steps))
        shown.append(_offline(room, socket, hearing, steps))
    finally:
        hearing.close()
    return "\n\n".join(shown)


def _open_to_all(folder: Path) -> Path:
    """The newcomer's programs reach the sound server from inside, as another user."""
    socket = folder / "xdg" / "pulse"
    for place in (folder, folder / "xdg", socket):
        place.chmod(0o755)
    (socket / "native").chmod(0o777)
    return socket


def _plain(room: Room, what: str, command: str) -> Step:
    began = time.monotonic()
    done = subprocess.run(room.enter(command), capture_output=True, text=True, check=False)
    assert done.returncode == 0, f"{command}: {done.stdout[-800:]}{done.stderr[-800:]}"
    return what, time.monotonic() - began


def _demo(room: Room, socket: Path, hearing: Hearing, steps: list[Step]) -> str:
    """The README's command, Enter at every question, up to the first move."""
    terminal = Terminal(room.enter("cd tallyhand && bash config/demo.sh", sound=socket))
    asked = 0.0
    for _ in range(3):
        asked, _ = terminal.wait_for(r"Install them with apt-get\? \[Y/n\] ", 60)
        terminal.type("\n")
    apt, _ = terminal.wait_for("Installing tallyhand into .venv", 900)
    steps.append(("system packages (three questions, apt-get)", apt - asked))
    pip, _ = terminal.wait_for("Before we begin", 900)
    steps.append(("the program and its packages, to the first words on the screen", pip - apt))
    hearing.wait_for_new_sound(30)
    steps.append(("from there to the first spoken word", time.monotonic() - terminal.began - pip))
    began, move = _answer_to_first_move(terminal, hearing)
    steps.append(("the set-up, answered as soon as each question was heard", began - pip))
    steps.append(("from `bash config/demo.sh` to the first spoken move", began))
    leave(terminal)
    return f"{terminal.shown}\n(the first move: {move})"


def _answer_to_first_move(terminal: Terminal, hearing: Hearing) -> tuple[float, str]:
    """Enter after each question has been spoken, until a move is spoken."""
    for _ in range(60):
        hearing.wait_for_quiet(0.8)
        terminal.type("\n")
        try:
            _, move = terminal.wait_for(MOVE, 1.5)
        except AssertionError:
            continue
        hearing.wait_for_new_sound(15)
        return time.monotonic() - terminal.began, move
    raise AssertionError(f"no move came:\n{terminal.shown[-1500:]}")


# A question of `tallyhand setup` and its answer: a head of one's own, counted plate by plate.
_ANSWERS = (
    ("Did you hear it?", ""), ("Which language", ""), ("Which voice?", ""),
    ("Words a minute?", "150"), ("Loudness?", ""), ("Is it right?", ""),
    ("turn the spindle once?", "40"), ("Which one is yours?", "own"),
    ("A short name", "mill-head"), ("in a few words?", "the head from the press house"),
    ("How many turns?", "40"), ("another side of one?", ""),
    ("next circle?", "15 16 17 18 19 20"), ("next circle?", ""), ("another side of one?", "y"),
    ("next circle?", "21 23 27 92 31 33"), ("Is it right?", "n"), ("next circle?", "-"),
    ("next circle?", "29 31 33"), ("next circle?", ""), ("another side of one?", "n"),
    ("own chart", "21 1 19 21"), ("own chart", ""), ("direct plate", ""),
    ("How is the plate held?", ""), ("below level", "10"), ("up from level", ""),
    ("degree scale", ""), ("Which lengths", "mm"), ("Is there a foot pedal", "no"),
    ("answer for lock and guard", ""),
    ("Which microphone?", ""),
)  # fmt: skip


def _set_up(
    room: Room, socket: Path, hearing: Hearing, sound: SoundServer, steps: list[Step]
) -> str:
    """`tallyhand setup` from the first question to the last, and a plan on the head described."""
    terminal = Terminal(room.enter("cd tallyhand && .venv/bin/tallyhand setup", sound=socket))
    for question, answer in _ANSWERS:
        terminal.wait_for(re.escape(question), 90)
        terminal.type(f"{answer}\n")
    terminal.wait_for("listening", 90)
    hearing.wait_for_quiet()
    sound.say("spindle locked")
    terminal.wait_for("Is it running", 90)
    terminal.type("no\n")
    terminal.wait_for("Teach the ear", 90)
    terminal.type("no\n")
    took, _ = terminal.wait_for("The set-up is done", 90)
    steps.append(
        ("`tallyhand setup`, a head of two plates described, typed without thinking", took)
    )
    assert terminal.end() == 0, terminal.shown[-800:]
    _plain(room, "plan", "tallyhand/.venv/bin/tallyhand plan --divisions 51 | grep mill-head")
    return terminal.shown


def _offline(room: Room, socket: Path, hearing: Hearing, steps: list[Step]) -> str:
    """With no network at all, the job goes on and is spoken."""
    hearing.wait_for_quiet(1.5)
    words = "cd tallyhand && [ $(wc -l < /proc/net/route) -le 1 ] && .venv/bin/tallyhand resume"
    terminal = Terminal(room.enter(words, offline=True, sound=socket))
    terminal.wait_for("pin", 60)
    hearing.wait_for_new_sound(30)
    steps.append(("`tallyhand resume` with no network, to its first word",
                  time.monotonic() - terminal.began))  # fmt: skip
    leave(terminal)
    return terminal.shown


def _report(suite: str, steps: list[Step]) -> str:
    lines = [f"| {suite} | seconds |", "|---|---|"]
    lines += [f"| {what} | {seconds:.1f} |" for what, seconds in steps]
    lines += ["", f"On a machine of {os.cpu_count()} cores, {platform.machine()}."]
    return "\n".join(lines)


if __name__ == "__main__":
    sys.exit(main())
