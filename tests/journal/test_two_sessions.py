"""Two programs and one journal: the second is refused by name, and the first goes on."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
from pathlib import Path

import pytest

from assistant.journal.lock import Lock
from assistant.journal.writing import Journal, JournalFault, journals, read_journal
from tests.commands import COUNT_WHEEL, PROGRAM, ROOT, tallyhand
from tests.journal.played import made, played

_OPEN = "import sys; from pathlib import Path; from assistant.journal.writing import Journal; "


@pytest.fixture
def working(tmp_path: Path):  # type: ignore[no-untyped-def]
    """A rehearsal in a process of its own, waiting for its next line."""
    process = subprocess.Popen(
        [*PROGRAM, "rehearse", str(COUNT_WHEEL), "--json", "--data", str(tmp_path)],
        stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True, cwd=ROOT,
    )  # fmt: skip
    assert process.stdin and process.stdout
    process.stdin.write('{"press": "main"}\n' * 3)
    process.stdin.flush()
    states = 0
    while states < 4:
        states += '"state"' in process.stdout.readline()
    yield process
    process.kill()
    process.communicate()


def test_the_second_program_is_refused_by_name(
    working: subprocess.Popen[str], tmp_path: Path
) -> None:
    """It names the journal and the cure; the first session's next event is recorded."""
    (path,) = journals(tmp_path)
    with pytest.raises(JournalFault, match="another session has this journal open") as caught:
        Journal.open(path)
    assert str(path) in str(caught.value)
    resumed = tallyhand("resume", "--data", tmp_path)
    assert resumed.returncode == 1
    assert str(path) in resumed.stderr and resumed.stderr.count("\n") == 1
    assert working.stdin and working.stdout
    working.stdin.write('{"press": "main"}\n')
    working.stdin.flush()
    while '"state"' not in working.stdout.readline():
        pass
    assert len(read_journal(path).entries) == 5


def test_a_lock_file_that_is_removed_lets_nobody_in(
    working: subprocess.Popen[str], tmp_path: Path
) -> None:
    """A tidy hand or a synchronised folder may take the file away: the journal itself is held."""
    for lock in tmp_path.glob("*.lock"):
        lock.unlink()
    (path,) = tmp_path.glob("*.journal")
    with pytest.raises(JournalFault, match="another session has this journal open"):
        Journal.open(path)


@pytest.mark.skipif(sys.platform != "linux", reason="the journal's own lock is Linux's")
def test_a_lock_that_is_released_leaves_no_file(tmp_path: Path) -> None:
    """While it is held the file is there; afterwards only the journal is."""
    journal = tmp_path / "one.journal"
    journal.touch()
    lock = Lock(journal)
    lock.take()
    assert list(tmp_path.glob("*.lock"))
    lock.release()
    assert list(tmp_path.iterdir()) == [journal]


def test_a_killed_session_holds_nothing(working: subprocess.Popen[str], tmp_path: Path) -> None:
    """The lock goes with the process: the job can be taken up at once."""
    working.send_signal(signal.SIGKILL)
    working.wait()
    (path,) = journals(tmp_path)
    journal = Journal.open(path)
    assert journal.found.records == 4
    journal.close()


def test_of_many_at_once_one_gets_it(tmp_path: Path) -> None:
    """Eight programs open one journal in the same moment: one has it, seven are refused."""
    journal = made(tmp_path, 3)
    journal.close()
    code = f"""{_OPEN}
input()
try:
    journal = Journal.open(Path(sys.argv[1]))
    print("has it", flush=True)
except Exception as fault:
    print(fault, flush=True)
input()
"""
    several = [
        subprocess.Popen(
            [sys.executable, "-c", code, str(journal.path)],
            stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True, cwd=ROOT, bufsize=1,
        )
        for _ in range(8)
    ]  # fmt: skip
    for process in several:
        assert process.stdin
        process.stdin.write("go\n")
    said = [process.stdout.readline() for process in several if process.stdout]
    for process in several:
        process.communicate("done\n")
    assert sum("has it" in line for line in said) == 1
    assert sum("another session has this journal open" in line for line in said) == 7


def test_log_reads_while_a_session_writes(tmp_path: Path) -> None:
    """A reader sees whole records only, never a damaged journal, however fast they come."""
    code = (
        f"{_OPEN}import time\nfrom tests.journal.played import *\n"
        "journal = Journal.create(Path(sys.argv[1]), JOB, '')\n"
        "pairs = played(30)\n"
        "while True:\n"
        "    for event, state in pairs: time.sleep(0.002); journal.append(event, state)\n"
    )
    writer = subprocess.Popen([sys.executable, "-c", code, str(tmp_path)], cwd=ROOT)
    try:
        while not journals(tmp_path) or not Path(f"{journals(tmp_path)[0]}-wal").exists():
            assert writer.poll() is None
        counts = [len(read_journal(journals(tmp_path)[0]).entries) for _ in range(60)]
    finally:
        writer.kill()
        writer.wait()
    assert counts == sorted(counts) and counts[-1] > counts[0]


@pytest.mark.skipif(os.name != "posix", reason="links need a POSIX file system")
def test_a_planted_link_is_not_followed(tmp_path: Path) -> None:
    """A witness that is a link to another file: that file stays as it is."""
    journal = made(tmp_path, 3)
    journal.close()
    precious = tmp_path / "precious"
    precious.write_text("keep me")
    witness = Path(f"{journal.path}.witness")
    witness.unlink()
    witness.symlink_to(precious)
    again = Journal.open(journal.path)
    for event, state in played(3):
        again.append(event, state)
    again.close()
    assert precious.read_text() == "keep me"
