"""What a session says, read aloud by its own voice: every sentence has a sound, none is long."""

from __future__ import annotations

import re

import pytest

from assistant.bench import language_files
from assistant.bench.at_the_bench import settings_in_language
from assistant.devices.sound.samples import loudest
from assistant.devices.speech.clear_numbers import clearly
from assistant.devices.speech.synth import choose_synth
from assistant.files.settings import Settings, settings_file
from tests.engine.everything_said import in_sentences, programmes, said, unlike
from tests.lanes import in_full, length, of_share
from tests.language.asked import questions

DEEP = length(1, 2)  # so many events beside the straight way through a job
# A sentence is heard once, over a machine. Twenty words take about eight seconds
# (tests/bench/messages.py); German words are longer, and fewer.
MOST_WORDS = {"en": 20, "de": 20}


@pytest.fixture(scope="module", params=["en", "de"])
def language(request: pytest.FixtureRequest) -> str:
    return language_files.load_language(request.param).code


@pytest.fixture(scope="module")
def sentences(language: str) -> list[str]:
    """One of each kind: the longest of those that differ in numbers alone."""
    jobs = [job for job in programmes(language) if language == "en" or _is_drawn(job.title)]
    texts = {each.text for job in jobs for each in said(job, deep=DEEP)}
    return unlike({part for text in texts for part in in_sentences(text)}, language)


def _is_drawn(title: str) -> bool:
    """A translation has the same sentences: every day those of one job in three."""
    return in_full() or of_share(title, 3) == 0


@pytest.mark.longer
def test_no_sentence_is_long(sentences: list[str], language: str) -> None:
    """Counted in words, the numbers in them spoken out."""
    assert len(sentences) > 300
    words = {text: len(re.findall(r"[\w'’-]+", text)) for text in sentences}
    assert {text: n for text, n in words.items() if n > MOST_WORDS[language]} == {}


def test_no_question_about_a_job_is_long(language: str) -> None:
    """`job new --voice` speaks them; each is in the language, and asks something."""
    asked = questions(language)
    assert len(asked) > 80
    words = {text: len(re.findall(r"[\w'’-]+", text)) for text in asked}
    assert {text: n for text, n in words.items() if n > MOST_WORDS[language]} == {}
    if language != "en":
        assert not {*asked} & {*questions("en")}


@pytest.mark.release
def test_every_sentence_has_a_sound(sentences: list[str], language: str) -> None:
    """A speech engine that swallows one would leave a person waiting beside the machine."""
    speech = settings_in_language(
        Settings(settings_file()), language_files.load_language(language)
    ).speech
    synth = choose_synth(speech)
    assert synth is not None, "espeak-ng is needed: tests/packages.txt"
    for text in (*sentences, *questions(language)):
        spoken = synth.speak(clearly(text, speech.numbers, language))
        seconds = len(spoken.pcm) / 2 / spoken.rate
        # Faster than ten words a second nothing is spoken: a sound cut short would be.
        assert loudest(spoken.pcm) > 1000 and seconds > len(text.split()) / 10, text
