"""The voice detector itself, in one stream, beside a machine that is switched on."""

from __future__ import annotations

import subprocess
from pathlib import Path
from shutil import which

import numpy as np
import pytest

from assistant.hearing.endpointing import Detector, Ending, silero
from assistant.hearing.training.noises import mill
from assistant.hearing.waves import RATE, mix, read_sound, to_pcm

TIMES = 4


@pytest.mark.skipif(which("flite") is None, reason="flite is not installed")
def test_a_phrase_is_found_however_long_the_machine_has_run(tmp_path: Path) -> None:
    """Four times the same, 6 dB over a mill: as by a detector just switched on."""
    file = tmp_path / "said.wav"
    subprocess.run(["flite", "-voice", "slt", "-t", "spindle locked", "-o", file], check=True)
    said = read_sound(file)
    several = np.tile(np.pad(said / np.float32(2 * np.abs(said).max()), (RATE, RATE)), TIMES)
    pcm = to_pcm(mix(several, mill(np.random.default_rng(1), len(several)), 6.0))
    found = [each for each in Detector(silero()).feed(pcm) if each.kind is Ending.WHOLE]
    assert len(found) == TIMES
