"""Installs, answers and leaves again on bare systems: what each command of a newcomer does there.

    sudo .venv/bin/python -m tests.newcomer.matrix bookworm bookworm:plain trixie [--out FILE.md]

A system is a suite of Debian (`forky` for the newest Python, `trixie-arm64` under qemu-user);
`:plain` is a user without sudo and without compiler, to whom the administrator gave Python, its
environments and git. Needs root, debootstrap, a network; for ARM qemu-user-static, and leave to
register it with the kernel. Everything happens in a root of its own; it takes minutes a system.
"""

from __future__ import annotations

import argparse
import contextlib
import subprocess
import sys
import time
from dataclasses import dataclass
from pathlib import Path

from tests.newcomer.room import Room, base, clean_room, mirror_for

ROOT = Path(__file__).parents[2]
TALLYHAND = ".venv/bin/tallyhand"
LIMIT_S = 3000


@dataclass(frozen=True)
class Step:
    """One command; `codes` are the exit codes that are well, `shows` what has to be seen."""

    name: str
    command: str
    shows: str = ""
    codes: tuple[int, ...] = (0,)


STEPS = (
    Step("install", "bash config/install.sh -y", "Installing tallyhand"),
    # Nobody can answer there: it begins, says so, keeps the job and ends.
    Step("demo", "bash config/demo.sh -y </dev/null", "tallyhand resume", (1,)),
    Step("set-up", f"yes '' | head -40 | {TALLYHAND} setup --silent", "", (0, 1)),
    Step("version", f"{TALLYHAND} --version", "."),
    Step("plan", f"{TALLYHAND} plan --head three-plate-40 --divisions 21", "21"),
    Step("rehearse", f'echo \'{{"press": "main"}}\' | {TALLYHAND} rehearse pinion', "pinion"),
    Step("hear", f"{TALLYHAND} hear --json /srv/locked.wav", '"heard"', (0, 1)),
    Step("page", f"{TALLYHAND} sheet pinion --out pinion.html", "pinion.html"),
    Step("PDF", f"{TALLYHAND} sheet pinion --out pinion.pdf", "p", (0, 1)),
    Step("doctor", f"{TALLYHAND} doctor", "recogniser", (0, 1)),
    Step("where", f"{TALLYHAND} doctor --where", "journals"),
    Step("uninstall", ".venv/bin/python -m pip uninstall -y tallyhand", "Successfully"),
    Step("gone", f"test ! -e {TALLYHAND} && ! .venv/bin/python -c 'import solver' 2>/dev/null"),
)


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
    parser = argparse.ArgumentParser(prog="python -m tests.newcomer.matrix", description=__doc__)
    parser.add_argument("systems", nargs="+", help="suite, suite:plain, trixie-arm64")
    parser.add_argument("--keep", default="/var/tmp/newcomer", help="folder of the bare systems")
    parser.add_argument("--out", help="write the table and what was said here")
    given = parser.parse_args()
    rows = {system: tried(system, Path(given.keep)) for system in given.systems}
    told = report(rows)
    print(told)
    if given.out:
        Path(given.out).write_text(told + "\n", "utf-8")
    return 0 if all(done.well for each in rows.values() for done in each) else 1


def tried(system: str, keep: Path) -> list[Done]:
    """Every step on that system, up to and with the first without which no other can be."""
    suite, _, who = system.partition(":")
    bare = base(suite, mirror_for(suite), keep)
    with clean_room(bare, keep, plain=who == "plain") as room:
        room.take(ROOT)
        _recording(room.root / "srv" / "locked.wav")
        user = "newcomer" if who == "plain" else "root"
        begun = [run(room, Step("clone", _CLONE), user, ".")]
        for step in STEPS if begun[0].well else ():
            begun.append(run(room, step, user, "tallyhand"))
            print(f"{system} {step.name}: {'ok' if begun[-1].well else 'NOT'}", flush=True)
            if step.name == "install" and not begun[-1].well:
                break
        return begun


_CLONE = "git clone -q file:///srv/tallyhand.git tallyhand"


def run(room: Room, step: Step, user: str, folder: str) -> Done:
    began = time.monotonic()
    words = room.enter(f"cd {folder} && {{ {step.command}; }}", user=user)
    try:
        done = subprocess.run(
            words, stdin=subprocess.DEVNULL, stdout=subprocess.PIPE, stderr=subprocess.STDOUT,
            text=True, errors="replace", check=False, timeout=LIMIT_S,
        )  # fmt: skip
    except subprocess.TimeoutExpired as late:
        said = (late.stdout or b"").decode("utf-8", "replace")
        return Done(step, -1, f"{said}\nnot done in {LIMIT_S} s", LIMIT_S)
    return Done(step, done.returncode, done.stdout, time.monotonic() - began)


def _recording(file: Path) -> None:
    """A phrase, spoken on this machine: 16 kHz, as a microphone gives it."""
    spoken = ["espeak-ng", "-v", "en-us", "-s", "140", "--stdout", "spindle locked"]
    pause = ["sox", "-t", "wav", "-", "-r", "16000", str(file), "pad", "1", "1"]
    voice = subprocess.run(spoken, check=True, capture_output=True).stdout
    with contextlib.suppress(FileNotFoundError):
        subprocess.run(pause, input=voice, check=True, capture_output=True)


def report(rows: dict[str, list[Done]]) -> str:
    names = [step.name for step in STEPS]
    lines = [f"| system | {' | '.join(names)} |", "|---" * (len(names) + 1) + "|"]
    for system, all_done in rows.items():
        found = {done.step.name: done for done in all_done}
        cells = [_cell(found[name]) if name in found else "–" for name in names]
        lines.append(f"| {system} | {' | '.join(cells)} |")
    for system, all_done in rows.items():
        lines += ["", f"## {system}"]
        lines += [f"\n$ {done.step.command}\n{done.said.strip()[-2500:]}\n({done.code})"
                  for done in all_done]  # fmt: skip
    return "\n".join(lines)


def _cell(done: Done) -> str:
    return f"ok, {done.seconds:.0f} s" if done.well else f"NOT ({done.code})"


if __name__ == "__main__":
    sys.exit(main())
