"""Leaving a session in the middle of a sentence."""

from __future__ import annotations

import array
import subprocess
import sys
from pathlib import Path

import pytest

from tests.commands import PROGRAM, ROOT
from tests.newcomer.terminal import Terminal, leave
from tests.whole.person import LOUD, Hearing
from tests.whole.sound import SoundServer, missing

SETTINGS = """[speech]
words_per_minute = 80
[ear]
kind = "none"
[pedal]
kind = "none"
[page]
serve = false
"""


@pytest.mark.sound
@pytest.mark.skipif(bool(missing()), reason=f"not here: {missing()}")
def test_who_leaves_does_not_wait_for_the_end_of_a_sentence(tmp_path: Path) -> None:
    """Of a first sentence of more than half a minute only the beginning is played."""
    config = tmp_path / "tallyhand.toml"
    config.write_text(SETTINGS)
    with SoundServer(tmp_path / "sound") as sound:
        hearing = Hearing(sound)
        words = ["env", *(f"{name}={value}" for name, value in sound.added.items()), *PROGRAM]
        terminal = Terminal(
            [*words, "run", "pinion", "--data", str(tmp_path / "data"), "--config", str(config)]
        )
        terminal.wait_for("q leave", 60)
        hearing.wait_for_new_sound()
        leave(terminal)
        hearing.close()
    samples = array.array("h", hearing.kept[: len(hearing.kept) // 2 * 2])
    blocks = [samples[at : at + 1600] for at in range(0, len(samples), 1600)]
    played = sum(0.1 for block in blocks if max(map(abs, block)) > LOUD)
    assert 0 < played < 15  # seconds of speech, not of waiting


SIGNAL_FOR_ANOTHER_THREAD = """
import queue, signal, threading, time
from assistant.bench.at_the_bench import _leave_on
from assistant.bench.session import _within

events = queue.SimpleQueue()
_leave_on(signal.SIGTERM, events.put)

def meanwhile():
    time.sleep(0.3)
    signal.pthread_kill(threading.get_ident(), signal.SIGTERM)
    time.sleep(600)

threading.Thread(target=meanwhile, daemon=True).start()
print(type(_within(events, None)).__name__)
"""


@pytest.mark.skipif(sys.platform == "win32", reason="no signals for threads there")
def test_a_signal_that_wakes_another_thread_is_not_slept_over() -> None:
    """The system chooses the thread that a polite kill or Ctrl-C interrupts; Python runs its
    handler in the main one, which waits for the next event."""
    done = subprocess.run(
        [sys.executable, "-c", SIGNAL_FOR_ANOTHER_THREAD],
        cwd=ROOT, capture_output=True, text=True, check=False, timeout=120,
    )  # fmt: skip
    assert done.stdout.strip() == "SessionLeft", done.stderr
