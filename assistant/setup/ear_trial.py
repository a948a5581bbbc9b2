"""One utterance through the recogniser, in a process of its own: some libraries end the process
that they are used in where the system tells them too little.

Run as a process it reads the settings' file and prints what it found as JSON.
"""

from __future__ import annotations

import json
import math
import signal
import struct
import subprocess
import sys
from dataclasses import dataclass
from pathlib import Path

LIMIT_S = 120.0
RATE = 16_000
LONG_S = 1.5


@dataclass(frozen=True, slots=True)
class Trial:
    """`name` of the ear that listened, or `fault` why none could, with its `cure` where one is
    known; `notes` as the ear's own."""

    name: str = ""
    notes: tuple[str, ...] = ()
    fault: str = ""
    cure: str = ""


def tried(settings_file: Path) -> Trial:
    """What the trial found; a process that died is a fault with its reason."""
    words = [sys.executable, "-m", "assistant.setup.ear_trial", str(settings_file)]
    root = str(Path(__file__).parents[2])
    try:
        done = subprocess.run(
            words, stdin=subprocess.DEVNULL, capture_output=True, timeout=LIMIT_S, check=False,
            cwd=root,
        )  # fmt: skip
    except subprocess.TimeoutExpired:
        return Trial(fault=f"it gave no answer in {LIMIT_S:g} s")
    try:
        found = json.loads(done.stdout.decode("utf-8", "replace").strip().splitlines()[-1])
    except (ValueError, IndexError):
        return Trial(fault=f"it ended the process that tried it ({_ending(done.returncode)})")
    return Trial(found["name"], tuple(found["notes"]), found["fault"], found["cure"])


def _ending(code: int) -> str:
    if code >= 0:
        return f"exit code {code}"
    try:
        return signal.Signals(-code).name
    except ValueError:
        return f"signal {-code}"


def buzz() -> bytes:
    """A second and a half of a voice-like buzz of 120 Hz, swelling and fading: 16 kHz, 16 bit."""
    count = int(RATE * LONG_S)
    numbers = (
        int(6000 * math.sin(math.pi * n / count) * _buzz(n / RATE)) for n in range(count)
    )  # fmt: skip
    return struct.pack(f"<{count}h", *numbers)


def _buzz(at: float) -> float:
    return sum(math.sin(2 * math.pi * 120 * k * at) / k for k in range(1, 20)) / 2


def main(words: list[str]) -> int:
    """Prints what one utterance found, as JSON; the exit code is 0 unless the process dies."""
    from assistant.files.packages_here import without_numpy
    from assistant.files.settings import Settings, load_settings

    if lacking := without_numpy():
        what, cure = lacking
        print(json.dumps({"name": "", "notes": [], "fault": what, "cure": cure}))
        return 0
    from assistant.hearing.opening import ears_chosen, open_ear, open_hearer
    from assistant.hearing.recognisers.recogniser import EarUnusable

    settings = (
        load_settings(Path(words[0])) if Path(words[0]).exists() else Settings(Path(words[0]))
    )
    found: dict[str, object] = {"name": "", "notes": [], "fault": "", "cure": ""}
    try:
        hearer = open_hearer(settings.ear)
        hearer.feed(buzz() + bytes(2 * RATE))
        if ears_chosen(settings.ear):
            # The detector may take the buzz for no voice: the recogniser hears it all the same.
            open_ear(settings.ear).recognise(buzz())
        found |= {"name": hearer.name, "notes": list(hearer.notes)}
    except EarUnusable as error:
        found |= {"fault": error.what, "cure": error.cure}
    print(json.dumps(found))
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
