"""The table itself: complete where it must be, and the drawing made from it."""

from __future__ import annotations

from pathlib import Path

import pytest

from assistant.engine.phases import ANSWERS, Intent, Step
from assistant.engine.phrases import PHRASES, command_for
from assistant.engine.transitions import TABLE
from assistant.tools.diagram import session_page

DOCS = Path(__file__).parents[2] / "docs"


def test_the_drawing_is_the_table() -> None:
    """docs/session.md says what the table says; made by `assistant.tools.diagram`."""
    assert (DOCS / "session.md").read_text("utf-8") == session_page()


def test_a_restart_is_heeded_at_every_step() -> None:
    """No state may be one that the program can't come back to."""
    assert all((step, Intent.RESTART) in TABLE for step in Step)


def test_every_question_has_one_phrase_of_its_own() -> None:
    """Lock and guard are answered by phrases that answer nothing else."""
    assert set(ANSWERS) == set(Step) - {Step.FINISHED}
    for step, command in ANSWERS.items():
        others = {other for other, answer in ANSWERS.items() if answer is command} - {step}
        lock_off = (Step.RELEASE, Step.FREE, Step.LEAVE_OFF, Step.TRIAL_CLEAR)
        lock_on = (Step.LOCK, Step.CALL)  # the call of the short cycle ends in the lock
        pin_in = (Step.INDEX, Step.AT_PIN, Step.COME_UP, Step.TRIAL_MOVE)
        place = (Step.CHECK_POSITION, Step.RECOUNT)
        set_so = (Step.SET_UP, Step.SPARE_PASS)
        assert not others or step in (*lock_off, *lock_on, *pin_in, *place, *set_so)


def test_phrases_are_two_to_four_words_and_none_stands_inside_another() -> None:
    """Short single words can't be trusted in noise; a phrase inside another could fire early."""
    phrases = [phrase for several in PHRASES.values() for phrase in several]
    assert len(set(phrases)) == len(phrases)
    for phrase in phrases:
        assert 2 <= len(phrase.split()) <= 4
        assert not any(f" {phrase} " in f" {other} " for other in phrases if other != phrase)


@pytest.mark.parametrize("bare", ["yes", "no", "ok", "done", "locked", "guard", "spindle", ""])
def test_a_bare_word_is_no_command(bare: str) -> None:
    """A confirmation must name the thing confirmed."""
    assert command_for(bare) is None
