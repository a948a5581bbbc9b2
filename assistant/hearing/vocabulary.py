"""The phrases that a classifier knows: those of the program, and the user's own words for them.

A user's own phrases stand in `phrases.toml` beside the settings file (an example comes with
the program); a classifier that is to know them is trained on the user's machine.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

from assistant.engine.events import Command
from assistant.engine.phrases import normalise, phrases_of
from assistant.errors import Refusal
from assistant.files import file_format
from assistant.files.toml_lines import TomlFault, line_of, parse
from assistant.hearing.pronunciation import TOO_ALIKE, apart, phones
from assistant.words.language import ENGLISH, in_force

FILE_NAME = "phrases.toml"
LEAST_WORDS, MOST_WORDS = 2, 6

Vocabulary = dict[str, Command]
"""A normalised phrase to its command."""


def built_in() -> Vocabulary:
    """The phrases that the program brings, in the language in force."""
    brought = phrases_of(in_force())
    return {normalise(p): command for command, phrases in brought.items() for p in phrases}


def phrases_file() -> Path:
    """Where the user's own phrases are, beside the settings, whether the file exists or not."""
    from assistant.files.places import own_folder

    return Path(own_folder()) / FILE_NAME


def read_vocabulary(file: Path | None = None) -> Vocabulary:
    """The built-in phrases and those of `file` (by default the user's own, if there is one).

    Raises Refusal with file, line and cure for a file that can't be read, a command or a
    phrase that will not do, and two phrases of which one stands inside the other.
    """
    chosen = file or phrases_file()
    if file is None and not chosen.exists():
        return built_in()
    try:
        text = chosen.read_text(encoding="utf-8")
        data = parse(text)
    except OSError as error:
        why = error.strerror or str(error)
        raise Refusal(f"{chosen}: {why}", "name a phrases file that can be read") from error
    except (TomlFault, UnicodeDecodeError) as error:
        raise Refusal(f"{chosen}: {error}", "mend the file") from error
    try:
        file_format.take(data)
    except file_format.FormatFault as error:
        line = line_of(text, "", file_format.KEY)
        raise Refusal(f"{chosen} line {line}: {error}", "") from error
    return built_in() | _own(data, chosen, text)


def _own(data: dict[str, Any], file: Path, text: str) -> Vocabulary:
    found: Vocabulary = {}
    for name, phrases in data.items():
        place = f"{file} line {line_of(text, '', name)}"
        command = _command(name, place)
        if not isinstance(phrases, list):
            raise Refusal(f'{place}: {name} wants a list, as in {name} = ["say that again"]', "")
        for phrase in phrases:
            found[_checked(phrase, command, {**built_in(), **found}, place)] = command
    return found


def _command(name: str, place: str) -> Command:
    try:
        return Command(name)
    except ValueError as error:
        known = ", ".join(command.value for command in Command)
        raise Refusal(f"{place}: {name}: no such command", f"known are {known}") from error


def _checked(phrase: Any, command: Command, others: Vocabulary, place: str) -> str:
    words = normalise(phrase) if isinstance(phrase, str) else ""
    count = len(words.split())
    letters = words.replace(" ", "").replace("'", "").isalpha()
    if not letters or (in_force() is ENGLISH and not words.isascii()):
        kind = in_force().name
        raise Refusal(
            f"{place}: {phrase!r}", f"a phrase is {kind} words, no figures or signs", ": "
        )
    if not LEAST_WORDS <= count <= MOST_WORDS:
        raise Refusal(
            f"{place}: {phrase!r}: a phrase has {LEAST_WORDS} to {MOST_WORDS} words",
            "single words are heard in talk that means nothing of the kind",
        )
    for other, its in others.items():
        if its is not command and (f" {words} " in f" {other} " or f" {other} " in f" {words} "):
            raise Refusal(f"{place}: {phrase!r} and {other!r}: one stands inside the other", "")
        if its is not command and in_force() is ENGLISH and _alike(words, other):
            cure = "choose other words (tallyhand phrases suggest has some)"
            raise Refusal(f"{place}: {phrase!r} sounds like {other!r}", cure)
    return words


def _alike(one: str, other: str) -> bool:
    return apart(phones(one), phones(other)) < TOO_ALIKE
