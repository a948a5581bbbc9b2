"""Spoken measurements: words to exact numbers."""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st
from num2words import num2words

from assistant.hearing.spoken_numbers import (
    PRONUNCIATIONS,
    SpokenNumber,
    number_from,
    number_grammar,
    number_words,
)


@pytest.mark.parametrize(
    ("said", "value", "unit"),
    [
        ("nineteen point zero five", Fraction(1905, 100), ""),
        ("one nine point oh five", Fraction(1905, 100), ""),
        ("seven hundred and fifty thou", Fraction(750), "thou"),
        ("seven hundred fifty thou", Fraction(750), "thou"),
        ("point five inch", Fraction(1, 2), "inch"),
        ("minus two thou", Fraction(-2), "thou"),
        ("under three", Fraction(-3), ""),
        ("twenty-three point four millimetres", Fraction(234, 10), "mm"),
        ("eight degrees", Fraction(8), "degree"),
        ("nought point nought one", Fraction(1, 100), ""),
    ],
)
def test_spoken_forms(said: str, value: Fraction, unit: str) -> None:
    """Each usual way to say a measurement gives its exact value (forms: common practice)."""
    assert number_from(said) == SpokenNumber(value, unit)


@pytest.mark.parametrize(
    "said",
    ["", "point", "thou", "minus", "nineteen point", "nineteen point eleven", "twenty zero",
     "hundred and five", "five hundred and", "one two three four five",
     "point one two three four five",
     "spindle locked", "two point three point four", "ninety ninety"],
)  # fmt: skip
def test_no_number(said: str) -> None:
    """Words that are no number give none, and no error: the person is asked again."""
    assert number_from(said) is None


@given(st.integers(0, 9999), st.integers(0, 9999))
def test_agrees_with_a_reference(whole: int, after: int) -> None:
    """What a general library (num2words) writes in words is read back as the same number."""
    figures = f"{after:04d}".rstrip("0")
    if whole % 1000 == 0 and whole:
        return  # "three thousand" is not among the spoken forms
    text = num2words(whole) if whole < 1000 else " ".join(num2words(int(d)) for d in str(whole))
    if figures:
        text += " point " + " ".join(num2words(int(d)) for d in figures)
    wanted = Fraction(whole) + Fraction(int(figures or 0), 10 ** len(figures))
    assert number_from(text) == SpokenNumber(wanted, "")


def test_recogniser_takes_the_grammar() -> None:
    """PocketSphinx compiles the grammar, and its dictionary knows every word."""
    from pocketsphinx import Decoder

    decoder = Decoder(lm=None, loglevel="FATAL")
    for word, phones in PRONUNCIATIONS.items():
        decoder.add_word(word, phones)
    missing = [w for w in number_words() if decoder.lookup_word(w) is None]
    assert missing == []
    decoder.add_jsgf_string("numbers", number_grammar())
    decoder.activate_search("numbers")
