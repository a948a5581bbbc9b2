"""A small disk that fills up, one that may not be written, one that turns so in mid-session.

Real file systems in memory (tmpfs), mounted for the test: that needs root.
"""

from __future__ import annotations

import json
import os
import queue
import subprocess
import sys
from collections.abc import Iterator
from contextlib import suppress
from pathlib import Path

import pytest

from assistant.bench.rehearsal import state_record
from assistant.bench.session import Session
from assistant.engine.events import Event, SessionLeft, SessionStarted
from assistant.engine.state import State
from assistant.journal.writing import Journal, JournalFault, journals, read_journal
from tests.commands import COUNT_WHEEL, PROGRAM, ROOT, one_line, tallyhand
from tests.engine.jobs import programme
from tests.journal.test_unwritable import PRESS, Bench, wait_for, working
from tests.trust.judge import judge


class Mount:
    """A file system of so many kilobytes."""

    def __init__(self, folder: Path, kilobytes: int) -> None:
        self.folder = folder
        folder.mkdir()
        self._mount("-t", "tmpfs", "-o", f"size={kilobytes}k,mode=0700", "tmpfs")

    def _mount(self, *words: str) -> None:
        done = subprocess.run(
            ["mount", *words, str(self.folder)], capture_output=True, text=True, check=False
        )
        if done.returncode:
            pytest.skip(f"nothing can be mounted here: {done.stderr.strip()}")

    def read_only(self) -> bool:
        """The disk turns read-only; False where the system won't while it is written to."""
        words = ["mount", "-o", "remount,ro", str(self.folder)]
        return subprocess.run(words, capture_output=True, check=False).returncode == 0

    def writable(self) -> None:
        self._mount("-o", "remount,rw")

    def close(self) -> None:
        subprocess.run(["umount", "-l", str(self.folder)], check=True)


pytestmark = pytest.mark.skipif(
    sys.platform != "linux" or os.geteuid() != 0, reason="mounting needs root"
)


@pytest.fixture
def disk(tmp_path: Path) -> Iterator[Mount]:
    disk = Mount(tmp_path / "disk", 256)
    yield disk
    disk.close()


def presses(count: int) -> str:
    return '{"press": "main"}\n' * count


def acknowledged(output: str) -> list[dict[str, object]]:
    lines = [line for line in output.splitlines(keepends=True) if line.endswith("\n")]
    return [json.loads(line)["state"] for line in lines if line.startswith('{"state"')]


def recorded(folder: Path) -> list[dict[str, object]]:
    (path,) = journals(folder)
    reading = read_journal(path)
    return [state_record(reading.programme, entry.state) for entry in reading.entries]


def test_a_disk_that_fills_up(disk: Mount) -> None:
    """What was acknowledged before is there; one line with the cure; with room again the job
    goes on to its end."""
    asking = presses(12) + '{"say": "where am I"}\n' * 2000
    finished = tallyhand("rehearse", COUNT_WHEEL, "--json", "--data", disk.folder, given=asking)
    line = one_line(finished, 1)
    assert "full" in line and "free some space, then: tallyhand resume" in line
    states = acknowledged(finished.stdout)
    assert 30 < len(states) < 2000
    disk._mount("-o", "remount,size=4096k")
    assert recorded(disk.folder) == states
    assert judge(disk.folder, states, finish=True) == 0


def test_a_session_at_the_bench_waits_for_room(disk: Mount) -> None:
    """The disk is full under a real journal: nothing counts, and with room again it goes on."""
    bench = Bench()
    journal = Journal.create(disk.folder, programme(9), "")
    session = Session(journal.programme, State(), journal, bench)
    session.handle(SessionStarted(1.0))
    filler = disk.folder / "filler"
    with filler.open("wb", buffering=0) as out, suppress(OSError):
        while out.write(bytes(512)):
            pass
    events: queue.SimpleQueue[Event] = queue.SimpleQueue()
    thread = working(session, events)
    while not any("no answer counts now" in said for said in bench.said):
        events.put(PRESS)
        assert bench.stood.acquire(timeout=60)
    stood = session.state
    filler.unlink()
    wait_for(bench, "I can write the log again.")
    events.put(SessionLeft(99.0))
    thread.join(60)
    assert session.state.step is stood.step and session.state.done == stood.done
    journal.close()
    assert read_journal(journal.path).state.step is stood.step


def test_a_disk_full_from_the_start(disk: Mount) -> None:
    """No journal, half a journal neither, and one line."""
    filler = disk.folder / "filler"
    filler.write_bytes(bytes(252 * 1024))
    for words in (["rehearse"], ["run", "--no-page"]):
        finished = tallyhand(*words, COUNT_WHEEL, "--data", disk.folder)
        assert "free some space" in one_line(finished, 1)
    assert list(disk.folder.iterdir()) == [filler]


def test_a_disk_that_may_not_be_written(disk: Mount) -> None:
    """A new job is refused, an old one can be listed and verified and is not touched."""
    assert tallyhand("rehearse", COUNT_WHEEL, "--data", disk.folder).returncode == 0
    before = {path.name: path.read_bytes() for path in disk.folder.iterdir()}
    assert disk.read_only()
    line = one_line(tallyhand("rehearse", COUNT_WHEEL, "--data", disk.folder), 1)
    assert "choose" in line and "--data" in line
    assert "--data" in one_line(tallyhand("resume", "--data", disk.folder), 1)
    for words in (["log"], ["log", "verify"]):
        assert tallyhand(*words, "--data", disk.folder).returncode == 0
    assert {path.name: path.read_bytes() for path in disk.folder.iterdir()} == before


_PATIENT = """
import sys
from assistant.__main__ import main
sys.exit(main(sys.argv[1:]))
"""


def test_a_disk_that_turns_read_only_in_mid_session(disk: Mount) -> None:
    """As after an error of the medium: the event is refused in one line, the ones before it
    are all there, and the job can be taken up when the disk is well again.

    The system turns no disk read-only by request while a file on it is open for writing; so
    the error that such a disk gives is put in at the system call as well (test_every_call).
    """
    process = subprocess.Popen(
        [*PROGRAM, "rehearse", str(COUNT_WHEEL), "--json", "--script", "-",
         "--data", str(disk.folder)],
        stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, cwd=ROOT,
    )  # fmt: skip
    assert process.stdin and process.stdout and process.stderr
    process.stdin.write(presses(15))
    process.stdin.flush()
    output = ""
    while output.count('{"state"') < 16:
        output += process.stdout.readline()
    turned = disk.read_only()
    process.stdin.write(presses(3))
    process.stdin.close()
    output += process.stdout.read()
    complaint, code = process.stderr.read(), process.wait()
    if turned:
        assert code == 1 and complaint.count("\n") == 1 and "Read-only" in complaint
        disk.writable()
    else:
        assert code == 0 and complaint == ""
    assert recorded(disk.folder)[: output.count('{"state"')] == acknowledged(output)
    judge(disk.folder, acknowledged(output), finish=True)


def test_a_disk_that_is_taken_away(disk: Mount) -> None:
    """Pulled out under the running session (unmounted): nothing acknowledged is missing where
    it was written, and the folder that is there now is told as empty, not made up."""
    assert tallyhand("rehearse", COUNT_WHEEL, "--data", disk.folder).returncode == 0
    (path,) = journals(disk.folder)
    kept = path.read_bytes()
    disk.close()
    with pytest.raises(JournalFault, match="can't read the journal"):
        read_journal(path)
    assert "no unfinished job" in one_line(tallyhand("resume", "--data", disk.folder), 1)
    disk._mount("-t", "tmpfs", "-o", "size=256k,mode=0700", "tmpfs")
    path.write_bytes(kept)
    assert read_journal(path).entries
