"""Random long sessions: the same rules on larger jobs, through the journal's round trip."""

from __future__ import annotations

import json
from typing import Any

from hypothesis import settings
from hypothesis import strategies as st
from hypothesis.stateful import RuleBasedStateMachine, initialize, invariant, rule

from assistant.engine.engine import advance, cut_is_allowed, expected_commands
from assistant.engine.events import (
    Command,
    Event,
    Gesture,
    NoteWritten,
    PedalUsed,
    PhraseHeard,
    SessionResumed,
    SessionStarted,
    from_record,
    to_record,
)
from assistant.engine.phases import Phase, Step, phase_of
from assistant.engine.state import State
from assistant.job.programme import Programme
from tests.engine.jobs import programme
from tests.engine.monitor import Account, watch
from tests.lanes import length


class AnySession(RuleBasedStateMachine):
    """A person who does anything at any time."""

    @initialize(cuts=st.integers(1, 12), passes=st.integers(1, 3), items=st.integers(1, 4))
    def begin(self, cuts: int, passes: int, items: int) -> None:
        self.job = programme(cuts, passes, items)
        self.state, _ = advance(self.job, State(), SessionStarted(0.0))
        self.account = Account()
        self.log: list[Event] = [SessionStarted(0.0)]

    def feed(self, event: Event) -> None:
        written = from_record(json.loads(json.dumps(to_record(event))))
        assert written == event
        new, effects = advance(self.job, self.state, written)
        self.account = watch(self.job, self.account, self.state, event, new, effects)
        self.state = new
        self.log.append(event)

    @rule(times=st.integers(1, 30))
    def work_on(self, times: int) -> None:
        for _ in range(times):
            self.feed(PedalUsed(1.0, Gesture.PRESS))

    @rule(gesture=st.sampled_from(Gesture))
    def use_pedal(self, gesture: Gesture) -> None:
        self.feed(PedalUsed(1.0, gesture))

    @rule(command=st.sampled_from(Command), confidence=st.floats(0, 1), accepted=st.booleans())
    def speak(self, command: Command, confidence: float, accepted: bool) -> None:
        self.feed(PhraseHeard(1.0, command.value, command, confidence, accepted))

    @rule(text=st.text(max_size=40))
    def note(self, text: str) -> None:
        self.feed(NoteWritten(1.0, text))

    @rule()
    def restart(self) -> None:
        """What the journal wrote is read back; the session lands where the contract says."""
        record: dict[str, Any] = json.loads(json.dumps(self.state.to_record()))
        assert State.from_record(record) == self.state
        self.feed(SessionResumed(1.0))
        assert phase_of(self.state.step) in (
            Phase.CHECK_POSITION,
            Phase.SET_UP,
            Phase.FINISHED,
        )

    @invariant()
    def lock_and_guard_stand_before_the_cut(self) -> None:
        assert cut_is_allowed(self.job, self.state)

    @invariant()
    def the_answer_is_among_what_is_expected(self) -> None:
        finished = self.state.step is Step.FINISHED
        assert finished or expected_commands(self.state) & set(Command)

    def teardown(self) -> None:
        """Replaying the events gives the same state."""
        state = State()
        for event in self.log:
            state, _ = advance(self.job, state, event)
        assert state == self.state


AnySession.TestCase.settings = settings(
    max_examples=length(50, 1000), stateful_step_count=40, deadline=None
)
TestAnySession = AnySession.TestCase


def test_a_programme_survives_the_journal() -> None:
    """Written as JSON and read back, the programme is the same."""
    job = programme(9, 2, 3)
    assert Programme.from_record(json.loads(json.dumps(job.to_record()))) == job
