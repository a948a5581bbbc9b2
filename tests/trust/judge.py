"""Looks at what a fault left, and says whether anything acknowledged was lost or doubled."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from assistant.bench.rehearsal import state_record
from assistant.engine.engine import advance
from assistant.engine.events import Gesture, PedalUsed, SessionResumed
from assistant.engine.phases import Step
from assistant.journal.writing import Journal, journals, read_journal
from tests.engine.monitor import total

LANDING = (Step.CHECK_POSITION, Step.SET_UP, Step.FINISHED)


def judge(folder: Path, acknowledged: list[dict[str, Any]], *, finish: bool = False) -> int:
    """How many recorded events were never acknowledged (0 or 1). Raises AssertionError when
    one is lost or doubled, when the journal can't be read, or when the job can't go on."""
    found = journals(folder)
    assert len(found) <= 1
    if not found:
        assert not acknowledged, f"{len(acknowledged)} acknowledged, and there is no journal"
        return 0
    reading = read_journal(found[0])
    recorded = [state_record(reading.programme, entry.state) for entry in reading.entries]
    assert recorded[: len(acknowledged)] == acknowledged, "an acknowledged event is lost"
    beyond = len(recorded) - len(acknowledged)
    assert beyond <= 1, f"{beyond} events too many"
    go_on(found[0], recorded, finish=finish)
    return beyond


def go_on(path: Path, recorded: list[dict[str, Any]], *, finish: bool) -> None:
    """Resume as the program does; the new event comes after all the others."""
    journal = Journal.open(path)
    job, state = journal.programme, journal.last_state()
    before = total(job, state)
    state, _ = advance(job, state, SessionResumed(1.0))
    journal.append(SessionResumed(1.0), state)
    assert state.step in LANDING
    made = 0
    while finish and state.step is not Step.FINISHED:
        was = state
        state, _ = advance(job, state, PedalUsed(1e12, Gesture.PRESS))
        made += was.step is Step.CUT
    assert not finish or before + made == job.cuts * job.passes
    journal.close()
    after = [state_record(job, entry.state) for entry in read_journal(path).entries]
    assert after[:-1] == recorded
