"""An answer far under the person's own time is asked once more; who did it is not held up."""

from __future__ import annotations

from dataclasses import replace

import pytest

from assistant.engine import own_time
from assistant.engine.answers import said_s, usually_said_s
from assistant.engine.engine import Refuse, advance
from assistant.engine.events import Command, Gesture, Ground, PedalUsed, PhraseHeard
from assistant.engine.pace import is_brief
from assistant.engine.phases import Step
from assistant.engine.state import State
from assistant.engine.wording import question
from assistant.job.programme import heeding
from tests.engine.jobs import programme
from tests.engine.test_pace import Paced as Played

JOB = programme(9)


def press(took: float) -> PedalUsed:
    return PedalUsed(0.0, Gesture.PRESS, took=took)


def at_the_guard(*hands: float) -> Played:
    """At the guard of a cut, after so many answers to it before; each took that long once said."""
    played = Played(JOB)
    for seconds in hands:
        played.to(Step.GUARD)
        played.feed(press(seconds + usually_said_s(JOB, played.state)))
    return played.to(Step.RELEASE).to(Step.GUARD)


def test_half_of_the_own_usual_time_is_asked_once_more() -> None:
    """Nothing changes; the question comes again in whole sentences, and then it counts."""
    played = at_the_guard(4.0, 3.0, 5.0)
    before = replace(played.state, said="")
    least = own_time.least(JOB, played.state)
    assert least == pytest.approx(said_s(JOB, played.state) + 2.0)
    played.feed(press(least - 0.1))
    assert replace(played.state, said="") == before
    refused = next(each for each in played.effects if isinstance(each, Refuse))
    assert refused.ground is Ground.TOO_QUICK
    assert played.said == ["That was quick. Lock lever tight? Guard closed, hands clear?"]
    assert played.feed(press(least + 0.1)).state.step is Step.CUT


def test_a_phrase_is_measured_as_a_foot_is() -> None:
    played = at_the_guard(4.0, 4.0, 4.0)
    said = PhraseHeard(0.0, "guard closed", Command.GUARDED, took=1.5)
    _, effects = advance(JOB, played.state, said)
    assert any(isinstance(each, Refuse) for each in effects)
    assert played.feed(replace(said, took=9.0)).state.step is Step.CUT


@pytest.mark.parametrize(("hands", "took"), [((4.0, 4.0), 0.5), ((4.0, 4.0, 4.0), 0.0)])
def test_what_is_not_known_is_no_measure(hands: tuple[float, ...], took: float) -> None:
    """Two answers are too few, and how long a script's answers take is not told."""
    assert at_the_guard(*hands).feed(press(took)).state.step is Step.CUT


def test_who_grows_quicker_is_followed() -> None:
    """Each time two thirds of the time before: never asked twice, and the measure goes down."""
    played = at_the_guard(6.0, 6.0, 6.0)
    for seconds in (4.0, 4.0, 4.0):
        played.to(Step.GUARD)
        took = seconds + usually_said_s(JOB, played.state)
        assert played.feed(press(took)).state.step is Step.CUT
        played.to(Step.RELEASE)
    times = dict(played.state.answer_times)
    assert times[Step.GUARD] == (6.0, 6.0, 4.0, 4.0, 4.0)


def test_only_an_answer_is_measured() -> None:
    """A pause, an overshoot, a way back out of a question are none; another move is no measure."""
    played = at_the_guard(4.0, 4.0, 4.0)
    known = played.state.answer_times
    played.feed(PedalUsed(0.0, Gesture.HOLD, took=1.0))
    assert played.state.step is Step.PAUSED and played.state.answer_times == known
    times = ((Step.INDEX.value, (9.0, 9.0, 9.0)),)
    longer = JOB.moves[4]._replace(turns=JOB.moves[4].turns + 3)
    uneven = replace(JOB, moves=(*JOB.moves[:4], longer, *JOB.moves[5:]))
    for place, measured in ((1, False), (4, True), (5, False), (6, False), (7, True)):
        state = State(step=Step.INDEX, place=place, answer_times=times)
        assert (own_time.least(uneven, state) > 0) is measured, place


def test_the_times_are_kept_with_the_job() -> None:
    state = at_the_guard(4.0, 4.0).state
    assert dict(state.answer_times)[Step.GUARD] == (4.0, 4.0)
    assert State.from_record(state.to_record()) == state


def test_a_foot_that_hears_each_sentence_out_is_never_asked_again() -> None:
    """0.6 s after the last word each time, as long as the program's own voice took on real sound:
    whole sentences 0.085 s a letter, few words 0.03 to 0.045."""
    job, brief = heeding(JOB, whole_cuts=3, remind_every=0), 0
    played = Played(job)
    while played.state.step is not Step.CLOSING_CHECK:
        brief += is_brief(job, played.state)
        letter = 0.036 if is_brief(job, played.state) else 0.085
        at = letter * len(question(job, played.state)) + 0.6
        played.feed(PedalUsed(0.0, Gesture.PRESS, waited=60.0, took=at))
        assert not any(isinstance(each, Refuse) for each in played.effects), played.said
    assert brief == 18


def test_who_was_asked_once_more_does_not_seem_slow() -> None:
    """The answer to the second asking has the first in it, and is no measure of the hands."""
    played = at_the_guard(4.0, 4.0, 4.0)
    known = played.state.answer_times
    assert played.feed(PedalUsed(0.0, Gesture.PRESS, waited=6.0, took=9.0)).state.step is Step.CUT
    assert played.state.answer_times == known
