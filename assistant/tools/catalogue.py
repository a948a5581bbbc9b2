"""The sentences as a catalogue for translators: gathered from the code, compiled for use.

    python -m assistant.tools.catalogue gather           # config/language/messages.pot, each .po
    python -m assistant.tools.catalogue begin xx FOLDER  # a new language's messages.po
    python -m assistant.tools.catalogue compile FOLDER   # messages.po checked, messages.mo written
    python -m assistant.tools.catalogue join MINE OTHER  # what MINE lacks, from another messages.po

It needs Babel (`pip install 'tallyhand[language]'`); a session needs only what it wrote.
"""

from __future__ import annotations

import io
import re
import sys
from collections.abc import Iterator
from copy import deepcopy
from pathlib import Path
from typing import Any

from assistant.bench.language_files import FOLDER, part_fault
from assistant.errors import Refusal
from assistant.files.places import config_folder

ROOT = Path(__file__).parents[1]
_KEYWORDS: dict[str, Any] = {"say": None, "say_n": (2, 3), "mark": None}
_IN_PAGE = re.compile(r"\{say:([^{}]*)\}")


def sentences_in_code() -> Iterator[tuple[str, int, str | tuple[str, str]]]:
    """File, line and text of every sentence, (one, many) for a plural; by file and line."""
    from babel.messages.extract import extract

    for file in sorted(ROOT.rglob("*.py")):
        name = file.relative_to(ROOT.parent).as_posix()
        with file.open("rb") as opened:
            for line, text, _, _ in extract("python", opened, _KEYWORDS):
                yield name, line, text if isinstance(text, str) else (text[0], text[1])
    for file in sorted(ROOT.rglob("*.html")):
        name = file.relative_to(ROOT.parent).as_posix()
        for line, text in enumerate(file.read_text("utf-8").splitlines(), 1):
            for found in _IN_PAGE.findall(text):
                yield name, line, found


def template() -> Any:
    """All of them as an empty catalogue, with the files that they stand in."""
    from babel.messages.catalog import Catalog

    made = Catalog(project="tallyhand", charset="utf-8", fuzzy=False, header_comment=_HEADER)
    for file, _, text in sentences_in_code():
        made.add(text, locations=[(file, 0)])
    return made


_HEADER = """# Sentences of tallyhand. {parts} in braces are filled in, in any order."""


def read_catalogue(file: Path) -> Any:
    """A messages.po. Raises Refusal."""
    from babel.messages.pofile import PoFileError, read_po

    try:
        with file.open("rb") as opened:
            return read_po(opened, abort_invalid=True)
    except (OSError, PoFileError, ValueError) as error:
        raise Refusal(f"{file}: {error}", "mend it, or begin one anew") from error


def as_po(catalogue: Any) -> bytes:
    """The text of a messages.po; the same sentences give the same text, wherever they stand.

    By their English: a sentence that moves to another file moves nothing here.
    """
    from babel.messages.pofile import write_po

    out = io.BytesIO()
    write_po(out, catalogue, width=96, omit_header=False, sort_output=True, include_lineno=False)
    text = out.getvalue().decode()
    # Dates would change with every run.
    lines = [line for line in text.splitlines() if "-Date: " not in line]
    return ("\n".join(lines).rstrip() + "\n").encode()


def as_mo(catalogue: Any) -> bytes:
    """The compiled catalogue; the same sentences give the same bytes."""
    from datetime import UTC, datetime

    from babel.messages.mofile import write_mo

    made = deepcopy(catalogue)
    # Of a plural without a translation it would write the English, as if that were one.
    for message in [each for each in made if each.id and not _whole(each)]:
        made.delete(message.id)
    # Babel would write the minute of the compiling into it.
    made.creation_date = made.revision_date = datetime(2000, 1, 1, tzinfo=UTC)
    out = io.BytesIO()
    write_mo(out, made)
    return out.getvalue()


def merged(po: Path) -> Any:
    """The translations that are there, with every sentence of the code."""
    catalogue = read_catalogue(po)
    catalogue.update(template(), no_fuzzy_matching=True, keep_user_comments=True)
    catalogue.obsolete.clear()
    return catalogue


def untranslated(catalogue: Any) -> list[str]:
    """The sentences without a translation, or without one of their two."""
    return [_english(message)[0] for message in catalogue if message.id and not _whole(message)]


def faults(catalogue: Any) -> Iterator[str]:
    """A line for each translation whose {parts} differ from those of its sentence."""
    for message in catalogue:
        for text in _texts(message) if message.id else ():
            if text and (fault := part_fault(_english(message)[-1], text)):
                yield f"{text!r}: {fault}"


def _english(message: Any) -> tuple[str, ...]:
    return message.id if isinstance(message.id, tuple) else (message.id,)


def _texts(message: Any) -> tuple[str, ...]:
    return message.string if isinstance(message.string, tuple) else (message.string,)


# --- the command ------------------------------------------------------------------------


def main(words: list[str]) -> int:
    """The exit code of one step: gather, begin, compile or join; 2 for any other word."""
    try:
        match words:
            case ["gather"]:
                _gather()
            case ["begin", code, folder]:
                _begin(code, Path(folder))
            case ["compile", folder]:
                return _compile(Path(folder))
            case ["join", mine, other]:
                _join(Path(mine), Path(other))
            case _:
                print(__doc__)
                return 2
    except (Refusal, ImportError) as error:
        cure = "; pip install 'tallyhand[language]'" if isinstance(error, ImportError) else ""
        print(f"catalogue: {error}{cure}", file=sys.stderr)
        return 1
    return 0


def _gather() -> None:
    base = config_folder() / FOLDER
    (base / "messages.pot").write_bytes(as_po(template()))
    for po in sorted(base.glob("*/messages.po")):
        po.write_bytes(as_po(merged(po)))


def _begin(code: str, folder: Path) -> None:
    from babel.messages.catalog import Catalog

    po = folder / "messages.po"
    if po.exists():
        raise Refusal(f"{po}: is there already", "compile it, or name another folder")
    try:
        catalogue = Catalog(code, project="tallyhand", charset="utf-8", fuzzy=False)
    except ValueError as error:
        raise Refusal(f"{code}: {error}", "give a language's code, as nl or pt_BR") from error
    catalogue.update(template())
    folder.mkdir(parents=True, exist_ok=True)
    po.write_bytes(as_po(catalogue))
    if not (config_folder() / FOLDER / code).exists():  # else what it says would lie over that
        (folder / "language.toml").write_text(
            f'name = "{code}"\nvoice = "{code}"     # a voice of espeak-ng\n'
            f'numbers = "{code}"   # as num2words names it; "" leaves figures to the voice\n',
            encoding="utf-8",
        )
    print(f"{po}: translate it, then: python -m assistant.tools.catalogue compile {folder}")


def _join(mine: Path, other: Path) -> None:
    """Two people, or two branches, translated: what `mine` has stays as it is."""
    catalogue = read_catalogue(mine)
    taken = 0
    for message in read_catalogue(other):
        known = catalogue.get(message.id)
        if not message.id or not _whole(message) or (known and _whole(known)):
            continue
        if known:
            known.string = message.string
        else:
            catalogue.add(message.id, message.string, message.locations)
        taken += 1
    mine.write_bytes(as_po(catalogue))
    print(f"{mine}: {taken} taken from {other}")


def _whole(message: Any) -> bool:
    return all(_texts(message))


def _compile(folder: Path) -> int:
    catalogue = read_catalogue(folder / "messages.po")
    bad = list(faults(catalogue))
    for line in bad:
        print(f"{folder / 'messages.po'}: {line}", file=sys.stderr)
    if bad:
        return 1
    (folder / "messages.mo").write_bytes(as_mo(catalogue))
    without = untranslated(catalogue)
    for sentence in without:
        print(f"not translated: {sentence!r}")
    missing = f", {len(without)} not translated" if without else ""
    print(f"{folder / 'messages.mo'}: {len(catalogue)} sentences{missing}")
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
