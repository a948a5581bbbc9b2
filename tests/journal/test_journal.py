"""The journal: written before anything is acted on, and never harmed by what can't be read."""

from __future__ import annotations

import os
import shutil
import sqlite3
import stat
import subprocess
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path

import pytest

from assistant.commands import data_folder
from assistant.engine.engine import advance
from assistant.engine.events import (
    Command,
    Gesture,
    NoteWritten,
    PedalUsed,
    PhraseHeard,
    SessionStarted,
)
from assistant.engine.state import State
from assistant.journal.writing import VERSION, Journal, JournalFault, journals, read_journal
from tests.engine.jobs import programme

JOB = programme(3)


@pytest.fixture
def journal(tmp_path: Path) -> Iterator[Journal]:
    made = Journal.create(tmp_path / "data", JOB, "title = 'Count wheel'")
    yield made
    made.close()


def play(journal: Journal, presses: int) -> State:
    state = journal.last_state()
    for event in [SessionStarted(1.0), *[PedalUsed(2.0, Gesture.PRESS)] * presses]:
        state, _ = advance(JOB, state, event)
        journal.append(event, state)
    return state


def test_replay_gives_the_recorded_states(journal: Journal) -> None:
    """Every recorded state is what the engine makes of the recorded events."""
    play(journal, 12)
    state = State()
    for entry in journal.entries():
        state, _ = advance(JOB, state, entry.event)
        assert state == entry.state
    assert state == journal.last_state()


def test_what_was_appended_is_there_after_reopening(journal: Journal) -> None:
    """Programme, job text, events and state come back unchanged."""
    state = play(journal, 5)
    journal.append(NoteWritten(3.0, "Grat an Zahn 2 ⚙ 'quoted'"), state)
    journal.append(PhraseHeard(4.0, "say again", Command.SAY_AGAIN, 0.7), state)
    journal.close()
    again = Journal.open(journal.path)
    assert again.programme == JOB
    assert again.last_state() == state
    assert again.entries()[-2].event == NoteWritten(3.0, "Grat an Zahn 2 ⚙ 'quoted'")
    again.close()


def test_the_journal_is_private(journal: Journal) -> None:
    """Only its owner may read the journal and its folder."""
    assert stat.S_IMODE(journal.path.stat().st_mode) == 0o600
    assert stat.S_IMODE(journal.path.parent.stat().st_mode) == 0o700


def test_no_folder_is_made_that_others_can_write_to(tmp_path: Path) -> None:
    """Nor those on the way to it, under the widest umask."""
    before = os.umask(0)
    try:
        Journal.create(tmp_path / "far" / "off" / "jobs", JOB, "").close()
    finally:
        os.umask(before)
    for folder in ("far", "far/off", "far/off/jobs"):
        assert stat.S_IMODE((tmp_path / folder).stat().st_mode) == 0o700


def test_a_folder_that_others_can_write_to_is_told(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """One that was named is only told of: it may be shared on purpose."""
    tmp_path.chmod(0o777)
    assert data_folder.guarded_folder(str(tmp_path)) == tmp_path
    assert capsys.readouterr().err == (
        f"{tmp_path}: others can write here and remove your journals: chmod 700 {tmp_path}\n"
    )
    assert stat.S_IMODE(tmp_path.stat().st_mode) == 0o777


def test_the_own_folder_is_narrowed(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """It is the program's alone."""
    monkeypatch.delenv("TALLYHAND_DATA", raising=False)
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path))
    own = tmp_path / "tallyhand" / "journals"
    own.mkdir(parents=True)
    own.chmod(0o777)
    assert data_folder.guarded_folder(None) == own
    assert stat.S_IMODE(own.stat().st_mode) == 0o700


def test_each_record_is_on_the_disk_when_append_returns(journal: Journal) -> None:
    """Synchronous FULL with a write-ahead log: the settings are what they are said to be."""
    assert journal._db.execute("PRAGMA journal_mode").fetchone() == ("wal",)
    assert journal._db.execute("PRAGMA synchronous").fetchone() == (2,)


def test_a_second_session_on_the_same_journal_is_refused(journal: Journal) -> None:
    """Two writers would count the same cut twice."""
    with pytest.raises(JournalFault, match="another session has this journal open"):
        Journal.open(journal.path)


def test_it_can_be_read_while_a_session_writes_it(journal: Journal) -> None:
    """`log` does not disturb the session and sees what is recorded so far."""
    play(journal, 4)
    assert len(read_journal(journal.path).entries) == 5
    journal.append(NoteWritten(9.0, "still writing"), journal.last_state())
    assert len(read_journal(journal.path).entries) == 6


def content(path: Path) -> dict[str, bytes]:
    return {
        file.name: file.read_bytes()
        for file in path.parent.iterdir()
        if not file.name.endswith(".lock")
    }


def refused_untouched(path: Path, match: str) -> None:
    before = content(path)
    with pytest.raises(JournalFault, match=match) as caught:
        Journal.open(path)
    assert str(path) in str(caught.value)
    with pytest.raises(JournalFault, match=match):
        read_journal(path)
    assert content(path) == before


def test_a_newer_journal_is_refused_and_left_untouched(journal: Journal) -> None:
    """A later program may have written what this one would misread."""
    play(journal, 3)
    journal.close()
    with closing(sqlite3.connect(journal.path)) as db:
        db.execute(f"PRAGMA user_version = {VERSION + 1}")
    refused_untouched(journal.path, "written by a newer tallyhand")


@pytest.mark.parametrize("keep", [0, 1, 50, 99, 100, 3000, 4096, 9000])
def test_a_cut_off_journal_is_refused_and_left_untouched(journal: Journal, keep: int) -> None:
    """Whatever a crash of the disk leaves: one line, and nothing is written over it."""
    play(journal, 12)
    journal.close()
    with journal.path.open("r+b") as file:
        file.truncate(keep)
    refused_untouched(journal.path, "damaged")


def test_a_scribbled_journal_is_refused_and_left_untouched(journal: Journal) -> None:
    """Bytes overwritten in the middle are noticed."""
    play(journal, 40)
    journal.close()
    with journal.path.open("r+b") as file:
        file.seek(4096 + 8)
        file.write(b"\xff" * 3000)
    refused_untouched(journal.path, "damaged")


def test_a_foreign_database_is_refused_and_left_untouched(tmp_path: Path) -> None:
    """A file of another program in the data folder is never written to."""
    path = tmp_path / "other.journal"
    with closing(sqlite3.connect(path)) as db:
        db.execute("CREATE TABLE apples (kind TEXT)")
    refused_untouched(path, "no journal of tallyhand")


def test_a_torn_last_record_costs_only_itself(journal: Journal) -> None:
    """At most the record being written is lost: a cut-off write-ahead log still opens."""
    play(journal, 20)
    wal = Path(f"{journal.path}-wal")
    whole = len(read_journal(journal.path).entries)
    copy = journal.path.parent / "torn" / journal.path.name
    copy.parent.mkdir()
    shutil.copyfile(journal.path, copy)
    shutil.copyfile(wal, f"{copy}-wal")
    with Path(f"{copy}-wal").open("r+b") as file:
        file.truncate(wal.stat().st_size - 100)
    torn = Journal.open(copy)
    assert len(torn.entries()) == whole - 1
    torn.append(NoteWritten(5.0, "goes on"), torn.last_state())
    assert len(torn.entries()) == whole
    torn.close()


def test_a_kill_while_it_is_made_leaves_no_half_journal(tmp_path: Path) -> None:
    """A journal appears under its name only when it is whole."""
    (tmp_path / "20260101T000000-half.new").write_bytes(b"SQLite format 3\x00")
    assert journals(tmp_path) == []


@pytest.fixture
def tiny_disk(tmp_path: Path) -> Iterator[Path]:
    """A real file system of 256 KiB."""
    place = tmp_path / "disk"
    place.mkdir()
    mount = subprocess.run(
        ["mount", "-t", "tmpfs", "-o", "size=256k", "none", str(place)], check=False
    )
    if mount.returncode:
        pytest.skip("mounting a small disk needs root")
    yield place
    subprocess.run(["umount", "-l", str(place)], check=True)


def test_a_full_disk_loses_nothing_that_was_recorded(tiny_disk: Path) -> None:
    """The first record that does not fit is refused with the cure; the rest stays."""
    journal = Journal.create(tiny_disk, JOB, "")
    state = play(journal, 3)
    kept = 4
    with pytest.raises(JournalFault, match="free some space, then: tallyhand resume"):
        for n in range(10_000):
            journal.append(NoteWritten(float(n), "x" * 200), state)
            kept += 1
    assert kept > 10
    journal.close()
    assert len(read_elsewhere(journal.path, tiny_disk.parent).entries) == kept


def read_elsewhere(path: Path, folder: Path):  # type: ignore[no-untyped-def]
    """Read a copy on a disk with room."""
    for file in path.parent.glob(f"{path.name}*"):
        if not file.name.endswith(".lock"):
            shutil.copyfile(file, folder / file.name)
    return read_journal(folder / path.name)


def test_a_disk_with_no_room_at_all(tiny_disk: Path) -> None:
    """No journal can be made: one line with the cure, and no half file is left."""
    (tiny_disk / "filler").write_bytes(b"x" * 250 * 1024)
    with pytest.raises(JournalFault, match=r"free some space, then begin the job again$"):
        Journal.create(tiny_disk, JOB, "")
    assert journals(tiny_disk) == []
    assert [file.name for file in tiny_disk.iterdir()] == ["filler"]


def test_a_read_only_disk(tiny_disk: Path) -> None:
    """One line that names the folder and the cure."""
    subprocess.run(["mount", "-o", "remount,ro", str(tiny_disk)], check=True)
    with pytest.raises(JournalFault, match="can be written, with --data"):
        Journal.create(tiny_disk, JOB, "")


def test_a_data_folder_that_is_a_file(tmp_path: Path) -> None:
    """One line that names it and the cure."""
    (tmp_path / "file").write_text("not a folder")
    for folder in (tmp_path / "file", tmp_path / "file" / "below"):
        with pytest.raises(JournalFault, match="choose a folder, not a file"):
            Journal.create(folder, JOB, "")


@pytest.mark.skipif(os.geteuid() != 0, reason="needs root to become another user")
def test_a_data_folder_of_somebody_else(tmp_path: Path) -> None:
    """No right to write: one line with the cure, through the whole program."""
    from tests.commands import COUNT_WHEEL, PROGRAM, ROOT, uncovered

    folder = tmp_path / "theirs"
    folder.mkdir(mode=0o755)
    for above in folder.parents:
        if str(above).startswith("/tmp/"):
            above.chmod(above.stat().st_mode | 0o055)
    finished = subprocess.run(
        ["setpriv", "--reuid=65534", "--regid=65534", "--clear-groups", *PROGRAM,
         "rehearse", str(COUNT_WHEEL), "--data", str(folder)],
        capture_output=True, text=True, check=False, cwd=ROOT, stdin=subprocess.DEVNULL,
        env=uncovered(),
    )  # fmt: skip
    assert finished.returncode == 1
    assert finished.stderr.count("\n") == 1
    assert "give yourself the right to write there" in finished.stderr


@pytest.mark.skipif(os.geteuid() != 0, reason="needs root to become another user")
def test_a_data_folder_that_cannot_be_looked_into(tmp_path: Path) -> None:
    """No right even to see what is in it: the same one line."""
    from tests.commands import COUNT_WHEEL, PROGRAM, ROOT, uncovered

    closed = tmp_path / "closed"
    closed.mkdir(mode=0o700)
    finished = subprocess.run(
        ["setpriv", "--reuid=65534", "--regid=65534", "--clear-groups", *PROGRAM,
         "rehearse", str(COUNT_WHEEL), "--data", str(closed / "data")],
        capture_output=True, text=True, check=False, cwd=ROOT, stdin=subprocess.DEVNULL,
        env=uncovered(),
    )  # fmt: skip
    assert finished.returncode == 1
    assert finished.stderr.count("\n") == 1
    assert "give yourself the right to write there" in finished.stderr
