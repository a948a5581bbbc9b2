"""An answer has to be an answer: pedals that bounce, echo, stick or chatter get past no lock.

Time is virtual: each contact hushes and begins the question anew, as at the bench.
"""

from __future__ import annotations

import json
import random
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from itertools import repeat

import pytest

from assistant.bench.pedal_watch import QUIET_S, PedalWatch
from assistant.engine.answers import REACTION_S, understood_after
from assistant.engine.engine import Refuse, Say, advance
from assistant.engine.events import Gesture, PedalUsed, SessionStarted
from assistant.engine.phases import Phase, Step, phase_of
from assistant.engine.state import State
from assistant.job.programme import Programme, paced
from tests.commands import COUNT_WHEEL, tallyhand
from tests.engine.jobs import programme
from tests.trust.rates import SOUND_AFTER_PRESS_S

HOUR = 3600.0
JOB = programme(9)
IN_FEW_WORDS = paced(JOB, 1, 0)


@dataclass
class Fault:
    """What a faulty pedal came to."""

    state: State
    locks: int = 0
    taken: int = 0
    told: float = 0.0  # when the pedal was doubted first, seconds


def press(job: Programme, gaps: Iterable[float], hours: float) -> Fault:
    """Contacts at these intervals for so many hours. Once the pedal is doubted and no gap is
    long enough to clear it, the rest of the time changes nothing and is not played."""
    state, _ = advance(job, State(), SessionStarted(0.0))
    fault, watch, now = Fault(state), PedalWatch(), 0.0
    for gap in gaps:
        now += gap
        if now > hours * HOUR or fault.state.step is Step.FINISHED:
            break
        if watch.doubted and gap < QUIET_S:
            continue
        waited = gap - SOUND_AFTER_PRESS_S
        event = watch.judge(
            PedalUsed(now, Gesture.PRESS, waited=waited), understood_after(job, fault.state)
        )
        fault.told = fault.told or (now if watch.doubted else 0.0)
        before = fault.state
        fault.state, _ = advance(job, before, event)
        fault.locks += fault.state.locked and not before.locked
        fault.taken += fault.state != before
    return fault


@pytest.mark.parametrize("job", [JOB, IN_FEW_WORDS], ids=["whole", "few"])
@pytest.mark.parametrize("hertz", [1, 2, 4, 8, 12, 20])
def test_an_echo_never_gets_past_a_lock(job: Programme, hertz: int) -> None:
    """A contact at a steady pace, a hundred hours: no lock is taken, and the pedal is doubted."""
    fault = press(job, repeat(1 / hertz, 360_000 * hertz), 100)
    assert fault.locks == 0 and fault.state.done == 0
    assert 0 < fault.told < 60


def chances(seed: int, mean: float) -> Iterator[float]:
    chance = random.Random(seed)
    while True:
        yield chance.expovariate(1 / mean)


@pytest.mark.parametrize("mean", [0.1, 0.3, 1.0])
def test_contacts_at_random_cut_nothing_in_a_hundred_hours(mean: float) -> None:
    """Each of ten pedals ten hours: some lock is stamped by chance, no second one ever."""
    for seed in range(10):
        fault = press(JOB, chances(seed, mean), 10)
        assert fault.locks <= 1 and fault.state.done <= 1
        assert fault.told


def test_a_lock_answered_before_it_was_said_is_asked_again() -> None:
    """With the tone and the reason; the same press in good time counts."""
    state, _ = advance(JOB, State(), SessionStarted(0.0))
    while phase_of(state.step) is not Phase.LOCK:
        state, _ = advance(JOB, state, PedalUsed(0.0, Gesture.PRESS))
    needed = understood_after(JOB, state)
    assert needed > 1
    same, effects = advance(JOB, state, PedalUsed(0.0, Gesture.PRESS, waited=needed - 0.1))
    assert same == state and any(isinstance(effect, Refuse) for effect in effects)
    assert any(isinstance(e, Say) and "Lock the spindle." in e.text for e in effects)
    new, _ = advance(JOB, state, PedalUsed(0.0, Gesture.PRESS, waited=needed + 0.1))
    assert new.locked


def test_how_to_answer_need_not_be_heard_out() -> None:
    """What a person may know already does not hold an answer up."""
    told = State(step=Step.GUARD, locked=True)
    known = State(step=Step.GUARD, locked=True, done=1, place=1, settled=1)
    assert understood_after(JOB, told) == understood_after(JOB, known)
    assert understood_after(JOB, State(step=Step.CUT)) == REACTION_S


def test_a_doubted_pedal_is_believed_after_half_a_minute_of_quiet() -> None:
    """And a foot that heard the lock out now and then is never doubted for an old slip."""
    watch = PedalWatch()
    for n in range(3):
        watch.judge(PedalUsed(float(n), Gesture.PRESS, waited=0.5), 2.0)
    assert watch.doubted
    late = watch.judge(PedalUsed(10.0, Gesture.PRESS), 2.0)
    assert not late.trusted
    assert watch.judge(PedalUsed(10.0 + QUIET_S, Gesture.PRESS), 2.0).trusted
    for n in range(60, 160, 4):
        hasty = watch.judge(PedalUsed(float(n), Gesture.PRESS, waited=0.5), 2.0)
        heard = watch.judge(PedalUsed(n + 2.0, Gesture.PRESS, waited=2.5), 2.0)
        assert hasty.trusted and heard.trusted


def test_a_script_says_when_its_answers_come() -> None:
    """`after_ms` counts from the beginning of the question; without it the answer is in time."""
    script = [{"press": "main"}] * 9 + [{"press": "main", "after_ms": 400}] * 3
    lines = "\n".join(map(json.dumps, [*script, {"press": "main"}]))
    done = tallyhand("rehearse", COUNT_WHEEL, "--script", "-", "--json", given=lines)
    found = [json.loads(line) for line in done.stdout.splitlines()]
    states = [each["state"] for each in found if "state" in each]
    assert states[-1]["phase"] == "lock" and not states[-1]["locked"]
    assert sum("Too soon." in each.get("refused", "") for each in found) == 2
    assert sum("I take no answer from" in each.get("refused", "") for each in found) == 2
