"""A size as it is spoken: in one breath, or figure by figure with a pause after each.

Beside a machine single figures are heard far better than whole numbers, so the pieces of a
size are put together, and it is over when nothing follows for a while. What comes out is
read back before it counts.
"""

from __future__ import annotations

import time
from decimal import Decimal
from fractions import Fraction
from typing import TYPE_CHECKING

from assistant.engine.events import Command, SizeGiven, Source
from assistant.hearing.judging import Heard
from assistant.hearing.recognisers.recogniser import EarUnusable
from assistant.hearing.spoken_numbers import SpokenNumber, digit_words, number_from
from assistant.hearing.thresholds import FIGURE
from assistant.words.language import ENGLISH, in_force

if TYPE_CHECKING:
    from assistant.hearing.recognisers.numbers import NumberEar

OVER_S = 1.2
"""Silence after the last piece: a person who says figure by figure pauses for half as long."""

FIGURES = frozenset(digit_words())
ABOUT_FIGURES = frozenset({Command.UNMEASURED, Command.SIZE_RIGHT, Command.PLACE_RIGHT})
"""Where one of these makes sense, so does a figure: a size, or the number of a cut."""


class SpokenSizes:
    """Listens, in English, while a size is `wanted`, to what was recognised as no phrase.

    `ear`: one that is open already. `reading`: nought and what lies below it are figures too, as an
    indicator shows them.
    """

    def __init__(self, ear: NumberEar | None = None, *, reading: bool = False) -> None:
        self.wanted = False
        self._reading = reading
        self._words: list[str] = []
        self._heard_all = True
        self._last_s = 0.0
        self._ear = ear
        self._unusable = False

    def hear(self, heard: Heard) -> bool:
        """An utterance; True when it was a piece of a size and is not to be told as a phrase."""
        if not self.wanted or not heard.pcm or not self._open():
            return False
        assert self._ear is not None
        if heard.accepted and (heard.command in ABOUT_FIGURES or not self._is_figure(heard)):
            self._forget()
            return False
        figures = bool(self._words) and all(word in FIGURES for word in self._words)
        guess = self._ear.recognise(heard.pcm, figures=figures)
        words = guess.text.split()
        if words or self._words:
            # A piece that was not understood spoils the others: a size is never half heard.
            self._heard_all &= bool(words) and guess.sure
            self._last_s = heard.end_s
        self._words += words
        return bool(words)

    def over(self, now_s: float, *, speaking: bool) -> SizeGiven | None:
        """The size once it is over, `now_s` in seconds of the stream; "?" with the words when
        they are no size, so that the person is asked for it again. None while there is none."""
        if not self._words or speaking or now_s - self._last_s < OVER_S:
            return None
        said = " ".join(self._words)
        number = number_from(said) if self._heard_all else None
        self._forget()
        if number is None or not (number.value > 0 or self._reading):
            return SizeGiven(time.time(), f"? {said}", Source.VOICE)
        return _given(number)

    def _is_figure(self, heard: Heard) -> bool:
        """While figures are given, "six" is a six, and no phrase that sounds like it."""
        assert self._ear is not None
        return self._ear.digit(heard.pcm).confidence >= FIGURE

    def _forget(self) -> None:
        self._words, self._heard_all = [], True

    def _open(self) -> bool:
        """Loaded at the first size: most jobs never ask for one."""
        if self._ear is None and not self._unusable and in_force() is ENGLISH:
            from assistant.hearing.recognisers.numbers import NumberEar

            try:
                self._ear = NumberEar()
            except EarUnusable:
                self._unusable = True  # sizes are then typed; the question says press or give it
        return self._ear is not None


def _given(number: SpokenNumber) -> SizeGiven:
    unit = {"inch": "in"}.get(number.unit, number.unit)
    return SizeGiven(time.time(), decimal_text(number.value), Source.VOICE, unit)


def decimal_text(value: Fraction) -> str:
    """A spoken number in figures: spoken decimals always end."""
    return format(Decimal(value.numerator) / Decimal(value.denominator), "f")
