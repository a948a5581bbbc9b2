"""`tallyhand phrases`: are the phrases known to the recogniser, and far enough apart in sound?"""

from __future__ import annotations

from argparse import Namespace
from pathlib import Path

from assistant.bench.language_files import choose
from assistant.commands import command_line
from assistant.engine.events import Command
from assistant.files.settings import Settings, load_settings
from assistant.hearing import phrase_check, vocabulary
from assistant.words.language import speaking


def main(given: Namespace) -> int:
    """Checks, lists or suggests phrases in the language of the settings; 1 where a check
    found something.
    """
    settings = load_settings(Path(given.config) if given.config else None)
    file = Path(given.file) if given.file else None
    with speaking(choose(settings.speech.language, settings.file).code):
        if given.action == "check":
            return _check(file, settings)
        return _list(file) if given.action == "list" else _suggest(file)


def _check(file: Path | None, settings: Settings) -> int:
    doubts = phrase_check.doubts(file)
    where = file or vocabulary.phrases_file()
    for doubt in doubts:
        command_line.complain(f"{where} line {doubt.line}: {doubt.text}")
    missing = (
        phrase_check.unheard_by_vosk(settings.ear.vosk_model) if settings.ear.vosk_model else ()
    )
    for line in missing:
        command_line.complain(line)
    if doubts or missing:
        return command_line.REFUSED
    print(f"{len(vocabulary.read_vocabulary(file))} phrases, all known and well apart in sound.")
    return command_line.DONE


def _list(file: Path | None) -> int:
    known = vocabulary.read_vocabulary(file)
    for command in Command:
        print(f"{command.value:<14} {', '.join(p for p, its in known.items() if its is command)}")
    return command_line.DONE


def _suggest(file: Path | None) -> int:
    known = vocabulary.read_vocabulary(file)
    for command in Command:
        print(f"{command.value:<14} {', '.join(phrase_check.suggestions(command, known))}")
    return command_line.DONE
