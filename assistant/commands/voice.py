"""`tallyhand voice`: teach the ear your voice, and have it forget you again."""

from __future__ import annotations

from argparse import Namespace
from pathlib import Path

from assistant import errors
from assistant.commands import command_line
from assistant.engine.phrases import normalise
from assistant.files.settings import load_settings
from assistant.hearing.model_files import (
    learned_classifier,
    learned_sound,
    recordings,
    voice_folder,
)
from assistant.hearing.vocabulary import Vocabulary, read_vocabulary


def main(given: Namespace) -> int:
    """Learns, forgets, or tells what is known of the voice."""
    match given.what:
        case "forget":
            return _forget()
        case "learn":
            return _learn(given)
    return _status()


def _status() -> int:
    count = len(list(recordings().glob("*.wav")))
    learned = "learned" if learned_classifier().exists() else "not learned yet"
    print(f"{count} recordings in {recordings()}; your voice is {learned}")
    return command_line.DONE


def _forget() -> int:
    from assistant.hearing.person.adapting import forget

    gone = forget(recordings(), learned_classifier(), learned_sound())
    what = "deleted recordings and what was learned" if gone else "nothing to delete"
    print(f"{what} in {voice_folder()}")
    return command_line.DONE


def _learn(given: Namespace) -> int:
    from assistant.setup.voice_lesson import learn_voice, record_phrases

    if given.folder is None:
        settings = load_settings(Path(given.config) if given.config else None)
        record_phrases(_named(read_vocabulary(), given.phrase), settings)
    learn_voice(Path(given.folder) if given.folder else recordings())
    return command_line.DONE


def _named(phrases: Vocabulary, wanted: list[str] | None) -> Vocabulary:
    """Those that were asked for by name; all where none was. Raises WrongUse."""
    names = [normalise(name) for name in wanted or phrases]
    for name in names:
        if name not in phrases:
            raise errors.WrongUse(
                f"--phrase {name!r}: no such phrase; they are {', '.join(phrases)}"
            )
    return {name: phrases[name] for name in names}
