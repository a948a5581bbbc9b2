"""Faults put into each system call of a running rehearsal: kills, full and failing disks."""

from __future__ import annotations

import json
import os
import re
import subprocess
import tempfile
from collections import Counter
from collections.abc import Iterator
from pathlib import Path

import pytest

from assistant.bench.rehearsal import state_record
from assistant.journal.writing import journals, read_journal
from tests.lanes import length
from tests.trust.judge import judge
from tests.trust.recorded import CHANGES, SCRIPT, needs_strace, rehearse

pytestmark = [
    pytest.mark.skipif(needs_strace, reason="strace is not installed"),
    pytest.mark.longer,
    pytest.mark.slow(20),
]
EVERY = length(31, 3, "TALLYHAND_TEST_EVERY_CALL")  # 1: each call; 31: each thirty-first

Call = tuple[str, int]  # a system call's name, and which of its calls


def calls(folder: Path, names: str) -> list[Call]:
    """The calls of these names from the first touch of the data folder to the end."""
    trace = folder / "trace"
    rehearse(folder / "counted", "strace", "-f", "-y", "-o", str(trace), "-e", f"trace={names}")
    count: Counter[str] = Counter()
    found, touched = list[Call](), False
    for line in trace.read_text().splitlines():
        if name := re.match(r"(?:\d+ +)?(\w+)\(", line):
            count[name[1]] += 1
            touched = touched or "counted" in line
            if touched:
                found.append((name[1], count[name[1]]))
    return found


def fault(
    folder: Path, call: Call, what: str, *, from_then_on: bool = False
) -> tuple[int, list[dict[str, object]]]:
    """The exit code of a rehearsal with this fault, and the states that it acknowledged."""
    name, n = call[0], f"{call[1]}{'+' * from_then_on}"
    words = ["strace", "-f", "-o", os.devnull, "-e", f"trace={name}",
             "-e", f"inject={name}:{what}:when={n}"]  # fmt: skip
    with tempfile.TemporaryFile("w+") as out:
        code = rehearse(folder, *words, out=out)
        out.seek(0)
        lines = [line for line in out if line.endswith("\n") and line.startswith('{"state"')]
    return code, [json.loads(line)["state"] for line in lines]


def kill_at(folder: Path, chosen: list[Call]) -> Iterator[int]:
    for n, call in enumerate(chosen):
        place = folder / f"{n}-{call[0]}"
        code, states = fault(place, call, "signal=KILL")
        assert code in (137, -9), f"{call} was not reached"
        yield judge(place, states, finish=n % 20 == 0)


def test_a_kill_at_the_calls_that_change_the_disk(tmp_path: Path) -> None:
    """kill -9 as the call begins: all that was acknowledged is there, once, in order."""
    chosen = calls(tmp_path, ",".join(f"?{name}" for name in CHANGES))
    assert len(chosen) > 300
    chosen = chosen[::EVERY]
    beyond = sum(kill_at(tmp_path, chosen))
    print(f"{len(chosen)} kills at system calls, {beyond} left an event not yet acknowledged")


def calls_between(folder: Path, first: int, last: int) -> list[Call]:
    """Every call of whatever kind from one acknowledgement to another: those that read, too."""
    trace = folder / "all"
    rehearse(folder / "counted", "strace", "-f", "-o", str(trace), "-e", "trace=all")
    count: Counter[str] = Counter()
    found, given = list[Call](), 0
    for line in trace.read_text().splitlines():
        if name := re.match(r"(?:\d+ +)?(\w+)\(", line):
            count[name[1]] += 1
            if first <= given < last:
                found.append((name[1], count[name[1]]))
            given += 'write(1, "{\\"state\\"' in line
    return found


def test_a_kill_at_every_call_of_an_append(tmp_path: Path) -> None:
    """Also at those that only read or ask the time: none leaves anything half done."""
    chosen = calls_between(tmp_path, 9, 12)
    assert {"fdatasync", "pwrite64"} < {name for name, _ in chosen} and len(chosen) > 20
    beyond = sum(kill_at(tmp_path, chosen[:: max(1, EVERY // 3)]))
    print(f"{len(chosen)} calls of three appends, {beyond} left an event not yet acknowledged")


FAILING = {
    "pwrite64:error=ENOSPC": "free some space",
    "pwrite64:error=EIO": "",
    "pwrite64:error=EROFS": "",  # as a disk that turned read-only after an error of its own
    "fdatasync:error=EIO": "",
    "fdatasync:error=ENOSPC": "free some space",
    "fsync:error=EIO": "",
    "ftruncate:error=ENOSPC": "free some space",
    "rename:error=EACCES": "give yourself the right",
}


@pytest.mark.parametrize("what", FAILING)
def test_a_disk_that_fails_at_any_call(what: str, tmp_path: Path) -> None:
    """One failing write or sync: one line, exit 1, and nothing acknowledged is lost."""
    name, error = what.split(":")
    chosen = calls(tmp_path, f"?{name}")
    refused = went_on = 0
    for n, call in enumerate(chosen[:: max(1, EVERY * len(chosen) // 70)]):
        place = tmp_path / f"{n}"
        code, states = fault(place, call, error)
        assert code in (0, 1), f"{call} {what}: exit {code}"
        refused, went_on = refused + (code == 1), went_on + (code == 0)
        judge_failed(place, states)
    print(f"{what}: {refused} refused, {went_on} got over it")
    assert refused + went_on > 0


def judge_failed(place: Path, states: list[dict[str, object]]) -> None:
    """A sync that failed may leave the event that was refused; nothing else may be off."""
    for path in journals(place):
        reading = read_journal(path)
        recorded = [state_record(reading.programme, entry.state) for entry in reading.entries]
        assert recorded[: len(states)] == states
        assert len(recorded) <= len(states) + 1
    assert journals(place) or not states


def test_a_disk_that_stays_full(tmp_path: Path) -> None:
    """From some write on nothing fits: the journal keeps what was acknowledged before."""
    chosen = calls(tmp_path, "?pwrite64")
    every_answer = SCRIPT.count("\n") + 1
    short = 0
    for n, call in enumerate(chosen[:: 3 * EVERY]):
        place = tmp_path / f"{n}"
        code, states = fault(place, call, "error=ENOSPC", from_then_on=True)
        assert code == (0 if len(states) == every_answer else 1)
        judge_failed(place, states)
        short += code
    assert short


def test_the_fault_is_said_in_one_line(tmp_path: Path) -> None:
    """What failed, where, and the cure."""
    (name, n), *_ = calls(tmp_path, "?pwrite64")[60:]
    from tests.commands import COUNT_WHEEL, PROGRAM, ROOT

    finished = subprocess.run(
        ["strace", "-f", "-o", os.devnull, "-e", f"trace={name}",
         "-e", f"inject={name}:error=ENOSPC:when={n}", *PROGRAM, "rehearse", str(COUNT_WHEEL),
         "--data", str(tmp_path / "full")],
        input="\n".join(["set and checked"] * 9 + ["spindle locked"] * 9), text=True,
        capture_output=True, check=False, cwd=ROOT,
    )  # fmt: skip
    assert finished.returncode == 1
    assert finished.stderr.count("\n") == 1
    assert "free some space, then: tallyhand resume" in finished.stderr
