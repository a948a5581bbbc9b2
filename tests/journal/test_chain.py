"""The chain of hashes: one letter changed anywhere is found, and the record is named."""

from __future__ import annotations

import hashlib
import json
import sqlite3
from contextlib import closing
from pathlib import Path

import pytest

from assistant.journal.chain import next_link
from assistant.journal.writing import Journal, JournalFault, read_journal
from tests.commands import tallyhand, within
from tests.journal.played import made, played


@pytest.fixture
def closed(tmp_path: Path) -> Path:
    journal = made(tmp_path, 9)
    journal.close()
    return journal.path


def tamper(path: Path, *statements: str) -> None:
    with closing(sqlite3.connect(path)) as db, db:
        for statement in statements:
            db.execute(statement)


def test_the_chain_is_what_the_page_says(closed: Path) -> None:
    """docs/journal.md is enough to check a journal with sqlite3, json and sha256 alone."""
    with closing(sqlite3.connect(closed)) as db:
        about = sorted(db.execute("SELECT name, value FROM session"))
        rows = db.execute("SELECT seq, at, event, state, link FROM event ORDER BY seq").fetchall()
    head = json.dumps([list(pair) for pair in about], separators=(",", ":"))
    link = hashlib.sha256(b"tallyhand journal\n" + head.encode()).hexdigest()
    for *record, kept in rows:
        text = json.dumps(record, separators=(",", ":"))
        link = hashlib.sha256(f"{link}\n{text}".encode()).hexdigest()
        assert link == kept
    assert read_journal(closed).last_link == link


TAMPERED: dict[str, tuple[tuple[str, ...], int]] = {
    "a state is changed": (("UPDATE event SET state = replace(state, '0', '1') WHERE seq = 5",), 5),
    "an event is changed": (("UPDATE event SET event = event || ' ' WHERE seq = 4",), 4),
    "a time is changed": (("UPDATE event SET at = at + 0.001 WHERE seq = 7",), 7),
    "a link is changed": (("UPDATE event SET link = 'zz' || substr(link, 3) WHERE seq = 3",), 3),
    "a record is taken out": (("DELETE FROM event WHERE seq = 6",), 6),
    "the first is taken out": (("DELETE FROM event WHERE seq = 1",), 1),
    "one is taken out and the rest moved up": (
        ("DELETE FROM event WHERE seq = 6", "UPDATE event SET seq = seq - 1 WHERE seq > 6"),
        6,
    ),
    "two are exchanged": (
        (
            "UPDATE event SET seq = 99 WHERE seq = 4",
            "UPDATE event SET seq = 4 WHERE seq = 5",
            "UPDATE event SET seq = 5 WHERE seq = 99",
        ),
        4,
    ),
    "one is put in": (
        ("INSERT INTO event SELECT 12, at, event, state, link FROM event WHERE seq = 11",),
        12,
    ),
    "the job is changed": (("UPDATE session SET value = value || ' ' WHERE name = 'job'",), 1),
    "the last is cut off": (("DELETE FROM event WHERE seq = 11",), 11),
}


@pytest.mark.parametrize("name", TAMPERED)
def test_what_was_changed_is_found_and_named(closed: Path, name: str) -> None:
    """Reading, opening and `log verify` refuse it, and name the journal and the record."""
    statements, record = TAMPERED[name]
    tamper(closed, *statements)
    for look in (read_journal, Journal.open):
        with pytest.raises(JournalFault, match=f"record {record}|ends at") as caught:
            look(closed)
        assert caught.value.record == record
        assert str(closed) in str(caught.value)
    finished = tallyhand("log", "verify", closed, "--json")
    assert finished.returncode == 1
    (verdict,) = json.loads(finished.stdout)["journals"]
    assert (verdict["whole"], verdict["record"]) == (False, record)


def test_a_whole_journal_is_said_to_be_whole(closed: Path) -> None:
    """Exit 0, the count of records and the last link; --ends holds it against a note."""
    last = read_journal(closed).last_link
    finished = tallyhand("log", "verify", "--data", closed.parent)
    assert finished.returncode == 0
    assert finished.stdout == f"{closed}: 11 records, unbroken, ends with {last}\n"
    assert tallyhand("log", "verify", closed, "--ends", last[:12]).returncode == 0
    other = tallyhand("log", "verify", closed, "--ends", "0" * 64)
    assert other.returncode == 1 and "not the journal of that note" in other.stdout


def test_a_rewritten_journal_is_shown_up_by_the_note(closed: Path, tmp_path: Path) -> None:
    """Who rewrites all of it makes a chain that holds; the last link noted before shows it."""
    noted = read_journal(closed).last_link
    (tmp_path / "new").mkdir()
    forged = made(tmp_path / "new", 8)
    forged.close()
    assert tallyhand("log", "verify", forged.path).returncode == 0
    assert tallyhand("log", "verify", forged.path, "--ends", noted).returncode == 1


def test_verify_says_what_it_can_not_read(tmp_path: Path) -> None:
    """A missing file and a foreign one: a line each, exit 1, no traceback."""
    foreign = tmp_path / "foreign.journal"
    foreign.write_text("not a journal")
    finished = tallyhand("log", "verify", foreign, tmp_path / "none.journal")
    assert finished.returncode == 1
    assert len(finished.stdout.splitlines()) == 2
    assert finished.stdout.count(str(foreign)) == 1
    assert "Traceback" not in finished.stderr


def test_a_journal_is_named_whatever_its_name(
    closed: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """Also where what is said of it happens to begin with the same letters."""
    closed.rename(closed.with_name("it"))
    monkeypatch.chdir(closed.parent)
    assert within("log", "verify", "it", "--ends", "0" * 64) == 1
    assert capsys.readouterr().out.startswith("it: it ends with ")


def test_log_shows_the_links(closed: Path) -> None:
    """`log --json` carries each record's link beside the record."""
    jobs = json.loads(tallyhand("log", "--json", "--data", closed.parent).stdout)["jobs"]
    assert [each["link"] for each in jobs[0]["events"]] == [
        e.link for e in read_journal(closed).entries
    ]


def test_opening_says_what_was_found(tmp_path: Path) -> None:
    """Whole: the count. The clock stood later: that the order of records counts."""
    journal = made(tmp_path, 4)
    journal.close()
    again = Journal.open(journal.path)
    assert again.found.lines(1000.0) == ["The journal holds 6 records."]
    assert "clock stands before the last record" in again.found.lines(0.0)[1]
    again.close()


def test_every_way_of_changing_a_record_changes_its_link() -> None:
    """No two different records give the same bytes: fields can't run into each other."""
    from assistant.journal.chain import first_link, next_link

    links = [
        next_link("", 1, 2.0, "a", "b"),
        next_link("", 1, 2.0, "ab", ""),
        next_link("", 1, 2.0, "", "ab"),
        next_link("", 12, 0.0, "a", "b"),
        next_link("0", 1, 2.0, "a", "b"),
        next_link("", 1, 2.0, 'a","b', ""),
        first_link({"a": "b", "c": "d"}),
        first_link({"a": 'b","c', "d": ""}),
        first_link({"ab": "", "c": "d"}),
    ]
    assert len(set(links)) == len(links)


@pytest.mark.parametrize("at", [0.1, 1e300, -0.0, float("inf"), float("nan"), 3, None])
@pytest.mark.parametrize("text", ['{"said":"Lock?"}', "Zähne\u2028 \x00", "\udce9", 'a"b\\'])
def test_a_record_is_hashed_as_json(at: float, text: str) -> None:
    """Put together by hand where it can be, it gives the bytes of JSON all the same."""
    written = json.dumps([7, at, text, text], separators=(",", ":")).encode("ascii")
    assert next_link("ab", 7, at, text, text) == hashlib.sha256(b"ab\n" + written).hexdigest()


def test_played_is_played() -> None:
    """The piece that these tests use goes through moves and cuts."""
    assert played(9)[-1][1].done == 2
    assert isinstance(played(9)[-1][1].said, str)
