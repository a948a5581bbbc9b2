"""Run as a process: speaks standard input into a file through pyttsx3.

    python -m assistant.devices.speech.pyttsx3_child FILE WORDS_PER_MINUTE VOLUME VOICE

It may hang or die: whoever started it waits only so long and looks for samples in the file.
"""

from __future__ import annotations

import sys
import time
from pathlib import Path

SETTLE_S = 10.0


def main() -> None:
    """Reads the text from standard input and writes it spoken to a file: file, words a minute,
    volume 0 to 1 and voice are the words of the command line.
    """
    import pyttsx3

    file, words_per_minute, volume, voice = sys.argv[1:5]
    engine = pyttsx3.init()
    engine.setProperty("rate", int(words_per_minute))
    engine.setProperty("volume", float(volume))
    # The platform's voices have names of their own: the setting counts only where it fits.
    for known in engine.getProperty("voices") or []:
        if voice and voice in (known.id, known.name):
            engine.setProperty("voice", known.id)
    engine.save_to_file(sys.stdin.read(), file)
    engine.runAndWait()
    wait_until_written(Path(file))


def wait_until_written(file: Path) -> None:
    """`runAndWait` may return while the engine still writes: wait until the size stands still."""
    end, size = time.monotonic() + SETTLE_S, -1
    while time.monotonic() < end:
        now = file.stat().st_size if file.exists() else 0
        if now == size and now > 0:
            return
        size = now
        time.sleep(0.1)


if __name__ == "__main__":
    main()
