"""Does each record of a journal follow from the one before? The engine, being pure, can tell.

The chain of hashes shows that nothing was changed since it was made. It can't show that what
was chained ever happened: who writes cuts into a journal and chains it anew has an unbroken one.
Put to the engine again, each fact must give the very state that the journal holds after it.

A journal may be older than the rules of today (`transitions.RULES`). What was written under
other rules is replayed as well, but where it does not follow that is only told, not held
against it.
"""

from __future__ import annotations

from dataclasses import dataclass

from assistant.engine.engine import advance
from assistant.engine.events import SessionResumed, SessionStarted
from assistant.engine.state import FIELDS, State
from assistant.engine.transitions import RULES
from assistant.journal.reading import Entry, JournalRecords

# Prose may be worded anew, and is for the person, not for the count.
_APART = {"said", "before", "pace", "last_cut_at"}


@dataclass(frozen=True, slots=True)
class Stray:
    """The first record that does not follow. `rules` are those that it was written under."""

    record: int
    rules: int
    what: str  # "done is 15, 3 follows"

    @property
    def judged(self) -> bool:
        """Written under the rules of today: then it was never written by a session."""
        return self.rules == RULES


def first_stray(reading: JournalRecords) -> Stray | None:
    """The first record that the engine does not arrive at, or None where all follow."""
    state, rules = State(), 1
    for entry in reading.entries:
        if isinstance(entry.event, SessionStarted | SessionResumed):
            rules = entry.event.rules
        what = _difference(reading, state, entry)
        if what:
            return Stray(entry.seq, rules, what)
        state = entry.state
    return None


def _difference(reading: JournalRecords, before: State, entry: Entry) -> str:
    follows, _ = advance(reading.programme, before, entry.event)
    if follows == entry.state:
        return ""
    for name in FIELDS:
        there, here = getattr(entry.state, name), getattr(follows, name)
        if name not in _APART and there != here:
            return f"{name} is {_shown(there)}, {_shown(here)} follows"
    return ""


def _shown(value: object) -> str:
    return str(value) if value not in ("", ()) else "nothing"
