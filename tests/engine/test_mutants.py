"""The table held against a second account of the shop, and every single-entry mutant of it."""

from __future__ import annotations

import random
from collections import Counter, defaultdict
from collections.abc import Iterator
from fractions import Fraction
from functools import cache
from typing import Any

import pytest

from assistant.engine.asked import INTENTS
from assistant.engine.engine import Outcome, Refuse, advance
from assistant.engine.events import (
    Command,
    Event,
    Gesture,
    NoteWritten,
    PartScrapped,
    PedalUsed,
    PhraseHeard,
    SessionResumed,
    SizeGiven,
    TrialWanted,
)
from assistant.engine.phases import ANSWERS, Intent, Step
from assistant.engine.state import State, replace
from assistant.engine.transitions import TABLE, Transitions
from assistant.job.programme import Programme
from tests.engine.jobs import MEASURED, batch, programme, size
from tests.engine.mutants import CHANGES, CONDITIONS, Key, Mutant, mutants
from tests.engine.shop import FIGURES, SIZE, reachable, wanted
from tests.lanes import in_full, length

pytestmark = [pytest.mark.slow(15), pytest.mark.longer]

JOBS = [
    *(programme(*size) for size in [(1, 1, 1), (2, 1, 2), (3, 1, 1), (2, 2, 1), (3, 3, 2)]),
    programme(2, 1, **MEASURED),
    programme(2, 2, unlocked=True),
    programme(1, 2, unlocked=True, measurements=(size(1, 2),)),
    programme(1, 2, measurements=(size(1),)),
    programme(1, 1, measurements=(size(1),), then=programme(1)),
    programme(2, 1, closed=False, measurements=(size(2),)),
    programme(1, 2, measurements=(size(1),), then=programme(1, unlocked=True, name="the flutes")),
    programme(3, 2, whole_cuts=1),
    programme(4, 1, whole_cuts=2, then=programme(3, whole_cuts=2)),
    programme(2, 2, cut_minutes=Fraction(1)),
    programme(2, 1, cut_minutes=Fraction(1), measurements=(size(1),)),
    programme(3, 2, 3, trial_item=1),
    programme(3, 1, 1, trial_item=0, closed=False),
    batch(1, 1, whole_cuts=1, measurements=(size(1),)),
    batch(1, 2, measurements=(size(1),)),
    batch(1, 1, then=batch(1, closed=False)),
]
if in_full():  # these alone have most of all states
    JOBS += [
        programme(2, 1, measurements=(size(2),), then=programme(1)),
        programme(3, 2, **MEASURED),
        programme(2, 2, closed=False, measurements=(size(1),)),
        programme(2, 2, **MEASURED, then=programme(2, unlocked=True, name="the flutes")),
        programme(2, 2, unlocked=True, measurements=(size(1), size(2, 2))),
        batch(2, 1, whole_cuts=1, measurements=(size(2),)),
        batch(2, 1, measurements=(size(1),), then=batch(1, closed=False)),
        programme(3, 2, unlocked=True, measurements=(size(1), size(2, 2))),
        batch(2, 2, 2, trial_item=0, **MEASURED),
        programme(2, 2, measurements=(size(2), size(1, 2), size(2, 2))),
        programme(3, 1, measurements=(size(1), size(3))),
    ]
_SPOKEN = {intent: command for command, intent in INTENTS.items()}
_LEFT_BY_VOICE = (
    Step.TRIAL_CLEAR,
    Step.TRIAL_MOVE,
    Step.AT_PIN,
    Step.BACK_OFF,
    Step.COME_UP,
    Step.CLOSING_CHECK,
    Step.CHECK_POSITION,
    Step.PAUSED,
)
_LATE = 1e9  # long after any question was heard


_FACTS: dict[Intent, tuple[Event, ...]] = {
    Intent.RESTART: (SessionResumed(_LATE),),
    Intent.SCRAP: (PartScrapped(_LATE),),
    Intent.TRIAL: (TrialWanted(_LATE),),
    Intent.NOTE: (NoteWritten(_LATE, "a burr"),),
}


def events(step: Step, intent: Intent) -> list[Event]:
    """Every way in which a person (or a start of the program) can mean this in this step."""
    found: list[Event] = []
    if intent is Intent.SIZE:
        found += [SizeGiven(_LATE, figure) for figure in FIGURES]
    found += _FACTS.get(intent, ())
    if (step, intent) == (Step.SET_UP, Intent.TRIAL):
        found.append(PhraseHeard(_LATE, "lock is off", Command.RELEASED))
    if intent is Intent.TRIAL and step in _LEFT_BY_VOICE:
        found.append(PhraseHeard(_LATE, "set and checked", Command.CHECKED))
    if intent is Intent.PAUSE_AND_WHERE:
        found.append(PedalUsed(_LATE, Gesture.HOLD))
    if intent is Intent.SAY_AGAIN:
        found.append(PedalUsed(_LATE, Gesture.DOUBLE))
    if intent is Intent.CONFIRM:
        found.append(PedalUsed(_LATE, Gesture.PRESS))
        found.append(PedalUsed(_LATE, Gesture.PRESS, took=1.0))
    command = ANSWERS.get(step) if intent is Intent.CONFIRM else _SPOKEN.get(intent)
    answers = intent is not Intent.CONFIRM and command is ANSWERS.get(step)
    if command and not answers:  # where it answers the question it is the answer
        found.append(PhraseHeard(_LATE, command.value, command))
    return found


# The words and the pace: no decision rests on them.
_NO_MATTER: dict[str, Any] = {
    "said": "",
    "before": "",
    "lost": (),
    "last_cut_at": 0.0,
    "pace": (),
    "cut_times": (),
    "answer_times": (),
}


class Differs(AssertionError):
    """The table does something else than the shop wants."""


def hold(job: Programme, now: State, event: Event, after: State | None, table: Transitions) -> None:
    """Raises Differs when `table` does not lead to `after` (None: a refusal)."""
    new, effects = outcome(job, now, event, table)
    refused = any(isinstance(effect, Refuse) for effect in effects)
    shown = replace(new, **_NO_MATTER)
    if refused != (after is None) or shown != (now if after is None else after):
        raise Differs(f"{event} in {now}: {shown}, wanted {after}")


def outcome(job: Programme, now: State, event: Event, table: Transitions) -> Outcome:
    try:
        return advance(job, now, event, table)
    except Exception as error:
        raise Differs(f"{event} in {now}: {error!r}") from error


EACH = length(399, 1)  # 399: of each kind one in so many, drawn; 1: every one
Trial = tuple[Programme, State, Event, State | None]


@pytest.fixture(scope="module")
def trials() -> dict[Key, list[Trial]]:
    """Every reachable state of the small jobs with every event, and what ought to follow."""
    found: dict[Key, list[Trial]] = defaultdict(list)
    for n, job in enumerate(JOBS):
        for now in states(n):
            for intent in Intent:
                for event in events(now.step, intent):
                    figure = event.size if isinstance(event, SizeGiven) else SIZE
                    hurried = isinstance(event, PedalUsed) and event.took > 0
                    after = wanted(job, now, intent, figure, hurried)
                    found[now.step, intent].append((job, now, event, after))
    return found


def check(table: Transitions, trials: list[Trial]) -> None:
    for job, now, event, after in trials:
        hold(job, now, event, after, table)


def test_the_table_does_what_the_shop_wants(trials: dict[Key, list[Trial]]) -> None:
    """In every reachable state, for every intent and every way of saying it."""
    several = [trial for each in trials.values() for trial in each]
    check(TABLE, several)
    steps = {now.step for _, now, _, _ in several}
    assert steps == set(Step)
    print(f"{len(several)} events in {sum(len(states(n)) for n in range(len(JOBS)))} states")


def drawn() -> Iterator[Mutant]:
    """Of each kind its share, of a rare one too, drawn from everywhere; the same at each run."""
    kinds: dict[str, list[Mutant]] = defaultdict(list)
    for mutant in mutants():
        kinds[mutant.kind].append(mutant)
    for kind, made in kinds.items():
        yield from random.Random(kind).sample(made, -(-len(made) // EACH))


def survivors(trials: dict[Key, list[Trial]]) -> tuple[Counter[str], list[Mutant]]:
    """How many mutants of each kind there are, and those that no check finds.

    A mutant differs from the table in one key only, so the first difference is in a state that
    the true table reaches, at that key: no other trial can find it sooner.
    """
    made: Counter[str] = Counter()
    alive = []
    for mutant in drawn():
        made[mutant.kind] += 1
        try:
            check(mutant.table(), trials[mutant.key])
        except Differs:
            continue
        alive.append(mutant)
    return made, alive


def test_every_mutant_is_killed_or_no_different(trials: dict[Key, list[Trial]]) -> None:
    """Each row's `to`, `do`, `when`; each row left out or exchanged; rows for what is refused.

    At full length, what lives must do in every state of larger jobs as well what the true table
    does; the reasons are the facts of the next test and the last of `reason`.
    """
    made, alive = survivors(trials)
    reasons = Counter(reason(mutant) for mutant in alive) if in_full() else Counter[str]()
    print(f"{made.total()} mutants {dict(made)}: {made.total() - len(alive)} killed")
    for why, times in reasons.most_common():
        print(f"{times:6} no different: {why}")
    assert made.total() > 20_000 // EACH
    assert set(made) == {"to", "do", "when", "removed", "exchanged", "added"}
    assert len(alive) < made.total() * 0.04


LARGER = [
    *(programme(*size) for size in [(4, 2, 3), (5, 1, 1), (6, 3, 2)]),
    programme(3, 2, closed=False, measurements=(size(2),), cut_minutes=Fraction(1)),
    programme(2, 2, then=programme(3, 2, closed=False, then=programme(3, 2, unlocked=True))),
    batch(3, 1, 2, whole_cuts=2, then=batch(2, 2, closed=False)),
    programme(4, 1, 4, trial_item=2, then=programme(3, 1, 2, trial_item=0, closed=False)),
]
if in_full():
    LARGER += [
        programme(4, 3, closed=False, measurements=(size(2),), cut_minutes=Fraction(1)),
        programme(4, 2, unlocked=True, measurements=(size(2), size(4, 2))),
        programme(4, 2, measurements=(size(2), size(1, 2), size(4, 2))),
        batch(3, 2, measurements=(size(2), size(2, 2))),
    ]


@cache
def states(n: int) -> tuple[State, ...]:
    """Every reachable state of the job in this place of JOBS and then LARGER."""
    return tuple(reachable([*JOBS, *LARGER][n]))


@cache
def larger() -> dict[Step, list[tuple[Programme, State]]]:
    found: dict[Step, list[tuple[Programme, State]]] = {step: [] for step in Step}
    for n, job in enumerate(LARGER, len(JOBS)):
        for now in states(n):
            found[now.step].append((job, now))
    return found


def reason(mutant: Mutant) -> str:
    """Why this mutant is no other table. Raises AssertionError where it is one."""
    step, intent = mutant.key
    table = mutant.table()
    for job, now in larger()[step]:
        for event in events(step, intent):
            true, _ = advance(job, now, event, TABLE)
            same, _ = advance(job, now, event, table)
            assert replace(same, **_NO_MATTER) == replace(true, **_NO_MATTER), f"{mutant} lives"
    if intent is Intent.RESTART and step in _KEPT:
        return "a start that finds no row keeps the state, and so does this row"
    if mutant.kind == "to":
        assert mutant.what.endswith(_ONE_STEP), f"{mutant} lives"
    return _REASONS[mutant.kind]


_KEPT = (Step.SET_UP, Step.CHECK_POSITION, Step.FINISHED)
_ONE_STEP = tuple(f"to {step.value}" for step in (Step.LOCK, Step.LEAVE_OFF))
_REASONS = {
    "to": "lock and leave off are one step, and the work decides which of the two it is",
    "do": "the change sets what already stands in every state of this step",
    "when": "the condition holds in every state in which this row is come to",
    "exchanged": "no state fits both rows",
    "added": "no state is left over that the row could take",
}
_UNDER_WAY = (
    Step.TRIAL_MOVE,
    Step.CALL,
    Step.INDEX,
    Step.AT_PIN,
    Step.FREE,
    Step.BACK_OFF,
    Step.COME_UP,
)
_MEASURING = (Step.MEASURE, Step.READ_BACK, Step.UNDERSIZE)
_AT_REST = set(Step) - {*_UNDER_WAY, Step.PAUSED}
_LOCKED = (Step.RELEASE, Step.FREE, Step.GUARD, Step.CUT, *_MEASURING)


def _given_up(now: State) -> bool:
    """Where a size decides it, at its cut; of a batch anywhere."""
    if now.scrapped:
        assert now.step is Step.FINISHED and now.done == now.place + 1
    return now.scrapped or (now.step is Step.FINISHED and now.part in now.scraps)


@pytest.mark.parametrize("n", range(len(JOBS) + len(LARGER) * in_full()))
def test_what_stands_in_each_step(n: int) -> None:
    """The facts that make some mutants no different: they hold in every reachable state."""
    whole = [*JOBS, *LARGER][n]
    for now in states(n):
        job = whole.stage(now.stage)
        if now.step in _AT_REST:
            assert now.place == now.settled
        if now.step in _UNDER_WAY:
            assert now.place == now.settled + 1
        assert (now.back_to is not None) == (now.step is Step.PAUSED)
        assert now.guarded == (now.step is Step.CUT)
        if _given_up(now):
            continue
        at_its_end = now.step is Step.FINISHED and now.pass_number > job.passes
        assert now.locked <= ((now.step in _LOCKED or at_its_end) and not job.unlocked)
        if now.step in (Step.LOCK, Step.LEAVE_OFF, Step.GUARD, Step.CUT):
            assert now.done - now.recut == now.place < job.cuts
        if now.step in _MEASURING:
            assert now.done == now.place + 1
        if at_its_end:
            assert now.done == now.place + 1 == now.again
        elif now.trial and now.step is Step.CLOSING_CHECK:
            assert now.done == 0 and now.place == job.cuts
        elif now.step in (Step.CLOSING_CHECK, Step.SPARE_PASS, Step.FINISHED):
            assert now.done == now.place == job.cuts


def test_the_mutants_use_every_change_and_condition() -> None:
    """A change or a condition added to the state is mutated too."""
    used = [row for rows in TABLE.values() for row in rows]
    assert {row.do for row in used} <= set(CHANGES)
    assert {row.when for row in used} <= set(CONDITIONS)
