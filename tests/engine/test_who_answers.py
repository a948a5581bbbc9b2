"""What may answer for lock and guard: as the person chose, and nobody is shut out."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from assistant.bench.language_files import choose
from assistant.engine import wording
from assistant.engine.engine import Refuse, Say, advance
from assistant.engine.events import (
    Command,
    Device,
    DeviceLost,
    DeviceReturned,
    Event,
    Gesture,
    Ground,
    PedalUsed,
    PhraseHeard,
    SessionStarted,
    TrustChanged,
)
from assistant.engine.phases import ANSWERS, Step
from assistant.engine.state import State
from assistant.job.programme import Programme, heeding
from tests.engine.jobs import programme

PRESS = PedalUsed(0.0, Gesture.PRESS)
KEY, PAGE = (replace(PRESS, source=source) for source in ("keyboard", "page"))
ASKED = (Step.LOCK, Step.GUARD, Step.CALL, Step.LEAVE_OFF)
HANDS = ("pedal", "keyboard", "page")


def spoken(state: State, source: str = "voice") -> PhraseHeard:
    command = ANSWERS[state.step]
    return PhraseHeard(0.0, command.value, command, source=source)


def answer(state: State, source: str) -> Event:
    return spoken(state) if source == "voice" else replace(PRESS, source=source)


def asked_at(step: Step, who: str, ears: str = "head") -> tuple[Programme, State]:
    """A job that allows these answers, at the first question of that kind."""
    job = programme(4, unlocked=step is Step.LEAVE_OFF, whole_cuts=int(step is Step.CALL))
    state, _ = advance(job, State(), SessionStarted(0.0, ears))
    while state.step is not step:
        state, _ = advance(job, state, PRESS)
    return heeding(job, lock_and_guard=who), state


def counts(job: Programme, state: State, event: Event) -> bool:
    new, effects = advance(job, state, event)
    grounds = [each.ground for each in effects if isinstance(each, Refuse)]
    assert (new == state) is bool(grounds)
    assert not grounds or grounds == [Ground.NOT_FROM_THERE]
    return not grounds


@pytest.mark.parametrize("step", ASKED)
@pytest.mark.parametrize(
    ("who", "allowed"),
    [("pedal", HANDS), ("voice", ("voice",)), ("both", (*HANDS, "voice"))],
)
def test_only_what_was_chosen_answers(step: Step, who: str, allowed: tuple[str, ...]) -> None:
    """Keys and page count with the pedal."""
    job, state = asked_at(step, who)
    for source in (*HANDS, "voice"):
        assert counts(job, state, answer(state, source)) is (source in allowed), source


@pytest.mark.parametrize("who", ["pedal", "voice"])
def test_all_else_is_answered_as_before(who: str) -> None:
    """The cut, the set-up, and every question: by foot and by voice."""
    job = heeding(programme(4), lock_and_guard=who)
    state, _ = advance(job, State(), SessionStarted(0.0, "head"))
    while state.step is not Step.FINISHED:
        careful = state.step in ASKED
        for source in (who,) if careful else ("pedal", "voice"):
            assert counts(job, state, answer(state, source)), (state.step, source)
        assert counts(job, state, PhraseHeard(0.0, "where", Command.WHERE_AM_I))
        assert counts(job, state, PhraseHeard(0.0, "pause", Command.PAUSE))
        state, _ = advance(job, state, answer(state, who))


@pytest.mark.parametrize("lost", [Device.EAR, Device.MICROPHONE])
def test_where_nobody_hears_the_voice_all_else_serves(lost: Device) -> None:
    """Only until it is heard again. The sentences then ask for a press, by pedal or key."""
    job, state = asked_at(Step.LOCK, "voice")
    state, _ = advance(job, state, DeviceLost(0.0, lost, "unplugged"))
    assert counts(job, state, KEY) and counts(job, state, PAGE)
    assert counts(job, state, PRESS)
    state, _ = advance(job, state, DeviceReturned(0.0, lost))
    assert not counts(job, state, KEY)


def test_without_an_ear_and_in_a_loud_shop_the_keys_serve() -> None:
    deaf = asked_at(Step.LOCK, "voice", "none")
    assert counts(*deaf, KEY)
    job, state = asked_at(Step.GUARD, "voice")
    state, _ = advance(job, state, TrustChanged(0.0, False))
    assert counts(job, state, KEY)


def test_a_lost_pedal_leaves_the_keys() -> None:
    job, state = asked_at(Step.LOCK, "pedal")
    state, _ = advance(job, state, DeviceLost(0.0, Device.PEDAL, "unplugged"))
    assert counts(job, state, KEY) and not counts(job, state, spoken(state))


def test_a_typed_phrase_is_an_answer_of_the_keys() -> None:
    job, state = asked_at(Step.LOCK, "pedal")
    assert counts(job, state, spoken(state, "keyboard"))


def words(job: Programme, state: State, event: Event) -> str:
    _, effects = advance(job, state, event)
    return " ".join(each.text for each in effects if isinstance(each, Say))


def test_the_refusal_names_what_is_allowed_and_no_question_names_what_is_not() -> None:
    job, state = asked_at(Step.LOCK, "pedal")
    assert "Press the pedal, or a key." in words(job, state, spoken(state))
    german = replace(job, language=choose("de", Path("tallyhand.toml")).code)
    assert "Pedal" in words(german, state, spoken(state))
    assert wording.question(job, state).endswith(" Press.")
    driven, left_off = asked_at(Step.LEAVE_OFF, "pedal")
    assert wording.question(driven, left_off).endswith(" Press.")
    by_voice, state = asked_at(Step.LOCK, "voice")
    assert "by voice alone" in words(by_voice, state, PRESS)
    assert wording.question(by_voice, state).endswith(" Say spindle locked.")
    unheard = replace(state, deaf=True)
    assert wording.question(by_voice, unheard).endswith(" Press.")


def test_the_choice_is_kept_with_the_job_and_an_older_one_takes_both() -> None:
    job = heeding(programme(4, then=programme(3)), lock_and_guard="pedal")
    kept = Programme.from_record(job.to_record())
    assert kept.then is not None
    assert (kept.answers.lock_and_guard, kept.then.answers.lock_and_guard) == ("pedal", "pedal")
    old = programme(4).to_record()
    assert "lock_and_guard" not in old
    assert Programme.from_record(old).answers.lock_and_guard == "both"
