"""Reads a language from its folder: sentences (gettext), words of numbers, voice and phrases.

`config/language/<code>/` comes with the program; a folder `language/<code>/` beside the
settings file is taken before it. It holds `messages.mo` (made from `messages.po` by
`python -m assistant.tools.catalogue`), `language.toml` and `phrases.toml`.
"""

from __future__ import annotations

import gettext
import struct
from pathlib import Path
from string import Formatter
from typing import Any

from assistant.errors import Refusal
from assistant.files import file_format
from assistant.files.places import config_folder
from assistant.files.toml_lines import TomlFault, line_of, parse
from assistant.words.language import ENGLISH, Language, learn

FOLDER = "language"
COMPILE = "python -m assistant.tools.catalogue compile"


def choose(code: str, settings_file: Path) -> Language:
    """The language of the settings, learned for the session. Raises Refusal."""
    return load_language(code, settings_file.parent / FOLDER)


def load_language(code: str, own: Path | None = None) -> Language:
    """The language of that code; learned as well. What stands in `own` lies over what the program
    has of it: each sentence, phrase or word of the one takes the place of that of the other.

    Raises Refusal with the file and the cure for a language that is not there or whose files
    would stop a session half-way.
    """
    if code == ENGLISH.code:
        return ENGLISH
    folders = _folders(code, own)
    sentences = _laid_over(folders)
    facts: dict[str, Any] = {}
    phrases: dict[str, tuple[str, ...]] = {}
    for folder in reversed(folders):
        facts |= _facts(folder / "language.toml")
        phrases |= _phrases(folder / "phrases.toml")
    language = Language(
        code=code,
        name=_word(facts, "name", code),
        voice=_word(facts, "voice", code),
        numbers=_word(facts, "numbers", ""),
        phrases=phrases,
        single=sentences.gettext,
        plural=sentences.ngettext,
    )
    learn(language)
    return language


def codes(own: Path | None = None) -> list[str]:
    """Every language that is there."""
    found = {ENGLISH.code}
    for base in _bases(own):
        found |= {file.parent.name for file in base.glob("*/messages.mo")}
    return sorted(found)


def _bases(own: Path | None) -> list[Path]:
    return [*([own] if own else []), config_folder() / FOLDER]


def _folders(code: str, own: Path | None) -> list[Path]:
    """Those of that language, one's own first."""
    # A code is a name, not a path: nothing outside these folders is read.
    if code and code == Path(code).name:
        found = [base / code for base in _bases(own) if (base / code).is_dir()]
        if found:
            return found
    there = ", ".join(codes(own))
    where = f"; or put its folder into {own}" if own else ""
    raise Refusal(f"[speech] language = {code!r}", f"there are {there}{where}", ": ")


# --- sentences --------------------------------------------------------------------------


def _laid_over(folders: list[Path]) -> gettext.GNUTranslations:
    """The sentences of the first folder, and of the next what that one lacks. One's own may hold
    phrases alone, where the program has the sentences."""
    top, *under = [each for each in folders if _holds_sentences(each)] or folders[:1]
    found = _sentences(top / "messages.mo")
    for each in under:
        found.add_fallback(_sentences(each / "messages.mo"))
    return found


def _holds_sentences(folder: Path) -> bool:
    return any((folder / name).exists() for name in ("messages.po", "messages.mo"))


def _sentences(file: Path) -> gettext.GNUTranslations:
    try:
        with file.open("rb") as opened:
            found = gettext.GNUTranslations(opened)
    except OSError as error:
        why = error.strerror or str(error)
        raise Refusal(f"{file}: {why}", f"make it with {COMPILE} {file.parent}") from error
    except (ValueError, LookupError, struct.error) as error:
        cure = f"make it again with {COMPILE} {file.parent}"
        raise Refusal(f"{file}: no catalogue of sentences ({error})", cure) from error
    for key, translated in _entries(found):
        if fault := part_fault(key, translated):
            raise Refusal(f"{file}: {translated[:60]!r}: {fault}", "mend it in messages.po")
    return found


def _entries(found: gettext.GNUTranslations) -> list[tuple[str, str]]:
    """English and translation of every entry, each plural form by itself."""
    catalogue: dict[Any, str] = getattr(found, "_catalog", {})
    pairs = ((key[0] if isinstance(key, tuple) else key, text) for key, text in catalogue.items())
    return [(key, text) for key, text in pairs if key]


def part_fault(english: str, translated: str) -> str:
    """What is wrong with the {parts} of a translation, or nothing: a wrong one would end the
    session in the middle of a sentence."""
    try:
        parts, wanted = parts_of(translated), parts_of(english)
    except ValueError as error:
        return f"its braces don't match ({error})"
    # `count` stands in the plural form alone: English has "one turn" and "{count} turns".
    if strange := parts - wanted - {"count"}:
        return f"{{{min(strange)}}} is no part of the English sentence {english[:60]!r}"
    return ""


def parts_of(text: str) -> set[str]:
    """The {parts} of a sentence. Raises ValueError for braces that don't match."""
    found = set[str]()
    for _, name, spec, conversion in Formatter().parse(text):
        if name is None:
            continue
        if not name.isidentifier() or spec or conversion:
            raise ValueError(f"{{{name}}}")
        found.add(name)
    return found


# --- the small files --------------------------------------------------------------------


def _toml(file: Path) -> tuple[dict[str, Any], str]:
    """The data of a file and its text; nothing where there is no such file."""
    try:
        text = file.read_text(encoding="utf-8")
        return parse(text), text
    except FileNotFoundError:
        return {}, ""
    except OSError as error:
        raise Refusal(f"{file}: {error.strerror}", "make it readable") from error
    except UnicodeDecodeError as error:
        raise Refusal(f"{file}: not a text file", "save it as UTF-8") from error
    except TomlFault as fault:
        raise Refusal(f"{file} line {fault.line}: {fault}", "mend that line") from fault


def _word(facts: dict[str, Any], key: str, default: str) -> str:
    value = facts.get(key, default)
    return value if isinstance(value, str) else default


def _facts(file: Path) -> dict[str, Any]:
    """What a `language.toml` says. Raises Refusal for numbers that num2words has no words for."""
    from num2words import num2words

    facts, text = _toml(file)
    if name := _word(facts, "numbers", ""):
        try:
            num2words(15, lang=name)
        except NotImplementedError as error:
            line = line_of(text, "", "numbers")
            raise Refusal(
                f"{file} line {line}: numbers = {name!r}: num2words has no words for it",
                'write numbers = "" and the voice reads figures',
            ) from error
    return facts


def _phrases(file: Path) -> dict[str, tuple[str, ...]]:
    from assistant.engine.events import Command

    data, text = _toml(file)
    try:
        file_format.take(data)
    except file_format.FormatFault as error:
        raise Refusal(f"{file} line {line_of(text, '', file_format.KEY)}: {error}", "") from error
    known = {command.value for command in Command}
    found: dict[str, tuple[str, ...]] = {}
    for name, several in data.items():
        line = line_of(text, "", name)
        if name not in known:
            raise Refusal(f"{file} line {line}: {name}: no such command",
                          f"known are {', '.join(sorted(known))}")  # fmt: skip
        if not isinstance(several, list) or not all(isinstance(p, str) for p in several):
            raise Refusal(f'{file} line {line}: {name} wants a list, as in {name} = ["..."]', "")
        if several:
            found[name] = tuple(several)
    return found
