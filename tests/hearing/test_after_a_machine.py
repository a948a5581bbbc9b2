"""The voice detector itself: in one stream beside a machine that is switched on, in one thread."""

from __future__ import annotations

import os
import subprocess
import sys
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


LISTENS = """
import os
from assistant.__main__ import main
main(["--version"])
from assistant.hearing.endpointing import silero
silero()(bytes(1024))
print(len(os.listdir("/proc/self/task")))
"""


@pytest.mark.skipif(not Path("/proc/self/task").exists(), reason="needs /proc")
def test_the_detector_takes_one_thread() -> None:
    """Its library would start more, which wait by spinning: on a busy machine for nothing."""
    own = {name: value for name, value in os.environ.items() if name != "OMP_THREAD_LIMIT"}
    told = subprocess.run(
        [sys.executable, "-c", LISTENS], env=own, capture_output=True, text=True, check=True
    )
    assert told.stdout.split()[-1] == "1"
