"""Pedals that no foot works: contacts that bounce, chatter, stick, echo, or are leaned on.

Each fault is a run of (seconds open, seconds closed) without end, given to the program's own
gestures and watch on a virtual clock. The patterns are judged: no published record of failing
foot switches was found.
"""

from __future__ import annotations

import random
from collections.abc import Iterator
from dataclasses import dataclass, field

from assistant.bench.pedal_watch import PedalWatch
from assistant.devices.pedal.gestures import Gestures, Manner
from assistant.engine import own_time
from assistant.engine.allowed import is_for_lock_or_guard
from assistant.engine.answers import understood_after
from assistant.engine.engine import advance
from assistant.engine.events import Gesture, PedalUsed, SessionStarted
from assistant.engine.phases import Step
from assistant.engine.state import State
from assistant.job.programme import Programme
from tests.trust.rates import SOUND_AFTER_PRESS_S

HOUR = 3600.0
Contacts = Iterator[tuple[float, float]]


def echo(hertz: float) -> Contacts:
    """Steady, closed half of the time."""
    while True:
        yield 0.5 / hertz, 0.5 / hertz


def at_random(chance: random.Random, hertz: float) -> Contacts:
    """So many contacts a second on average, each as short as a tap."""
    while True:
        yield chance.expovariate(hertz), chance.uniform(0.03, 0.2)


def chatter(chance: random.Random, hertz: float) -> Contacts:
    """Bursts of short contacts, so many bursts a second."""
    while True:
        yield chance.expovariate(hertz), chance.expovariate(20)
        for _ in range(chance.randint(2, 12)):
            yield chance.expovariate(50), chance.expovariate(20)


def bounce(chance: random.Random, hertz: float) -> Contacts:
    """A tap at random with several closings at its end, each on the edge of what counts."""
    while True:
        yield chance.expovariate(hertz), chance.uniform(0.05, 0.2)
        for _ in range(chance.randint(1, 5)):
            yield chance.uniform(0.001, 0.04), chance.uniform(0.001, 0.04)


def stick(chance: random.Random, hertz: float) -> Contacts:
    """Closes at random, and half of the time stays so for a while."""
    while True:
        yield chance.expovariate(hertz), chance.expovariate(0.2 if chance.random() < 0.5 else 8)


def leaned_on(chance: random.Random, hertz: float) -> Contacts:
    """A weight lies on it and shifts: closed, with short openings."""
    while True:
        yield chance.uniform(0.02, 0.3), chance.expovariate(hertz)


def tapping(chance: random.Random, every_s: float, spread: float = 0.2) -> Contacts:
    """No fault: a foot that taps in a rhythm, and whose head listens to nothing."""
    while True:
        yield every_s * chance.lognormvariate(0.0, spread), 0.12


FAULTS = {
    "contacts at random": at_random,
    "bounce": bounce,
    "chatter": chatter,
    "sticks": stick,
    "leaned on": leaned_on,
}


@dataclass
class Came:
    """What a faulty pedal came to: what it stamped, and when it was doubted first, seconds."""

    state: State
    now: float = 0.0
    presses: int = 0
    locks: int = 0
    guards: int = 0
    cuts: set[int] = field(default_factory=set)  # whose lock was stamped, once or again
    doubted: float = 0.0
    step_since: float = 0.0
    watch: PedalWatch = field(default_factory=PedalWatch)
    gestures: Gestures = field(default_factory=Gestures)


def from_the_start(
    job: Programme, contacts: Contacts, hours: float, *, manner: Manner = Manner.HOLD
) -> Came:
    """The pedal is faulty when the session begins."""
    state, _ = advance(job, State(), SessionStarted(0.0))
    came = Came(state, gestures=Gestures(manner, 0.0))
    return _play(job, came, contacts, hours)


HANDS_S = {Step.CALL: 8.0, Step.LOCK: 4.0, Step.GUARD: 3.0, Step.INDEX: 6.0, Step.CUT: 60.0}


def worked(job: Programme, cuts: int) -> State:
    """So many cuts were made by a person whose hands take their time (judged), all answered."""
    state, _ = advance(job, State(), SessionStarted(0.0))
    while state.done < cuts:
        took = understood_after(job, state) + HANDS_S.get(state.step, 1.0)
        state, _ = advance(job, state, PedalUsed(0.0, Gesture.PRESS, took=took))
    return state


def in_the_middle(job: Programme, contacts: Contacts, hours: float, state: State) -> Came:
    """A proven pedal begins to be faulty in this state, which nobody answers meanwhile."""
    came = Came(
        state, watch=PedalWatch(proven=True), gestures=Gestures(Manner.HOLD, watched_since=-HOUR)
    )
    return _play(job, came, contacts, hours)


def _play(job: Programme, came: Came, contacts: Contacts, hours: float) -> Came:
    asked_at = came.now
    for opened, closed in contacts:
        if came.now > hours * HOUR or came.state.step is Step.FINISHED:
            return came
        came.now += opened
        found = came.gestures.down(came.now)
        came.now += closed
        for gesture in [*found, *came.gestures.tick(came.now), *came.gestures.up(came.now)]:
            asked_at = _told(job, came, gesture, asked_at)
    raise AssertionError("contacts without end")


def _told(job: Programme, came: Came, gesture: Gesture, asked_at: float) -> float:
    """When the question that stands now began to sound."""
    came.presses += gesture is Gesture.PRESS
    waited = max(came.gestures.pressed_at, 0.0) - asked_at
    with_care = is_for_lock_or_guard(came.state)
    needed = understood_after(job, came.state)
    took = max(came.now - came.step_since, 0.01)
    event = PedalUsed(came.now, gesture, waited=waited, still=came.gestures.still, took=took)
    quick = own_time.is_too_quick(job, came.state, took)
    in_cut = own_time.is_in_cut(job, came.state, event)
    event = came.watch.judge(event, needed, careful=with_care, quick=quick, in_cut=in_cut)
    came.doubted = came.doubted or (came.now if came.watch.doubted else 0.0)
    if event.trusted or gesture is not Gesture.PRESS:
        before = came.state
        came.state, _ = advance(job, before, event)
        if came.state.locked and not before.locked:
            came.locks += 1
            came.cuts.add(came.state.done)
        came.guards += came.state.guarded and not before.guarded
        if (before.step, before.done) != (came.state.step, came.state.done):
            came.step_since = came.now
    return came.now + SOUND_AFTER_PRESS_S
