"""Whether phrases can be heard and told apart, with words to say instead."""

from __future__ import annotations

import difflib
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from assistant.engine.asked import COMMANDS, Command
from assistant.engine.phrases import normalise
from assistant.errors import passed_on
from assistant.files.toml_lines import parse
from assistant.hearing import vocabulary
from assistant.hearing.pronunciation import TOO_NEAR, apart, dictionary, phones, unknown_words
from assistant.hearing.vocabulary import Vocabulary
from assistant.words.language import ENGLISH, in_force


@dataclass(frozen=True)
class Doubt:
    """A phrase of line `line` (0: one of the program's own) and what is wrong with it."""

    line: int
    text: str


def doubts(file: Path | None = None) -> list[Doubt]:
    """What is to be mended in the person's phrases, by default in their own file.

    Raises Refusal as `read_vocabulary` does for a file that can't be used at all.
    """
    known = vocabulary.read_vocabulary(file)
    lines = _lines(file or vocabulary.phrases_file())
    found = [*_unknown(known, lines), *_alike(known, lines)]
    return sorted(found, key=lambda doubt: doubt.line)


def _lines(file: Path) -> dict[str, int]:
    """The line of each phrase in the file, counted from 1; empty where there is none."""
    if not file.exists():
        return {}
    text = file.read_text(encoding="utf-8")
    data: dict[str, Any] = parse(text)
    phrases = [p for several in data.values() if isinstance(several, list) for p in several]
    rows = text.splitlines()
    return {normalise(phrase): _line(rows, phrase) for phrase in phrases if isinstance(phrase, str)}


def _line(rows: list[str], phrase: str) -> int:
    quoted = (f'"{phrase}"', f"'{phrase}'")
    written = (n for n, row in enumerate(rows, 1) if any(q in row for q in quoted)
               and not row.lstrip().startswith("#"))  # fmt: skip
    return next(written, 1)


def _unknown(known: Vocabulary, lines: dict[str, int]) -> Iterator[Doubt]:
    if in_force() is not ENGLISH:
        return
    for phrase, line in lines.items():
        for word in unknown_words(phrase):
            near = difflib.get_close_matches(word, dictionary(), 2, 0.75)
            meant = f"did you mean {' or '.join(near)}? else " if near else ""
            cure = meant + _instead(known[phrase], known)
            yield Doubt(line, f"{phrase!r}: the recogniser has no word {word!r}; {cure}")


def _alike(known: Vocabulary, lines: dict[str, int]) -> Iterator[Doubt]:
    """Each phrase of the person's with the one that it is likeliest to be taken for."""
    sounds = {phrase: phones(phrase, in_force()) for phrase in known}
    told = set[frozenset[str]]()
    for phrase, line in lines.items():
        others = [other for other in known if known[other] is not known[phrase]]
        near = min(others, key=lambda other: apart(sounds[phrase], sounds[other]), default="")
        pair = frozenset((phrase, near))
        if not near or pair in told or apart(sounds[phrase], sounds[near]) >= TOO_NEAR:
            continue
        told.add(pair)
        cure = _instead(known[phrase], known)
        yield Doubt(line, f"{phrase!r} sounds like {near!r} ({known[near].value}); {cure}")


def _instead(command: Command, known: Vocabulary) -> str:
    """What to say for the command: the suggestions that lie far from all other phrases."""
    good = suggestions(command, known)
    if not good:
        return "take words with other vowels, or more of them"
    return f"say instead {' or '.join(map(repr, good))}"


def suggestions(command: Command, known: Vocabulary) -> list[str]:
    """Phrases to take for the command beside those that are known already."""
    if in_force() is not ENGLISH:
        return []
    others = [phones(phrase) for phrase, its in known.items() if its is not command]
    return [
        phrase
        for phrase in COMMANDS[command].instead
        if phrase not in known and all(apart(phones(phrase), o) >= TOO_NEAR for o in others)
    ]


def unheard_by_vosk(model: str) -> tuple[str, ...]:
    """A line for each phrase with a word that the Vosk model of the settings lacks.
    Raises Refusal for a model that can't be opened."""
    from assistant.hearing.recognisers.recogniser import EarUnusable
    from assistant.hearing.recognisers.vosk import VoskEar

    try:
        return VoskEar(model).notes
    except EarUnusable as error:
        raise passed_on(error) from error
