"""A press in the middle of a cut, at the session: it counts none, and the next answers wait."""

from __future__ import annotations

from dataclasses import dataclass, field
from pathlib import Path

from assistant.bench.session import Session
from assistant.engine.engine import Effect, Refuse
from assistant.engine.events import Gesture, PedalUsed
from assistant.engine.phases import Step
from assistant.engine.state import State
from assistant.engine.view import LastInput
from assistant.job.programme import Programme
from assistant.journal.writing import Journal
from tests.engine.jobs import programme
from tests.trust.contacts import worked

CUTS = 9
A_CUT_S, EARLY_S = 60.0, 8.0
JUST_QUIET_S, LONG_QUIET_S = (
    12.0,
    45.0,
)  # the first: enough where nothing is held against it


@dataclass
class Listener:
    """What the session does, kept."""

    effects: list[Effect] = field(default_factory=list)

    def perform(self, effect: Effect) -> None:
        self.effects.append(effect)

    def stand(self, programme: Programme, state: State, heard: LastInput) -> None:
        pass


def in_the_cut(folder: Path) -> tuple[Session, Listener]:
    """A session in whose last three cuts nothing was wrong, the next one being cut."""
    job = programme(CUTS)
    listener = Listener()
    state = worked(job, 3)
    session = Session(job, state, Journal.create(folder, job, ""), listener)
    answer(session, until=Step.CUT)
    return session, listener


def answer(session: Session, until: Step, quiet: float = LONG_QUIET_S) -> bool:
    """A press at each question until that step; False where one of them was not taken."""
    for _ in range(4):
        if session.state.step is until:
            return True
        before = session.state.step
        press(session, quiet)
        if session.state.step is before:
            return False
    return session.state.step is until


def press(session: Session, quiet: float) -> None:
    session.handle(PedalUsed(0.0, Gesture.PRESS, waited=quiet, still=quiet, took=quiet))


def test_it_counts_no_cut_and_lock_and_guard_wait(tmp_path: Path) -> None:
    session, listener = in_the_cut(tmp_path)
    press(session, EARLY_S)
    assert session.state.done == 3 and session.state.step is Step.CUT
    press(session, A_CUT_S)  # the answer to "Was it a cut?"
    assert session.state.done == 4
    assert not answer(session, Step.CUT, quiet=JUST_QUIET_S)
    assert any(isinstance(effect, Refuse) for effect in listener.effects)
    assert answer(session, Step.CUT)


def test_a_cut_in_its_time_lets_a_foot_answer_as_before(tmp_path: Path) -> None:
    session, _ = in_the_cut(tmp_path)
    press(session, A_CUT_S)
    assert session.state.done == 4 and answer(session, Step.CUT, quiet=JUST_QUIET_S)
