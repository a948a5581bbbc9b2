"""A number that is spoken can't be taken for another: teens and tens differ in more than an end."""

from __future__ import annotations

from itertools import combinations

import pytest

from assistant.bench import language_files
from assistant.devices.speech.clear_numbers import MANNERS, clearly, mistakable
from assistant.files.settings import SpeechSettings
from assistant.words.language import number, speaking

TEENS_AND_TENS = [(10 + n, 10 * n) for n in range(3, 10)]


@pytest.fixture(params=["en", "de"])
def language(request: pytest.FixtureRequest) -> str:
    language_files.load_language(request.param)
    return str(request.param)


def form(value: int, manner: str, language: str) -> str:
    with speaking(language):
        return clearly(f"{number(value)} x", manner, language).removesuffix(" x").rstrip(",")


@pytest.mark.parametrize("manner", MANNERS)
def test_no_two_numbers_share_a_form(language: str, manner: str) -> None:
    """Every count from 0 to 400 is said in a way of its own."""
    forms = [form(value, manner, language) for value in range(401)]
    assert len(set(forms)) == len(forms)


@pytest.mark.parametrize("manner", ["sure", "digits"])
def test_a_teen_and_its_ten_differ_in_more_than_the_end(language: str, manner: str) -> None:
    """Two words or more apart, one of them a digit that neither shares: fifteen, one five and
    fifty, five zero."""
    assert SpeechSettings().numbers == "sure"
    for teen, ten in TEENS_AND_TENS:
        assert mistakable(teen) and mistakable(ten)
        said = [form(value, manner, language).replace(",", "").split() for value in (teen, ten)]
        changed = sum(a != b for a, b in zip(*said, strict=True))
        assert changed >= 2, said
    for hundreds in (100, 300):
        pairs = combinations((hundreds + 15, hundreds + 50), 2)
        for one, other in pairs:
            assert form(one, manner, language) != form(other, manner, language)


def test_the_sentence_round_the_number_stays(language: str) -> None:
    """Only the number is said twice, with a pause; a number that is clear is left alone."""
    if language == "en":
        assert clearly(
            "Four turns, then fifteen holes on the forty-nine circle.", "sure", "en"
        ) == ("Four turns, then fifteen, one five, holes on the forty-nine circle.")
        assert clearly("The scale should read fifty degrees.", "digits", "en") == (
            "The scale should read five zero degrees."
        )
        assert clearly("Weight on a stone, forties and teens.", "sure", "en") == (
            "Weight on a stone, forties and teens."
        )
    else:
        assert clearly("Vierzehn Löcher auf Lochkreis neunzehn.", "sure", "de") == (
            "Vierzehn, eins vier, Löcher auf Lochkreis neunzehn, eins neun."
        )


def test_plain_is_as_it_is_written(language: str) -> None:
    """And a language whose numbers are left in figures is read as it stands."""
    text = "Fifteen, fünfzehn, 15."
    assert clearly(text, "plain", language) == text
