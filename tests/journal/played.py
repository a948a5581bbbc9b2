"""A piece of a job, played: the events and the state after each."""

from __future__ import annotations

from pathlib import Path

from assistant.engine.engine import advance
from assistant.engine.events import Event, Gesture, NoteWritten, PedalUsed, SessionStarted
from assistant.engine.state import State
from assistant.job.programme import Programme
from assistant.journal.writing import Journal
from tests.engine.jobs import programme

JOB = programme(3)


def played(presses: int, job: Programme = JOB) -> list[tuple[Event, State]]:
    """The start and as many presses of the pedal, two seconds apart, with a note at the end."""
    events: list[Event] = [SessionStarted(1.0)]
    events += [PedalUsed(3.0 + 2 * n, Gesture.PRESS) for n in range(presses)]
    events.append(NoteWritten(4.0 + 2 * presses, "burr on notch three ⚙"))
    states, state = [], State()
    for event in events:
        state, _ = advance(job, state, event)
        states.append(state)
    return list(zip(events, states, strict=True))


def made(folder: Path, presses: int, job: Programme = JOB) -> Journal:
    """A journal with that piece in it, still open."""
    journal = Journal.create(folder, job, "title = 'Count wheel'")
    for event, state in played(presses, job):
        journal.append(event, state)
    return journal
