"""What the voices say for the phone network: phrases, near misses, talk, and numbers."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from assistant.hearing.phones.network import PHONES
from assistant.hearing.phones.scoring import Sounds
from assistant.hearing.training import sentences
from assistant.hearing.training.noises import Random

KINDS = ("phrase", "near", "word", "talk", "number", "human")
"""Of the texts; "human" are the words by people."""

_DIGITS = ("zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine")
_TEENS = ("ten", "eleven", "twelve", "thirteen", "fourteen", "fifteen", "sixteen", "seventeen",
          "eighteen", "nineteen")  # fmt: skip
_TENS = ("twenty", "thirty", "forty", "fifty", "sixty", "seventy", "eighty", "ninety")
_UNITS = ("thou", "millimetres", "inches", "degrees", "inch", "millimetre", "degree")
_ALONE = (*_DIGITS, *_TEENS, *_TENS, "oh", "nought", "point", "thou", "hundred", "minus")

_SAME = {"ᵊ": "ə", "ɐ": "ə", "ᵻ": "ɪ", "a": "æ", "T": "t", "Q": "O", "r": "ɹ", "g": "ɡ", "ɾ": "t"}
_MOST_LETTERS, _MOST_WORDS = 110, 14


@dataclass(frozen=True, slots=True)
class Text:
    """`phrase` is its place among the phrases, -1 for none of them."""

    words: str
    kind: str
    phrase: int = -1


def sounds_of(spoken: str) -> Sounds:
    """Numbers of the phones in a pronunciation, stress, length and stops dropped."""
    letters = (_SAME.get(letter, letter) for letter in spoken)
    return tuple(PHONES.index(letter) + 1 for letter in letters if letter in PHONES)


def any_of(rng: Random, several: Sequence[str]) -> str:
    """Any of them, each as likely."""
    return several[int(rng.integers(len(several)))]


def random_text(rng: Random, phrases: Sequence[str], strict: Sequence[str]) -> Text:
    """34 of 100 a phrase (one of `strict` twice as often), 15 a near miss, 7 a word, 19 talk,
    25 a number."""
    kind, listed = rng.random(), list(phrases)
    if kind < 0.34:
        phrase = any_of(rng, [*phrases, *strict])
        return Text(phrase, "phrase", listed.index(phrase))
    if kind < 0.49:
        return _plain(sentences.near_miss(rng, listed), "near")
    if kind < 0.56:
        return _plain(any_of(rng, sentences.single_words(rng, 12, listed)), "word")
    if kind < 0.75:
        return _plain(_talk(rng, tuple(phrases)), "talk")
    return _plain(random_size(rng), "number")


def short_text(rng: Random, phrases: Sequence[str]) -> Text:
    """38 of 100 a number, 12 a phrase, 42 one to five words of the dictionary, 8 a near miss."""
    kind, listed = rng.random(), list(phrases)
    if kind < 0.38:
        return _plain(random_size(rng), "number")
    if kind < 0.5:
        phrase = any_of(rng, listed)
        return Text(phrase, "phrase", listed.index(phrase))
    if kind < 0.92:
        return _plain(sentences.random_words(rng), "word")
    return _plain(sentences.near_miss(rng, listed), "near")


def _talk(rng: Random, phrases: tuple[str, ...]) -> str:
    if rng.random() < 0.6:
        return sentences.random_sentence(rng)
    if rng.random() < 0.7:
        return sentences.random_words(rng)
    return any_of(rng, sentences.announcements(phrases))


def _plain(words: str, kind: str) -> Text:
    kept = "".join(letter for letter in words if letter.isalpha() or letter in " ,.'")
    if len(kept) > _MOST_LETTERS:
        kept = " ".join(kept.split()[:_MOST_WORDS])
    return Text(kept, kind)


def random_size(rng: Random) -> str:
    """A size in one of the ways in which it is said, a single number word, or several figures."""
    after = " ".join(_figure(rng) for _ in range(rng.integers(1, 5)))
    ways: tuple[Callable[[], str], ...] = (
        lambda: f"{_low(rng)} point {after}",
        lambda: f"{_low(rng)} point {after}",
        lambda: f"{any_of(rng, _DIGITS[1:])} {any_of(rng, _DIGITS)} point {after}",
        lambda: f"point {after}",
        lambda: f"{any_of(rng, _DIGITS[1:])} hundred and {_low(rng)}",
        lambda: f"{_low(rng)} hundred {_low(rng)}",
        lambda: _low(rng),
        lambda: " ".join(_figure(rng) for _ in range(rng.integers(2, 6))),
        lambda: _figure(rng),
        lambda: any_of(rng, _ALONE),
        lambda: f"minus {_low(rng)}",
        lambda: f"zero point {after}",
    )
    way = int(rng.integers(len(ways)))
    said = ways[way]()
    takes_unit = way not in (3, 8, 9)
    return f"{said} {any_of(rng, _UNITS)}" if takes_unit and rng.random() < 0.45 else said


def _figure(rng: Random) -> str:
    return any_of(rng, (*_DIGITS, "oh", "nought") if rng.random() < 0.35 else _DIGITS[1:])


def _low(rng: Random) -> str:
    ways: tuple[Callable[[], str], ...] = (
        lambda: any_of(rng, _DIGITS[1:]),
        lambda: any_of(rng, _TEENS),
        lambda: f"{any_of(rng, _TENS)} {any_of(rng, _DIGITS[1:])}",
        lambda: any_of(rng, _TENS),
    )
    return ways[rng.integers(len(ways))]()
