"""A clock that jumps back: the order of records and of jobs does not rest on it."""

from __future__ import annotations

import time
from pathlib import Path

import pytest

from assistant.commands.resume import last_unfinished
from assistant.engine.engine import advance
from assistant.engine.events import Gesture, PedalUsed, SessionStarted
from assistant.engine.state import State
from assistant.journal.writing import Journal, journals, read_journal
from tests.journal.played import JOB, made


def test_events_keep_their_order(tmp_path: Path) -> None:
    """An hour back in the middle of a job: what came later stays later, and the state with it."""
    journal = Journal.create(tmp_path, JOB, "")
    state = State()
    times = [7200.0, 7201.0, 3600.0, 3601.0, 3602.0, 0.5, -5.0]
    for event in [SessionStarted(times[0]), *[PedalUsed(at, Gesture.PRESS) for at in times[1:]]]:
        state, _ = advance(JOB, state, event)
        journal.append(event, state)
    journal.close()
    reading = read_journal(journal.path)
    assert [entry.at for entry in reading.entries] == times
    assert reading.state == state
    assert Journal.open(journal.path).last_state() == state


def test_the_last_job_is_the_one_taken_up_last(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """`resume` goes on with it although its events and its name bear earlier times."""
    before = made(tmp_path, 5)
    before.close()
    now = time.time()
    monkeypatch.setattr(time, "strftime", lambda form, *when: "19991231T235959")
    monkeypatch.setattr(time, "time", lambda: now - 86400)
    after = Journal.create(tmp_path, JOB, "")
    after.append(SessionStarted(-100.0), State())
    after.close()
    assert journals(tmp_path)[0] == after.path, "by name it is the older one"
    chosen = last_unfinished(str(tmp_path))
    assert chosen.path == after.path
    chosen.close()
    Journal.open(before.path).close()
    chosen = last_unfinished(str(tmp_path))
    assert chosen.path == before.path
    chosen.close()


def test_jobs_with_no_witness_go_by_their_times(tmp_path: Path) -> None:
    """Journals copied alone: the one with the latest record."""
    paths = []
    for presses in (9, 3):
        journal = made(tmp_path, presses)
        journal.close()
        Path(f"{journal.path}.witness").unlink()
        paths.append(journal.path)
    chosen = last_unfinished(str(tmp_path))
    assert chosen.path == paths[0]
    chosen.close()


def test_a_name_that_is_taken_is_not_taken_again(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The clock shows the same moment twice: the first journal stays as it is."""
    first = made(tmp_path, 5)
    first.close()
    content = first.path.read_bytes()
    names = iter([first.path.name, first.path.name, "another.journal"])
    monkeypatch.setattr("assistant.journal.writing._file_name", lambda title: next(names))
    second = Journal.create(tmp_path, JOB, "")
    second.close()
    assert second.path.name == "another.journal"
    assert first.path.read_bytes() == content
