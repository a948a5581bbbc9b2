"""A size spoken while one is wanted becomes a figure to be read back; at other times nothing."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from assistant.devices.sound.samples import resample
from assistant.devices.sound.wavefile import read_wave
from assistant.engine.engine import expected_commands
from assistant.engine.events import Command, SizeGiven
from assistant.engine.phases import Phase, Step, phase_of
from assistant.engine.state import State
from assistant.hearing.judging import Heard
from assistant.hearing.recognisers.numbers import NumberEar
from assistant.hearing.spoken_numbers import number_from
from assistant.hearing.spoken_sizes import ABOUT_FIGURES, OVER_S, SpokenSizes, decimal_text
from tests.whole.sound import speech

pytest.importorskip("pyopen_wakeword")


def utterance(text: str, folder: Path, end_s: float = 2.0) -> Heard:
    wave = read_wave(speech(text, "flite:slt", folder).read_bytes())
    pcm = bytes(8000) + resample(wave.mono16(), wave.rate, 16000) + bytes(8000)
    return Heard(end_s - 1, end_s, "", None, 0.1, False, "no phrase", 0.3, pcm)


def wanted() -> SpokenSizes:
    sizes = SpokenSizes()
    sizes.wanted = True
    return sizes


def given(sizes: SpokenSizes, last_s: float) -> SizeGiven | None:
    """What comes when nothing follows for long enough; not a moment sooner."""
    assert sizes.over(last_s + OVER_S - 0.1, speaking=False) is None
    assert sizes.over(last_s + OVER_S, speaking=True) is None
    return sizes.over(last_s + OVER_S, speaking=False)


@pytest.mark.parametrize(
    ("said", "size", "unit"),
    [("nineteen point zero five", "19.05", ""), ("seven hundred and fifty thou", "750", "thou")],
)
def test_a_spoken_size_is_heard_when_it_is_wanted(
    tmp_path: Path, said: str, size: str, unit: str
) -> None:
    """The examples of the question; the figure is exact."""
    assert not SpokenSizes().hear(utterance(said, tmp_path))
    sizes = wanted()
    assert sizes.hear(utterance(said, tmp_path))
    found = given(sizes, 2.0)
    assert found is not None
    assert (found.size, found.unit, found.source) == (size, unit, "voice")
    assert sizes.over(99.0, speaking=False) is None


@pytest.mark.parametrize("said", ["minus six", "minus eleven", "under fourteen"])
def test_a_reading_may_lie_below_nought(tmp_path: Path, said: str) -> None:
    """As an indicator shows it."""
    sizes = SpokenSizes(NumberEar(signed=True), reading=True)
    sizes.wanted = True
    assert sizes.hear(utterance(said, tmp_path))
    number = number_from(said)
    assert number is not None and number.value < 0
    found = given(sizes, 2.0)
    assert found is not None and found.size == decimal_text(number.value)


@pytest.mark.parametrize("step", Step, ids=lambda step: step.value)
def test_figures_are_listened_for_where_one_makes_sense(step: Step) -> None:
    """A size while one is measured, the number of a cut while the place is looked at."""
    listens = bool(expected_commands(State(step=step)) & ABOUT_FIGURES)
    asked = phase_of(step) in (Phase.MEASURE, Phase.CHECK_POSITION)
    assert listens == (asked and step is not Step.UNDERSIZE)


def test_the_number_of_a_cut_is_heard(tmp_path: Path) -> None:
    """As a whole number, as the session takes it."""
    sizes = wanted()
    assert sizes.hear(utterance("seventeen", tmp_path))
    found = given(sizes, 2.0)
    assert found is not None and (found.size, found.unit) == ("17", "")


def test_a_size_may_be_given_figure_by_figure(tmp_path: Path) -> None:
    """The pieces are put together; a phrase that one of them sounds like is none."""
    sizes = wanted()
    for n, word in enumerate(("one", "nine", "point", "zero", "five")):
        piece = utterance(word, tmp_path, 2.0 + n)
        if word == "nine":
            piece = replace(piece, text="pin is home", command=Command.PINNED, accepted=True)
        assert sizes.hear(piece)
    found = given(sizes, 6.0)
    assert found is not None and found.size == "19.05"


def test_a_piece_that_is_not_understood_spoils_the_size(tmp_path: Path) -> None:
    """One, a clatter, five: never fifteen. The person is asked for it again."""
    sizes = wanted()
    sizes.hear(utterance("one", tmp_path))
    clatter = np.random.default_rng(3).normal(0, 3000, 16000).astype("<i2").tobytes()
    sizes.hear(replace(utterance("one", tmp_path, 3.0), pcm=clatter))
    sizes.hear(utterance("five", tmp_path, 4.0))
    found = given(sizes, 4.0)
    assert found is not None and found.size == "? one five"


def test_a_phrase_about_the_size_is_a_phrase(tmp_path: Path) -> None:
    """It is told as one, and what was said before it is dropped."""
    sizes = wanted()
    sizes.hear(utterance("one", tmp_path))
    phrase = utterance("leave it unmeasured", tmp_path, 4.0)
    taken = replace(phrase, text="leave it unmeasured", command=Command.UNMEASURED, accepted=True)
    assert not sizes.hear(taken)
    assert sizes.over(99.0, speaking=False) is None


def test_figures_are_exact() -> None:
    """A spoken decimal stays what it was."""
    number = number_from("nineteen point zero five")
    assert number is not None and decimal_text(number.value) == "19.05"
