"""A size spoken while one is wanted becomes a figure to be read back; at other times nothing."""

from __future__ import annotations

from pathlib import Path

import pytest

from assistant.devices.ear import Heard
from assistant.devices.hearing import _Sizes, decimal_text
from assistant.devices.samples import resample
from assistant.devices.wavefile import read_wave
from assistant.hearing.spoken_numbers import number_from
from tests.whole.sound import speech


def utterance(text: str, folder: Path) -> Heard:
    wave = read_wave(speech(text, "flite:slt", folder).read_bytes())
    pcm = bytes(8000) + resample(wave.mono16(), wave.rate, 16000) + bytes(8000)
    return Heard(0, 2, "", None, 0.1, False, "no phrase", 0.3, pcm)


@pytest.mark.parametrize(
    ("said", "size", "unit"),
    [("nineteen point zero five", "19.05", ""), ("seven hundred and fifty thou", "750", "thou")],
)
def test_a_spoken_size_is_heard_when_it_is_wanted(
    tmp_path: Path, said: str, size: str, unit: str
) -> None:
    """The examples of the question; the figure is exact."""
    sizes = _Sizes()
    assert sizes.size(utterance(said, tmp_path)) is None
    sizes.wanted = True
    given = sizes.size(utterance(said, tmp_path))
    assert given is not None
    assert (given.size, given.unit, given.source) == (size, unit, "voice")


def test_figures_are_exact() -> None:
    """A spoken decimal stays what it was."""
    number = number_from("nineteen point zero five")
    assert number is not None and decimal_text(number.value) == "19.05"
