"""The language that a session speaks: English sentences are the keys to those of another.

Code says `say("Cut {n} of {total}.", n=..., total=...)`; a catalogue of gettext holds the same
sentence in another language, its parts in the order that it needs. Which language is in force
is an argument like any other: `speaking(code)` wraps what renders, so the engine stays pure.
The catalogues are read by `assistant.bench.language_files`, before a session begins.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
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


def say(text: str, /, **parts: object) -> str:
    """The sentence in the language in force, its {parts} filled in. Nothing stays nothing: a
    catalogue keeps its own header under ""."""
    found = _in_force.get().single(text) if text else ""
    return found.format(**parts) if parts else found


def say_n(n: int, one: str, many: str, /, **parts: object) -> str:
    """The same by number: `one` for a single thing, `many` with {count} in words for others."""
    found = _in_force.get().plural(one, many, n)
    return found.format(count=number(n), **parts)


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


@cache
def _number(value: int, words_of: str) -> str:
    if not words_of:
        return str(value)
    words = str(num2words(value, lang=words_of))
    return words.replace(",", "").replace(" and ", " ") if words_of == "en" else words
