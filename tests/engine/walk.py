"""Walks every state that any order of events can reach, or a sample of them, beside the
observer's account."""

from __future__ import annotations

import random
from collections import Counter, deque
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import Any

from assistant.engine.engine import advance
from assistant.engine.events import (
    Command,
    CommandGiven,
    Device,
    DeviceLost,
    DeviceReturned,
    Event,
    Gesture,
    NoteWritten,
    PartScrapped,
    PedalUsed,
    PhraseHeard,
    SessionResumed,
    SessionStarted,
    SizeGiven,
    Source,
    TrialWanted,
    TrustChanged,
)
from assistant.engine.phases import Step
from assistant.engine.state import State, replace
from assistant.engine.transitions import TABLE, Transitions
from assistant.job.programme import Programme
from tests.engine.monitor import Account, watch


def _doubtful(commands: Iterable[Command]) -> Iterator[PhraseHeard]:
    """Phrases that the ear is not sure of, and such as it did not take."""
    for command in commands:
        yield PhraseHeard(0.0, command.value, command, confidence=0.4)
        yield PhraseHeard(0.0, command.value, command, 0.95, accepted=False)


_CERTAIN: tuple[Event, ...] = (
    *(PedalUsed(0.0, gesture) for gesture in Gesture),
    PedalUsed(0.0, Gesture.PRESS, took=1.0),
    *(PhraseHeard(0.0, command.value, command) for command in Command),
    PhraseHeard(0.0, "pass me the file", None, 0.2, accepted=False),
    NoteWritten(0.0, "burr on tooth two"),
    SizeGiven(0.0, "19.05"),
    SizeGiven(0.0, "17.5"),
    SizeGiven(0.0, "2"),
    SizeGiven(0.0, "999"),
    PartScrapped(0.0),
    TrialWanted(0.0),
    SizeGiven(0.0, "nineteen"),
    SessionResumed(0.0),
    DeviceLost(0.0, Device.MICROPHONE, "unplugged"),
    DeviceReturned(0.0, Device.MICROPHONE),
    TrustChanged(0.0, trusted=False, noise=-20.0, snr=1.0),
    TrustChanged(0.0, trusted=True, noise=-50.0, snr=20.0),
    CommandGiven(0.0, Command.LOCKED, Source.KEYBOARD),
)
EVENTS = (*_CERTAIN, *_doubtful(Command))
# What is not certain is seldom taken for anything, whatever it is: of these, what makes a cut.
FEWER = (*_CERTAIN, *_doubtful((Command.LOCKED, Command.GUARDED, Command.CUT_DONE)))

Node = tuple[State, Account]


@dataclass(frozen=True)
class Walked:
    """What the walk saw."""

    edges: dict[Node, list[Node]]
    depth: int  # the longest shortest way from the start; 0 in a sample

    @property
    def states(self) -> set[State]:
        return {state for state, _ in self.edges}


_PLAIN = State()
_NO_MATTER: dict[str, Any] = {
    name: getattr(_PLAIN, name)
    for name in (
        "last_cut_at", "pace", "cut_times", "answer_times", "said", "before", "notes", "lost",
    )
}  # fmt: skip


def bare(state: State) -> State:
    """The state without the words and counts that no decision rests on."""
    return replace(state, **_NO_MATTER)


def walk(
    programme: Programme, table: Transitions = TABLE, events: Sequence[Event] = EVENTS
) -> Walked:
    """Each of `events` in every reachable state. Raises Broken when a rule is broken anywhere."""
    start_state, _ = advance(programme, State(), SessionStarted(0.0), table)
    start = (bare(start_state), Account())
    edges: dict[Node, list[Node]] = {}
    queue = deque([(start, 0)])
    deepest = 0
    while queue:
        node, depth = queue.popleft()
        if node in edges:
            continue
        deepest = max(deepest, depth)
        edges[node] = [_step(programme, node, event, table) for event in events]
        queue.extend((after, depth + 1) for after in set(edges[node]) if after not in edges)
    return Walked(edges, deepest)


def sample(programme: Programme, most: int, events: Sequence[Event] = EVENTS) -> Walked:
    """Each of `events` in `most` of the reachable states at the most, the same ones each time.

    One is drawn of those that were met, in the step that was looked at least; from there it goes
    on by the first of the events (the press) until it comes to what it has seen. So every step
    is looked at, and the end of the job. Raises Broken as `walk` does.
    """
    draw = random.Random(programme.title)
    start_state, _ = advance(programme, State(), SessionStarted(0.0))
    waiting = [(bare(start_state), Account())]
    edges: dict[Node, list[Node]] = {}
    looked_at: Counter[Step] = Counter()
    while waiting and len(edges) < most:
        least = min(looked_at[state.step] for state, _ in waiting)
        node = draw.choice([each for each in waiting if looked_at[each[0].step] == least])
        while node not in edges and len(edges) < most:
            looked_at[node[0].step] += 1
            edges[node] = [_step(programme, node, event, TABLE) for event in events]
            waiting = list(dict.fromkeys((*waiting, *edges[node])))
            node = edges[node][0]
        waiting = [each for each in waiting if each not in edges]
    return Walked(edges, 0)


def _step(programme: Programme, node: Node, event: Event, table: Transitions) -> Node:
    state, account = node
    new, effects = advance(programme, state, event, table)
    return bare(new), watch(programme, account, state, event, new, effects)


def can_reach(walked: Walked, goals: set[Node]) -> set[Node]:
    """The nodes from which one of the goals can be reached."""
    backwards: dict[Node, set[Node]] = {}
    for node, followers in walked.edges.items():
        for following in followers:
            backwards.setdefault(following, set()).add(node)
    found, queue = set(goals), deque(goals)
    while queue:
        for before in backwards.get(queue.popleft(), ()):
            if before not in found:
                found.add(before)
                queue.append(before)
    return found
