"""Many journals are listed from what was kept of them, as long as nothing was written since."""

from __future__ import annotations

import os
import shutil
from pathlib import Path
from typing import Any

import pytest

from assistant.engine.events import SessionStarted
from assistant.engine.phases import Step
from assistant.engine.state import State
from assistant.journal import reading
from assistant.journal.chain import next_link
from assistant.journal.index import NAME, listing
from assistant.journal.reading import MOST_BYTES, ends
from assistant.journal.writing import Journal, JournalFault, read_journal, standing
from tests.commands import one_line, tallyhand
from tests.journal.played import JOB, made, played
from tests.journal.test_chain import tamper


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """Three closed journals of different lengths."""
    for presses in (2, 9, 40):
        made(tmp_path, presses).close()
    return tmp_path


def looked_at(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """The names of the journals that are read from here on."""
    names: list[str] = []

    def look(path: Path) -> reading.Standing:
        names.append(path.name)
        return ends(path)

    monkeypatch.setattr(reading, "ends", look)
    return names


def test_the_second_listing_reads_no_journal(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """And says the same as the first."""
    first = listing(folder)
    names = looked_at(monkeypatch)
    assert listing(folder) == first and names == []


def test_it_says_what_the_journals_say(folder: Path) -> None:
    """Line for line, as a whole reading has it."""
    for _ in range(2):
        for each in listing(folder):
            reading = read_journal(folder / each.name)
            assert each.done == reading.state.done
            assert each.last_worked == reading.last_worked
            assert each.title == reading.programme.title


def test_cuts_that_come_again_after_a_size_are_no_fewer_cuts(tmp_path: Path) -> None:
    """All were made once; the round that a size asked for makes some of them deeper."""
    journal = Journal.create(tmp_path, JOB, "")
    over = State(step=Step.FINISHED, pass_number=JOB.passes + 1, again=1, done=1)
    journal.append(SessionStarted(1.0), over)
    journal.close()
    (line,) = listing(tmp_path)
    assert (line.done, line.cuts, line.finished) == (3, 3, True)


def test_what_was_written_since_is_read(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Also while the session that writes is still open: its records are in the log beside."""
    before = listing(folder)
    journal = Journal.open(folder / before[0].name)
    event, state = played(9)[9]
    journal.append(event, state)
    names = looked_at(monkeypatch)
    after = listing(folder)
    journal.close()
    assert names == [before[0].name]
    assert after[0].done == state.done != before[0].done


@pytest.mark.parametrize("spoilt", ["", "{}", "[1]", '{"made_by": 3}', "\x00", "{" * 9999])
def test_a_spoilt_file_is_made_anew(folder: Path, spoilt: str) -> None:
    """It is a table of contents, and may be thrown away at any time."""
    first = listing(folder)
    (folder / NAME).write_text(spoilt)
    assert listing(folder) == first
    (folder / NAME).unlink()
    assert listing(folder) == first


def test_it_is_private_and_leaves_nothing_beside_it(folder: Path) -> None:
    """Titles are the person's own."""
    listing(folder)
    assert (folder / NAME).stat().st_mode & 0o077 == 0
    assert not list(folder.glob("*.new"))


def test_a_folder_that_cannot_be_written_is_listed_all_the_same(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Only not faster the next time."""

    def no_room(*_: object) -> int:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "open", no_room)
    assert len(listing(folder)) == 3


AT_AN_END = {
    "the last state": "UPDATE event SET state = replace(state, '\"done\":', '\"done\":1') "
    "WHERE seq = 11",
    "the last event": "UPDATE event SET event = event || ' ' WHERE seq = 11",
    "the last link": "UPDATE event SET link = 'zz' || substr(link, 3) WHERE seq = 11",
    "the link before": "UPDATE event SET link = 'zz' || substr(link, 3) WHERE seq = 10",
    "the first event": "UPDATE event SET event = event || ' ' WHERE seq = 1",
    "the title": "UPDATE session SET value = replace(value, 'Count', 'Sharp')",
    "one taken out": "DELETE FROM event WHERE seq = 6",
    "one put in": "INSERT INTO event SELECT 12, at, event, state, link FROM event WHERE seq = 11",
    "the last cut off": "DELETE FROM event WHERE seq = 11",
    "no letter": "UPDATE event SET state = CAST(x'ff' AS TEXT) WHERE seq = 11",
}


@pytest.mark.parametrize("changed", AT_AN_END)
def test_what_its_line_rests_on_is_held_against_the_hashes(tmp_path: Path, changed: str) -> None:
    """Title, last state, how many records: each is told in the list, as a whole reading has it."""
    made(tmp_path, 9).close()
    (path,) = tmp_path.glob("*.journal")
    tamper(path, AT_AN_END[changed])
    with pytest.raises(JournalFault) as caught:
        standing(path)
    (line,) = listing(tmp_path)
    assert (line.fault, line.record) == (str(caught.value), caught.value.record)


@pytest.mark.parametrize("letter", ["' '", "CAST(x'ff' AS TEXT)"])
@pytest.mark.parametrize("words", [("log", "JOB"), ("log", "verify"), ("report",), ("resume",)])
def test_one_changed_in_the_middle_is_refused_by_whoever_opens_it(
    tmp_path: Path, words: tuple[str, ...], letter: str
) -> None:
    """Its line is true all the same: record 5 has no part in it."""
    made(tmp_path, 9).close()
    (path,) = tmp_path.glob("*.journal")
    (before,) = listing(tmp_path)
    (tmp_path / NAME).unlink()
    tamper(path, f"UPDATE event SET event = event || {letter} WHERE seq = 5")
    assert listing(tmp_path) == [before]
    asked = [before.identity if word == "JOB" else word for word in words]
    done = tallyhand(*asked, "--data", str(tmp_path))
    assert done.returncode == 1
    assert "record 5 does not fit the chain of hashes" in done.stdout + done.stderr


@pytest.mark.parametrize("presses", [0, 9, 40])
def test_of_a_long_one_only_the_ends_are_hashed(
    tmp_path: Path, presses: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A thousand journals are listed by two records each, and the line says the same."""
    made(tmp_path, presses).close()
    (path,) = tmp_path.glob("*.journal")
    hashed: list[int] = []

    def link(before: str, seq: int, *rest: Any) -> str:
        hashed.append(seq)
        return next_link(before, seq, *rest)

    monkeypatch.setattr(reading, "next_link", link)
    found = ends(path)
    assert hashed == [1, presses + 2]
    assert found == standing(path)


def test_a_damaged_one_stays_told(folder: Path) -> None:
    """What was found wrong with it is kept as well, and told each time."""
    name = listing(folder)[1].name
    content = bytearray((folder / name).read_bytes())
    content[:16] = b"no database here"
    (folder / name).write_bytes(content)
    for _ in range(2):
        line = one_line(tallyhand("log", "--data", str(folder)), 1)
        assert name in line and "it is no SQLite file" in line


def test_a_vast_file_is_refused_before_it_is_copied(
    folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A file of thirty gigabytes with nothing in it, behind the first page of a real journal."""

    def never(*_: object) -> None:
        raise AssertionError("it was copied")

    path = folder / listing(folder)[0].name
    vast = folder / "vast.journal"
    shutil.copyfile(path, vast)
    os.truncate(vast, 30 * 2**30)
    monkeypatch.setattr(shutil, "copyfile", never)
    with pytest.raises(JournalFault, match=f"larger than {MOST_BYTES >> 20} MB"):
        read_journal(vast)
