"""The Vosk ear: a model that the user has fetched, held to a closed list of phrases.

Vosk takes the list as a hint only, drops words that its model lacks with no more than a
warning (of "spindle locked" might be left "locked"), dies on a list that it can't read, and
is sure of the wrong words. So every word is looked up first, a phrase that would lose one is
given up, and only a whole phrase counts.
"""

from __future__ import annotations

import importlib
import json
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from assistant.engine.events import Command
from assistant.engine.phrases import normalise
from assistant.hearing.recognisers.grammar import listened_for
from assistant.hearing.recognisers.recogniser import EarUnusable, Guess

RATE = 16000
BLOCK = 2 * RATE // 10
"""Bytes of a tenth of a second: larger pieces are decoded with a worse search."""
UNKNOWN = ("[unk]", "<UNK>", "<unk>")
"""What models call a word that is none of theirs: listed, it takes in what would otherwise be
forced into one of the phrases."""


class VoskEar:
    """`folder` is an unpacked Vosk model with a dynamic graph. Raises EarUnusable. `phrases`
    are by default those of the language in force and the person's own.

    `notes` has a line for each phrase that the model can't hear.
    """

    name = "vosk"
    quick = False

    def __init__(self, folder: str, phrases: Mapping[str, Command] | None = None) -> None:
        check_folder(folder)
        phrases = listened_for() if phrases is None else phrases
        vosk = _load()
        vosk.SetLogLevel(-1)
        try:
            self._model = vosk.Model(model_path=folder)
        except Exception as error:
            raise EarUnusable(f"{folder}: Vosk can't read this model: {error}", "") from error
        lost = {phrase: self._lacks(phrase) for phrase in phrases}
        self._phrases = {p: command for p, command in phrases.items() if not lost[p]}
        self.notes = tuple(
            f"the Vosk model has no word {words[0]!r}: {phrase!r} can't be said"
            for phrase, words in lost.items()
            if words
        )
        if not self._phrases:
            cure = "take one of the session's language"
            raise EarUnusable(f"{folder}: the model knows none of the phrases", cure)
        listed = [*self._phrases, *(name for name in UNKNOWN if not self._lacks(name))]
        self._recogniser = vosk.KaldiRecognizer(self._model, RATE, grammar_json(listed))
        self._recogniser.SetWords(True)

    def recognise(self, pcm: bytes) -> Guess:
        found: list[dict[str, Any]] = []
        for at in range(0, len(pcm), BLOCK):
            if self._recogniser.AcceptWaveform(pcm[at : at + BLOCK]):
                found += _words(self._recogniser.Result())
        found += _words(self._recogniser.FinalResult())
        text = normalise(" ".join(str(word["word"]) for word in found))
        sure = min((float(word.get("conf", 0.0)) for word in found), default=0.0)
        return Guess(text, self._phrases.get(text), sure)

    def _lacks(self, phrase: str) -> list[str]:
        """The words of a phrase that the model does not have."""
        return [w for w in phrase.split() if self._model.vosk_model_find_word(w) < 0]


def check_folder(folder: str) -> None:
    """Raises EarUnusable with the cure for a folder that holds no model of the right kind."""
    if not folder:
        raise EarUnusable("no Vosk model is named", "put its folder into [ear] vosk_model")
    place = Path(folder)
    if not place.is_dir():
        raise EarUnusable(f"{folder}: no such folder", "unpack a Vosk model there")
    if not (list(place.rglob("final.mdl"))):
        raise EarUnusable(f"{folder}: no Vosk model in it", "name the folder that holds 'am'")
    # Vosk ignores the list of phrases with any other model, and says so only in its log.
    if not all(list(place.rglob(name)) for name in ("Gr.fst", "HCLr.fst")):
        raise EarUnusable(
            f"{folder}: this Vosk model takes no list of phrases (no Gr.fst and HCLr.fst)",
            "take a small one",
        )


def grammar_json(phrases: list[str]) -> str:
    """The list as Vosk wants it. Raises ValueError for what would end the process there."""
    if not phrases or not all(phrase.strip() and "\n" not in phrase for phrase in phrases):
        raise ValueError(f"no list of phrases: {phrases!r}")
    return json.dumps(phrases, ensure_ascii=False)


def _words(result: str) -> list[dict[str, Any]]:
    words: list[dict[str, Any]] = json.loads(result).get("result", [])
    return words


def _load() -> Any:
    try:
        return importlib.import_module("vosk")
    except (ImportError, OSError) as error:
        raise EarUnusable(f"no Vosk: {error}", "install vosk") from error
