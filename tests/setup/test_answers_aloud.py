"""An answer by voice counts once it was read back and confirmed; keys answer at any time."""

from __future__ import annotations

import pytest

from assistant.engine.events import (
    Command,
    Device,
    DeviceLost,
    Event,
    PhraseHeard,
    SizeGiven,
    Source,
    TrustChanged,
)
from assistant.hearing.judging import TOO_FAINT
from assistant.setup.answers_aloud import Pending

ASKED = "How many flats?"


def figure(text: str, unit: str = "") -> SizeGiven:
    return SizeGiven(0.0, text, Source.VOICE, unit)


def phrase(command: Command) -> PhraseHeard:
    return PhraseHeard(0.0, "", command, 1.0, accepted=True)


def after(*events: Event | str) -> Pending:
    pending = Pending()
    for event in events:
        assert pending.line is None
        pending = pending.after(event, ASKED)
    return pending


RIGHT, DONE, BACK = map(phrase, (Command.SIZE_RIGHT, Command.CHECKED, Command.GO_BACK))


def test_a_figure_counts_once_it_is_said_to_be_right() -> None:
    heard = after(figure("21"))
    assert heard.line is None
    assert heard.words == "Twenty-one. Say reading is true, or go back one."
    assert after(figure("21"), RIGHT).line == "21"
    assert after(figure("12"), figure("21"), RIGHT).line == "21"


def test_a_unit_that_was_named_goes_with_it() -> None:
    heard = after(figure("0.75", "in"))
    assert heard.words.startswith("Zero point seven five inches.")
    assert after(figure("0.75", "in"), RIGHT).line == "0.75 in"


def test_what_was_misheard_is_taken_back_and_asked_again() -> None:
    taken = after(figure("50"), BACK)
    assert taken.line is None and taken.words == f"Taken back. {ASKED}"
    assert after(figure("50"), BACK, figure("15"), RIGHT).line == "15"


@pytest.mark.parametrize(
    "unsure",
    [figure("? fifty or"), PhraseHeard(0.0, "x", None, 0.2, accepted=False, why="not sure")],
    ids=["a figure", "a phrase"],
)
def test_what_is_not_sure_is_asked_again(unsure: Event) -> None:
    heard = after(unsure)
    assert heard.line is None and heard.words == f"I did not get that. {ASKED}"


def test_noise_is_no_answer_and_changes_nothing() -> None:
    noise = PhraseHeard(0.0, "", None, 0.0, accepted=False, why=TOO_FAINT)
    heard = after(figure("21"), noise)
    assert heard.line is None and heard.words == "" and heard.figure == "21"


def test_nothing_is_confirmed_that_was_not_given() -> None:
    """ "Reading is true" without a figure asks again; what stands in brackets has its own phrase,
    and that never takes a figure that waits to be confirmed."""
    assert after(RIGHT).line is None and after(RIGHT).words == ASKED
    assert after(DONE).line == ""
    assert after(figure("21"), DONE).line is None


def test_the_question_before_is_one_phrase_away() -> None:
    assert after(BACK).line == "<"


def test_keys_answer_at_any_time() -> None:
    assert after(" 24 h11\n").line == "24 h11"
    assert after(figure("21"), "22\n").line == "22"


def test_an_ear_that_is_gone_or_drowned_says_so() -> None:
    lost = after(DeviceLost(0.0, Device.MICROPHONE, "it was pulled"))
    assert lost.words == "I don't hear you: it was pulled. Type the figures."
    assert "type them" in after(TrustChanged(0.0, trusted=False)).words
