"""`tallyhand voice`: teach the ear your voice, and have it forget you again."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

from assistant import cli
from assistant.hearing import own_voice
from assistant.hearing.places import SHIPPED, own_folder, own_head, recordings
from assistant.hearing.vocabulary import Vocabulary
from assistant.hearing.vocabulary import read as read_vocabulary
from assistant.settings import load

if TYPE_CHECKING:
    from assistant.devices.recorder import Recorder

WAIT_S = 12.0


def main(words: list[str]) -> int:
    given = _parser().parse_args(words)
    match given.what:
        case "forget":
            return _forget()
        case "learn":
            return _learn(given.folder, given.config)
    return _status()


def _parser() -> cli.Parser:
    parser = cli.Parser(
        "voice",
        "Teach the ear your voice: three recordings of each phrase, kept on this machine only. "
        "`learn` records and learns, `forget` deletes recordings and what was learned.",
        "tallyhand voice learn",
    )
    parser.add_argument("what", choices=["status", "learn", "forget"], nargs="?", default="status")
    parser.add_argument("--from", dest="folder", metavar="DIR", help="learn from these WAV files")
    parser.add_argument("--config", metavar="FILE", help="settings file (else your own, if any)")
    return parser


def _status() -> int:
    count = len(list(recordings().glob("*.wav")))
    learned = "learned" if own_head().exists() else "not learned: the ear knows voices in general"
    print(f"{count} recordings in {recordings()}; your voice is {learned}")
    return cli.DONE


def _forget() -> int:
    from assistant.hearing.adapting import forget

    gone = forget(own_folder())
    print(f"deleted {own_folder()}" if gone else f"nothing to delete in {own_folder()}")
    return cli.DONE


def _learn(folder: str | None, config: str | None) -> int:
    from assistant.hearing.adapting import adapt
    from assistant.hearing.head import load as load_head
    from assistant.hearing.head import save

    phrases = read_vocabulary()
    if folder is None:
        _record(phrases, config)
    place = Path(folder) if folder else recordings()
    if not place.is_dir():
        raise cli.Refusal(f"{place}: no such folder; name one with recordings")
    sounds = own_voice.kept(place, sorted(phrases))
    head = adapt(load_head(SHIPPED), sounds, lambda line: print(line, flush=True))
    save(head, own_head())
    print(f"learned from {sum(map(len, sounds.values()))} recordings. Kept in {own_head()}")
    return cli.DONE


def _record(phrases: Vocabulary, config: str | None) -> None:
    from assistant.devices.recorder import NoMicrophoneError, Recorder
    from assistant.devices.sound import NoSoundError

    try:
        recorder = Recorder(load(Path(config) if config else None))
    except NoSoundError as error:
        raise cli.Refusal(str(error)) from error
    try:
        for phrase in sorted(phrases):
            for number in range(1, own_voice.WANTED + 1):
                _one(recorder, phrase, number)
    except NoMicrophoneError as error:
        raise cli.Refusal(str(error)) from error
    finally:
        recorder.close()


def _one(recorder: Recorder, phrase: str, number: int) -> None:
    print(f"Say: {phrase}  ({number} of {own_voice.WANTED})", flush=True)
    pcm = recorder.utterance(WAIT_S)
    if pcm is None:
        print("Nothing was heard: this one is left out.", flush=True)
        return
    own_voice.keep(recordings(), phrase, number, pcm)
