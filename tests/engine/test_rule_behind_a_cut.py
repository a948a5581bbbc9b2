"""The rule behind every cut, by itself: the table never lets it speak, so nothing else tests it."""

from __future__ import annotations

import pytest

from assistant.engine.engine import cut_is_allowed
from assistant.engine.phases import Phase, Step, phase_of
from assistant.engine.state import State
from tests.engine.jobs import programme

CUTTING = [step for step in Step if phase_of(step) is Phase.CUT]


@pytest.mark.parametrize("helical", [False, True])
@pytest.mark.parametrize("guarded", [False, True])
@pytest.mark.parametrize("locked", [False, True])
@pytest.mark.parametrize("step", Step)
def test_a_cut_needs_guard_and_lock(step: Step, locked: bool, guarded: bool, helical: bool) -> None:
    """Common practice: the guard closed for every cut, the spindle locked for every cut but the
    helical one, which the lock would stop. Outside the cut nothing is asked."""
    job = programme(3, unlocked=helical)
    allowed = cut_is_allowed(job, State(step=step, locked=locked, guarded=guarded))
    assert allowed == (step not in CUTTING or (guarded and locked is not helical))


def test_there_is_a_cut_to_forbid() -> None:
    assert CUTTING
