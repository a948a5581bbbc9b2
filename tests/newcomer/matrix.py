"""Installs, answers and leaves again on bare systems: what each command of a newcomer does there.

    sudo .venv/bin/python -m tests.newcomer.matrix bookworm bookworm:plain trixie [--out FILE.md]

A system is a suite of Debian (`forky` for the newest Python, `trixie-arm64` under qemu-user);
`:plain` is a user without sudo and without compiler, to whom the administrator gave Python, its
environments and git. Needs root, debootstrap, a network; for ARM qemu-user-static, and leave to
register it with the kernel. Everything happens in a root of its own; it takes minutes a system.
What came of it is kept in `matrix.json`, system by system, and stands in docs/install.md:
`python -m tests.newcomer.matrix_table` writes it there.
"""

from __future__ import annotations

import argparse
import contextlib
import datetime
import json
import signal
import subprocess
import sys
import time
from dataclasses import dataclass
from pathlib import Path

from tests.newcomer.room import Room, base, clean_room, mirror_for
from tests.newcomer.terminal import Terminal, leave

ROOT = Path(__file__).parents[2]
TALLYHAND = ".venv/bin/tallyhand"
RESULTS = Path(__file__).with_name("matrix.json")
LIMIT_S = 3000


@dataclass(frozen=True)
class Step:
    """One command; `codes` are the exit codes that are well, `shows` what has to be seen. With
    `until`, it is on a terminal, with Enter at whatever is asked, until that is seen there."""

    name: str
    command: str
    shows: str = ""
    codes: tuple[int, ...] = (0,)
    until: str = ""


MOVE = r"\w+ turns?, then \w[\w-]* holes? on the \w[\w-]* circle"
STEPS = (
    # The README's two commands come first, on the bare system.
    Step("README: demo, to the first move", "bash config/demo.sh", "Installing tallyhand",
         until=MOVE),
    Step("README: setup, to its end", f"{TALLYHAND} setup", "The set-up is done",
         until="The set-up is done"),
    Step("version", f"{TALLYHAND} --version", "journal format"),
    Step("plan", f"{TALLYHAND} plan --head three-plate-40 --divisions 21", "21"),
    Step("rehearse", f'echo \'{{"press": "main"}}\' | {TALLYHAND} rehearse pinion', "pinion"),
    Step("hear", f"{TALLYHAND} hear --json /srv/locked.wav", '"command": "locked"'),
    Step("sheet, page", f"{TALLYHAND} sheet pinion --out pinion.html", "pinion.html"),
    # Without the system's letters there is none, and it says what to install.
    Step("sheet, PDF", f"{TALLYHAND} sheet pinion --out pinion.pdf", "p", (0, 1)),
    Step("doctor", f"{TALLYHAND} doctor", "ok  recogniser", (0, 1)),
    Step("doctor --where", f"{TALLYHAND} doctor --where", "journals"),
    Step("install, again", "bash config/install.sh -y", "Installing tallyhand"),
    # Nobody can answer there: it begins, says so, keeps the job and ends.
    Step("demo, nobody there", "bash config/demo.sh -y --config /srv/no-page.toml </dev/null",
         "tallyhand resume", (1,)),
    Step("uninstall", ".venv/bin/python -m pip uninstall -y tallyhand", "Successfully"),
    # From the root folder: in the checkout the packages would be found beside it.
    Step("nothing left of it",
         "p=$PWD; cd / && test ! -e $p/.venv/bin/tallyhand && "
         "! $p/.venv/bin/python -c 'import solver' 2>/dev/null && "
         "! $p/.venv/bin/python -c 'import assistant' 2>/dev/null && "
         "! find ~/.local ~/.config ~/.cache -path '*tallyhand*' -name '*.lock' 2>&1 | "
         "grep 'tallyhand.*lock' && ls ~/.local/share/tallyhand"),
)  # fmt: skip


@dataclass(frozen=True)
class Done:
    step: Step
    code: int
    said: str
    seconds: float

    @property
    def well(self) -> bool:
        """It ended as it should, without a traceback, and showed what it has to show."""
        seen = self.step.shows in self.said and "Traceback (most recent" not in self.said
        return seen and self.code in self.step.codes


def main() -> int:
    # Asked to end, it leaves no room behind.
    signal.signal(signal.SIGTERM, lambda *_: sys.exit(1))
    parser = argparse.ArgumentParser(prog="python -m tests.newcomer.matrix", description=__doc__)
    parser.add_argument("systems", nargs="+", help="suite, suite:plain, trixie-arm64")
    parser.add_argument("--keep", default="/var/tmp/newcomer", help="folder of the bare systems")
    parser.add_argument("--out", help="write here what was said, step by step")
    given = parser.parse_args()
    well = True
    for system in given.systems:
        about, steps = tried(system, Path(given.keep))
        keep_results(system, about, steps)
        well = well and all(done.well for done in steps)
        if given.out:
            with Path(given.out).open("a", encoding="utf-8") as out:
                out.write(told(system, steps))
    return 0 if well else 1


def tried(system: str, keep: Path) -> tuple[dict[str, str], list[Done]]:
    """What the system is, and every step on it, up to and with the first without which no other
    can be."""
    suite, _, who = system.partition(":")
    bare = base(suite, mirror_for(suite), keep)
    with clean_room(bare, keep, plain=who == "plain") as room:
        room.take(ROOT)
        _recording(room.root / "srv" / "locked.wav")
        (room.root / "srv" / "no-page.toml").write_text("[page]\nserve = false\n")
        user = "newcomer" if who == "plain" else "root"
        begun = [run(room, Step("clone", _CLONE), user, ".")]
        for step in STEPS if begun[0].well else ():
            begun.append(run(room, step, user, "tallyhand"))
            done = begun[-1]
            print(f"{system} {step.name}: {_verdict(done)}, {done.seconds:.0f} s", flush=True)
            if step is STEPS[0] and not (room.root / f"{_home(user)}/{TALLYHAND}").exists():
                break
        python = run(room, Step("", ".venv/bin/python -VV; uname -m"), user, "tallyhand").said
        return {"python": python.split()[1], "processor": python.split()[-1]}, begun


def _home(user: str) -> str:
    return "root/tallyhand" if user == "root" else f"home/{user}/tallyhand"


_CLONE = "git clone -q file:///srv/tallyhand.git tallyhand"


def run(room: Room, step: Step, user: str, folder: str) -> Done:
    began = time.monotonic()
    words = room.enter(f"cd {folder} && {{ {step.command}; }}", user=user)
    if step.until:
        code, said = _by_enter(words, step.until)
        return Done(step, code, said, time.monotonic() - began)
    try:
        done = subprocess.run(
            words, stdin=subprocess.DEVNULL, stdout=subprocess.PIPE, stderr=subprocess.STDOUT,
            text=True, errors="replace", check=False, timeout=LIMIT_S,
        )  # fmt: skip
    except subprocess.TimeoutExpired as late:
        said = (late.stdout or b"").decode("utf-8", "replace")
        return Done(step, -1, f"{said}\nnot done in {LIMIT_S} s", LIMIT_S)
    return Done(step, done.returncode, done.stdout, time.monotonic() - began)


def _by_enter(words: list[str], until: str) -> tuple[int, str]:
    """On a terminal, with Enter every other second until that is seen; then it ends, or is left."""
    terminal = Terminal(words)
    end = time.monotonic() + LIMIT_S
    while time.monotonic() < end:
        try:
            terminal.wait_for(until, 2)
            break
        except AssertionError:
            with contextlib.suppress(OSError):  # it has ended: what it said tells why
                terminal.type("\n")
            if terminal.ended:
                return terminal.end(), f"{terminal.shown}\n(it ended before {until!r})"
    try:
        if until == MOVE:
            leave(terminal)
    except AssertionError as error:
        return -1, str(error)
    return terminal.end(), terminal.shown


def _recording(file: Path) -> None:
    """A phrase, spoken on this machine: 16 kHz, as a microphone gives it."""
    spoken = ["espeak-ng", "-v", "en-us", "-s", "140", "--stdout", "spindle locked"]
    pause = ["sox", "-t", "wav", "-", "-r", "16000", str(file), "pad", "1", "1"]
    voice = subprocess.run(spoken, check=True, capture_output=True).stdout
    subprocess.run(pause, input=voice, check=True, capture_output=True)


def keep_results(system: str, about: dict[str, str], steps: list[Done]) -> None:
    """This system's row in the file of results, with its day; the others stay as they were."""
    rows = json.loads(RESULTS.read_text("utf-8")) if RESULTS.exists() else {}
    day = datetime.datetime.now(datetime.UTC).date().isoformat()
    rows[system] = {
        "day": day,
        **about,
        "steps": {
            done.step.name: {"well": done.well, "seconds": round(done.seconds)} for done in steps
        },
    }
    RESULTS.write_text(json.dumps(rows, indent=1, sort_keys=True) + "\n", "utf-8")


def told(system: str, steps: list[Done]) -> str:
    lines = [f"## {system}\n"]
    lines += [f"$ {done.step.command}\n{done.said.strip()[-3000:]}\n({done.code}: "
              f"{_verdict(done)})\n" for done in steps]  # fmt: skip
    return "\n".join(lines)


def _verdict(done: Done) -> str:
    return "ok" if done.well else f"NOT ({done.code})"


if __name__ == "__main__":
    sys.exit(main())
