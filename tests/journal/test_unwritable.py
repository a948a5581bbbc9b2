"""A log that can't be written: nothing counts, it is said, and the job goes on where it was."""

from __future__ import annotations

import errno
import os
import queue
import shutil
import sqlite3
import threading
from collections.abc import Callable, Iterator
from contextlib import closing
from pathlib import Path
from typing import Any

import pytest

from assistant.bench.room import RETRY_S, when_there_is_room
from assistant.bench.session import NobodyAnswers, Session, begin, work
from assistant.engine.engine import Effect, Say, Signal
from assistant.engine.events import (
    Device,
    DeviceLost,
    DeviceReturned,
    Event,
    Gesture,
    PedalUsed,
    SessionLeft,
    SessionStarted,
    Tone,
)
from assistant.engine.state import State
from assistant.engine.view import LastInput
from assistant.job.programme import Programme
from assistant.journal.fault import OutOfReach, cannot
from assistant.journal.writing import Journal, JournalFault, read_journal
from tests.engine.jobs import programme

JOB = programme(9)
PRESS = PedalUsed(9.0, Gesture.PRESS)
LEAVE = SessionLeft(99.0)


class Bench:
    """What is said, sounded and shown; `stood` counts how often, from the session's thread."""

    def __init__(self) -> None:
        self.said: list[str] = []
        self.tones: list[Tone] = []
        self.shown: list[str] = []
        self.stood = threading.Semaphore(0)

    def perform(self, effect: Effect) -> None:
        if isinstance(effect, Say):
            self.said.append(effect.text)
        if isinstance(effect, Signal):
            self.tones.append(effect.tone)

    def stand(self, programme: Programme, state: State, heard: LastInput) -> None:
        self.shown.append(heard.words)
        self.stood.release()


def at(event: Event) -> Event:
    return event


@pytest.fixture
def bench() -> Bench:
    return Bench()


@pytest.fixture
def session(tmp_path: Path, bench: Bench) -> Iterator[Session]:
    """In the middle of a job: cut 2 is to be locked."""
    journal = Journal.create(tmp_path / "jobs", JOB, "title = 'Count wheel'")
    session = Session(JOB, State(), journal, bench)
    session.handle(SessionStarted(1.0))
    while session.state.done < 1:
        session.handle(PRESS)
    yield session
    journal.close()


def working(session: Session, events: queue.SimpleQueue[Event]) -> threading.Thread:
    thread = threading.Thread(target=work, args=(session, events, at, lambda: None, 0.05))
    thread.start()
    return thread


def broken(monkeypatch: pytest.MonkeyPatch, words: str = "database or disk is full") -> None:
    def append(*_: object) -> None:
        raise JournalFault(f"can't write the journal ({words}): free some space")

    monkeypatch.setattr(Journal, "append", append)


def wait_for(bench: Bench, words: str) -> None:
    """Until it is said; each look waits for the session to stand once more."""
    while not any(words in said for said in bench.said):
        assert bench.stood.acquire(timeout=60)


def test_it_is_said_and_sounded_and_nothing_counts(
    session: Session, bench: Bench, monkeypatch: pytest.MonkeyPatch
) -> None:
    """At the loudspeaker, with the cut at which the job is kept, and the cure on the screen."""
    before = session.state
    with monkeypatch.context() as patch:
        broken(patch)
        events: queue.SimpleQueue[Event] = queue.SimpleQueue()
        events.put(PRESS)
        thread = working(session, events)
        wait_for(bench, "I can't write the log, so no answer counts now.")
        assert "The job is kept at cut two." in bench.said[-1]
        assert bench.tones[-1] is Tone.ATTENTION and "free some space" in bench.shown[-1]
        assert session.state == before
    wait_for(bench, "I can write the log again.")
    events.put(LEAVE)
    thread.join(60)
    assert bench.said[-1] == before.said  # what it asked for is asked again
    assert session.state.done == before.done and session.state.step is before.step


def test_an_answer_meanwhile_is_not_met_by_silence(
    session: Session, bench: Bench, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Each press is told anew that it does not count."""
    broken(monkeypatch)
    events: queue.SimpleQueue[Event] = queue.SimpleQueue()
    for event in (PRESS, PRESS, PRESS, LEAVE):
        events.put(event)
    assert work(session, events, at, retry_s=60) is False
    assert sum("no answer counts now" in said for said in bench.said) == 3


def test_it_can_be_left_meanwhile(
    session: Session, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    """And what was acknowledged before is in the journal."""
    kept = session.state
    with monkeypatch.context() as patch:
        broken(patch)
        events: queue.SimpleQueue[Event] = queue.SimpleQueue()
        events.put(LEAVE)
        assert work(session, events, at) is False
    (path,) = (tmp_path / "jobs").glob("*.journal")
    assert read_journal(path).state == kept


def test_a_journal_that_is_gone_takes_no_record(session: Session, tmp_path: Path) -> None:
    """The system would let us write on into a file that nobody can find any more."""
    folder, away = tmp_path / "jobs", tmp_path / "away"
    kept = session.state
    folder.rename(away)
    with pytest.raises(JournalFault, match="folder back, then: tallyhand resume"):
        session.handle(PRESS)
    assert session.state == kept
    shutil.copytree(away, folder)
    with pytest.raises(JournalFault, match="another file bears its name"):
        session.handle(PRESS)
    shutil.rmtree(folder)
    away.rename(folder)
    session.handle(PRESS)
    assert session.state != kept


def test_a_return_that_was_recorded_is_read_back(session: Session, tmp_path: Path) -> None:
    """When the log could not be written stands in the log."""
    session.handle(DeviceReturned(9.5, Device.JOURNAL))
    (path,) = (tmp_path / "jobs").glob("*.journal")
    assert read_journal(path).entries[-1].event == DeviceReturned(9.5, Device.JOURNAL)


def test_where_nobody_can_answer_it_ends(session: Session, bench: Bench) -> None:
    """The last keyboard is gone and no other input is there: said, and the job is kept."""
    events: queue.SimpleQueue[Event] = queue.SimpleQueue()
    events.put(DeviceLost(9.0, Device.KEYBOARD, "the input has ended"))
    gone = Device.KEYBOARD

    def patience() -> float | None:
        return 0.0 if gone in session.state.lost else None

    with pytest.raises(NobodyAnswers):
        work(session, events, at, patience)
    assert bench.said[-1].startswith("Nobody can answer me any more")
    assert bench.tones[-1] is Tone.ATTENTION


def test_one_that_comes_back_in_time_goes_on(session: Session, bench: Bench) -> None:
    """Within the patience everything is as before."""
    events: queue.SimpleQueue[Event] = queue.SimpleQueue()
    for event in (
        DeviceLost(9.0, Device.KEYBOARD, "unplugged"),
        DeviceReturned(9.5, Device.KEYBOARD),
        LEAVE,
    ):
        events.put(event)
    before = session.state
    assert work(session, events, at, lambda: 30.0 if session.state.lost else None) is False
    assert session.state.step is before.step


def test_a_disk_that_is_full_at_the_first_record_is_told_and_waited_for(
    tmp_path: Path, bench: Bench, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The devices are started, so that the person can leave; the greeting comes when there is
    room."""
    journal = Journal.create(tmp_path / "jobs", JOB, "")
    session, events = Session(JOB, State(), journal, bench), queue.SimpleQueue[Event]()
    real, tries = journal.append, []

    def full(event: Event, *rest: Any) -> None:
        tries.append(event)
        if len(tries) < 4:
            raise JournalFault("the disk is full")
        real(event, *rest)

    monkeypatch.setattr(journal, "append", full)
    started: list[str] = []
    assert begin(session, events, lambda: SessionStarted(1.0), lambda: started.append("now"), 0.01)
    assert started == ["now"] and len(tries) == 4
    assert sum("no answer counts now" in said for said in bench.said) == 1
    assert bench.tones[0] is Tone.ATTENTION and "Before we begin." in bench.said[1]
    assert [entry.event for entry in read_journal(journal.path).entries] == [SessionStarted(1.0)]
    journal.close()


def test_who_leaves_before_the_first_record_is_let_go(
    tmp_path: Path, bench: Bench, monkeypatch: pytest.MonkeyPatch
) -> None:
    journal = Journal.create(tmp_path / "jobs", JOB, "")
    session, events = Session(JOB, State(), journal, bench), queue.SimpleQueue[Event]()

    def full(event: Event, *rest: Any) -> None:
        raise JournalFault("the disk is full")

    monkeypatch.setattr(journal, "append", full)
    events.put(LEAVE)
    assert not begin(session, events, lambda: SessionStarted(1.0), lambda: None, 0.01)
    journal.close()


def faults(times: int, made: str = "the journal") -> Callable[[], Any]:
    """A disk that is full so many times."""
    left = [OutOfReach("can't make a journal (No space left): free some space")] * times

    def make() -> str:
        if left:
            raise left.pop()
        return made

    return make


def test_a_log_that_can_not_be_made_is_told_and_tried_again() -> None:
    """Aloud once and in a line with its cure, then in silence; it begins when there is room."""
    said: list[str] = []

    def aloud(words: Callable[[], str]) -> None:
        said.append(words())

    told: list[str] = []
    waited: list[float] = []
    made = when_there_is_room(faults(3), aloud, told.append, waited.append, stays=True)
    assert made == "the journal"  # type: ignore[comparison-overlap]
    assert said == [
        "Stop. I can't write the log, so the job can't begin. The terminal says what is wrong."
    ]
    assert len(told) == 1 and "free some space" in told[0] and "Ctrl-C" in told[0]
    assert waited == [RETRY_S] * 3


def test_with_nobody_at_a_terminal_it_is_said_and_ends() -> None:
    """A service can't be left with Ctrl-C: one line, as before, and now a voice."""
    said: list[Callable[[], str]] = []
    with pytest.raises(OutOfReach, match="free some space"):
        when_there_is_room(faults(1), said.append, pytest.fail, pytest.fail, stays=False)
    assert len(said) == 1


def test_what_no_room_would_mend_is_not_tried_again() -> None:
    def damaged() -> Journal:
        raise JournalFault("the journal is damaged")

    with pytest.raises(JournalFault, match="damaged"):
        when_there_is_room(damaged, pytest.fail, pytest.fail, pytest.fail, stays=True)


def test_where_no_job_was_begun_nothing_is_to_be_resumed() -> None:
    full = OSError(28, "No space left on device")
    made = cannot("make a journal in", Path("jobs"), full, begun=False)
    written = cannot("write the journal", Path("jobs/a.journal"), full)
    assert str(made).endswith("free some space, then begin the job again")
    assert str(written).endswith("free some space, then: tallyhand resume")


@pytest.mark.parametrize(
    ("number", "cure"),
    [
        (errno.ENOSPC, "free some space"),
        (errno.EDQUOT, "free some space"),
        (errno.EACCES, "give yourself the right"),
        (errno.EROFS, "choose a folder that can be written"),
        (errno.ENOTDIR, "choose a folder, not a file"),
        (errno.ENOENT, "bring the disk or the folder back"),
        (errno.EIO, "look at the disk"),
    ],
)
def test_the_cure_goes_by_the_number_of_a_fault_not_by_its_words(number: int, cure: str) -> None:
    """Numbers as POSIX names them (errno.h). The words of a fault may be in any language, and
    those of another fault."""
    for words in ("Kein Platz", os.strerror(errno.ENOSPC), os.strerror(errno.EROFS)):
        assert f": {cure}" in str(cannot("write the journal", Path("a"), OSError(number, words)))


def test_the_cure_of_a_fault_of_sqlite_goes_by_its_number(tmp_path: Path) -> None:
    """A base that takes no page more: SQLITE_FULL; one opened to be read alone: SQLITE_READONLY;
    one in a folder that is not there: SQLITE_CANTOPEN (sqlite.org/rescode.html)."""
    with closing(sqlite3.connect(tmp_path / "base", isolation_level=None)) as db:
        db.execute("CREATE TABLE t (x)")
        db.execute("PRAGMA max_page_count = 2")
        with pytest.raises(sqlite3.OperationalError) as full:
            db.execute("INSERT INTO t VALUES (?)", ("x" * 100_000,))
    only_read = sqlite3.connect(f"file:{tmp_path / 'base'}?mode=ro", uri=True)
    with closing(only_read), pytest.raises(sqlite3.OperationalError) as locked:
        only_read.execute("INSERT INTO t VALUES (1)")
    with pytest.raises(sqlite3.OperationalError) as away:
        sqlite3.connect(tmp_path / "none" / "base")
    right = "the right to write"
    for found, cure in ((full, "free some space"), (locked, right), (away, right)):
        assert cure in str(cannot("write the journal", Path("a"), found.value))
