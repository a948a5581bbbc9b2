"""`tallyhand voice learn` as a process, over a real sound server: it asks, a voice answers.

The person is a festival voice (synthetic, not a person): never in the classifier's training as
it is said here, through this microphone.
"""

from __future__ import annotations

import os
import stat
import subprocess
import time
from pathlib import Path

import numpy as np
import pytest

from tests.commands import PROGRAM, ROOT
from tests.whole.person import Hearing
from tests.whole.sound import SoundServer

pytestmark = pytest.mark.sound
pytest.importorskip("pyopen_wakeword")

PHRASES = ("spindle locked", "cut done")


def learning(server: SoundServer, voice: Path, *words: str) -> subprocess.Popen[str]:
    env = {**server.env, "TALLYHAND_VOICE": str(voice), "XDG_CONFIG_HOME": str(voice.parent)}
    return subprocess.Popen(
        [*PROGRAM, "voice", "learn", *words], env=env, cwd=ROOT, text=True,
        stdout=subprocess.PIPE, stderr=subprocess.PIPE,
    )  # fmt: skip


def named(phrases: tuple[str, ...]) -> list[str]:
    return [word for phrase in phrases for word in ("--phrase", phrase)]


def test_it_asks_aloud_records_learns_and_forgets(server: SoundServer, tmp_path: Path) -> None:
    """Each prompt is shown and heard; after it the person speaks; a head comes of it, for this
    person alone to read; one command deletes all of it."""
    voice = tmp_path / "voice"
    ears = Hearing(server)
    program = learning(server, voice, *named(PHRASES))
    assert program.stdout
    prompts = []
    try:
        for line in program.stdout:
            if not line.startswith("Say: "):
                continue
            if not prompts:
                ears.wait_for_new_sound(0.1)  # it has been asked for aloud
            prompts.append(line[5:].partition("  (")[0])
            ears.wait_for_quiet(0.5)
            server.say(prompts[-1], "festival")
        assert program.wait(120) == 0, program.stderr and program.stderr.read()
    finally:
        program.kill()
        ears.close()
    assert set(prompts) == set(PHRASES) and 6 <= len(prompts) <= 8
    recordings = sorted((voice / "recordings").glob("*.wav"))
    assert len(recordings) == 6
    assert stat.S_IMODE((voice / "recordings").stat().st_mode) == 0o700
    _knows_better(voice / "learned.npz")
    env = {**os.environ, "TALLYHAND_VOICE": str(voice)}
    subprocess.run([*PROGRAM, "voice", "forget"], env=env, cwd=ROOT, check=True)
    assert not voice.exists()


def _knows_better(learned: Path) -> None:
    """What was recorded, now beside a mill, is likelier to the learned classifier than to the
    shipped one; it alone learns, so it is asked alone, without the phones. How long somebody waited
    before speaking is nothing that it knows."""
    from assistant.hearing.model_files import SHIPPED
    from assistant.hearing.recognisers.trained import TrainedEar
    from assistant.hearing.training.noises import mill
    from assistant.hearing.waves import mix, read_sound, to_pcm

    rng = np.random.default_rng(8)
    clips = [
        (file.name.partition(".")[0].replace("-", " "), mix(sound, mill(rng, len(sound)), 0))
        for file in sorted((learned.parent / "recordings").glob("*.wav"))
        for sound in [np.pad(_spoken(read_sound(file)), (11_000, 6_000))]  # with run-up and trail
        for _ in range(8)
    ]
    sure = {}
    for file in (SHIPPED, learned):
        ear = TrainedEar(file)
        ear._fits = None
        guesses = [(phrase, ear.recognise(to_pcm(clip))) for phrase, clip in clips]
        sure[file] = np.mean([g.confidence * (g.text == phrase) for phrase, g in guesses])
    assert sure[learned] > sure[SHIPPED] + 0.02, sure


def _spoken(sound: np.ndarray) -> np.ndarray:
    loud = np.flatnonzero(np.abs(sound) > 0.05 * np.abs(sound).max())
    return sound[loud[0] : loud[-1] + 1]


def test_a_person_who_says_nothing_and_one_who_goes(server: SoundServer, tmp_path: Path) -> None:
    """Silence is told, and asked again; the microphone unplugged is one line, exit code 1."""
    voice = tmp_path / "voice"
    program = learning(server, voice, *named(PHRASES))
    assert program.stdout and program.stderr
    told = ""
    for line in program.stdout:
        told += line
        if "Nothing was heard." in told:
            break
    assert "Nothing was heard." in told, program.stderr.read()
    server.unplug("mic_feed")
    try:
        assert program.wait(60) == 1
        error = program.stderr.read()
        assert error.count("\n") == 1 and "tallyhand doctor" in error, error
    finally:
        program.kill()
        server.plug_microphone()
        time.sleep(1)
    assert not list(voice.glob("**/*.wav"))
