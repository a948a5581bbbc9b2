"""What became of the last thing heard: decided where it is decided, not read out of a sentence."""

from __future__ import annotations

from pathlib import Path

import pytest

from assistant.bench.language_files import choose
from assistant.bench.session import heard_of
from assistant.engine.engine import Effect, Refuse, Say
from assistant.engine.events import Command, Event, Ground, PhraseHeard, SessionStarted, SizeGiven
from assistant.engine.view import NOTHING_HEARD, Verdict
from assistant.words.language import speaking

REFUSED: list[Effect] = [Refuse(Ground.NOT_NOW, "no"), Say("First the lock.", "no")]
TAKEN: list[Effect] = [Say("Guard?", "question")]


@pytest.mark.parametrize("language", ["en", "de"])
@pytest.mark.parametrize(
    ("effects", "verdict"),
    [(REFUSED, Verdict.REFUSED), (TAKEN, Verdict.TAKEN), ([], Verdict.OTHER)],
)
@pytest.mark.parametrize("words", ["spindle locked", "the crate, taken", "the crate, refused"])
def test_words_that_sound_like_a_verdict_are_none(
    words: str, effects: list[Effect], verdict: Verdict, language: str
) -> None:
    """Somebody beside the mill says "refused", and a phrase of one's own may end so."""
    with speaking(choose(language, Path("tallyhand.toml")).code):
        heard = heard_of(PhraseHeard(0.0, words, Command.LOCKED), effects)
    assert words in heard.words and heard.verdict is verdict


@pytest.mark.parametrize(
    ("event", "wanted"),
    [(SizeGiven(0.0, "18.3", "mm"), Verdict.TAKEN), (SessionStarted(0.0), None)],
)
def test_only_what_a_person_did_has_a_verdict(event: Event, wanted: Verdict | None) -> None:
    heard = heard_of(event, TAKEN)
    assert heard.verdict is wanted and (heard == NOTHING_HEARD) is (wanted is None)
