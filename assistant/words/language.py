"""The language that a session speaks: English sentences are the keys to those of another.

Code says `say("Cut {n} of {total}.", n=..., total=...)`; a catalogue of gettext holds the same
sentence in another language, its parts in the order that it needs. Which language is in force
is an argument like any other: `speaking(code)` wraps what renders, so the engine stays pure.
The catalogues are read by `assistant.bench.language_files`, before a session begins.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import dataclass, field, replace
from functools import cache

from num2words import num2words


def _as_it_is(text: str) -> str:
    return text


def _one_or_many(one: str, many: str, n: int) -> str:
    return one if n == 1 else many


@dataclass(frozen=True)
class Language:
    """`code` as in the settings, `numbers` as num2words names it ("": figures are left to the
    voice), `voice` one of espeak-ng, `phrases` what is listened for by the command's name.
    `written`: numbers and sizes are for the eye, in figures."""

    code: str = "en"
    name: str = "English"
    voice: str = "en-us"
    numbers: str = "en"
    phrases: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    single: Callable[[str], str] = _as_it_is
    plural: Callable[[str, str, int], str] = _one_or_many
    written: bool = False


ENGLISH = Language()
_known: dict[str, Language] = {ENGLISH.code: ENGLISH}
_in_force: ContextVar[Language] = ContextVar("language", default=ENGLISH)


def learn(language: Language) -> None:
    """From now on `speaking(language.code)` speaks it."""
    _known[language.code] = language


def known(code: str) -> Language:
    """The language of that code; English where it was not learned."""
    return _known.get(code, ENGLISH)


def learned_languages() -> tuple[Language, ...]:
    """Every language learned so far, English among them."""
    return tuple(_known.values())


def in_force() -> Language:
    """The language of the innermost `speaking`; English outside of any."""
    return _in_force.get()


@contextmanager
def speaking(code: str) -> Iterator[Language]:
    """Within it `say` and `say_n` give that language, in this thread alone."""
    language = known(code)
    before = _in_force.set(language)
    try:
        yield language
    finally:
        _in_force.reset(before)


class Spelt(str):
    """A number in words of another language, and the same in `english`: a sentence that has no
    translation takes that."""

    __slots__ = ("english",)
    english: str

    def __new__(cls, words: str, english: str) -> Spelt:
        made = super().__new__(cls, words)
        made.english = english
        return made


def say(text: str, /, **parts: object) -> str:
    """The sentence in the language in force, its {parts} filled in; where it has no translation
    there, all English, its numbers too. Nothing stays nothing: a catalogue keeps its own header
    under ""."""
    language = _in_force.get()
    found = language.single(text) if text else ""
    if not parts:
        return found
    is_english = found is text and language.code != ENGLISH.code  # gettext gives it back itself
    return found.format(**(_in_english(parts) if is_english else parts))


def say_n(n: int, one: str, many: str, /, **parts: object) -> str:
    """The same by number: `one` for a single thing, `many` with {count} in words for others."""
    language = _in_force.get()
    found, parts = language.plural(one, many, n), {"count": number(n), **parts}
    is_english = (found is one or found is many) and language.code != ENGLISH.code
    return found.format(**(_in_english(parts) if is_english else parts))


def _in_english(parts: Mapping[str, object]) -> dict[str, object]:
    return {name: part.english if isinstance(part, Spelt) else part for name, part in parts.items()}


def mark(text: str) -> str:
    """Marks a text for the catalogue that is only said later, by `say` of a variable."""
    return text


@contextmanager
def on_paper() -> Iterator[None]:
    """Within it numbers and sizes are figures, "25 mm" and not "twenty-five millimetres": what is
    read stands shorter than what is heard. In this thread alone."""
    before = _in_force.set(replace(_in_force.get(), written=True))
    try:
        yield
    finally:
        _in_force.reset(before)


def number(value: int) -> str:
    """ "forty-nine": a whole number in words of the language in force, 0 to a million."""
    language = _in_force.get()
    return str(value) if language.written else _number(value, language.numbers)


def number_by_number(values: Iterable[int]) -> str:
    """ "two five": whole numbers in words, one after the other."""
    each = [number(value) for value in values]
    words = " ".join(each)
    if not any(isinstance(one, Spelt) for one in each):
        return words
    return Spelt(words, " ".join(one.english if isinstance(one, Spelt) else one for one in each))


@cache
def _number(value: int, words_of: str) -> str:
    if words_of == ENGLISH.numbers:
        return str(num2words(value, lang=words_of)).replace(",", "").replace(" and ", " ")
    words = str(num2words(value, lang=words_of)) if words_of else str(value)
    return Spelt(words, _number(value, ENGLISH.numbers))
