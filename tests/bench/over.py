"""What is heard over the program's own voice with a headset, by its level at the microphone.

    python -m tests.bench.over [PHRASES]     # so many at each line (32)

The program's own sentences by its own voice, faint at the microphone, a phrase of one of four other
voices over every second one, noise under both; the real ear. Mixed in NumPy at a desk of its own
for each line (`tests/hearing/headset.py`): what comes out of a real headset was not recorded.
Prints how many phrases were taken, how many taken for another, what was taken of our own voice
alone, and whether the ear was open at the end. docs/pace.md shows what came out.
"""

from __future__ import annotations

import sys
import tempfile
from pathlib import Path

from assistant.engine.phrases import LOCK_AND_GUARD, PHRASES
from tests.hearing.headset import Desk

OWN = (
    "Lock off. Eight on twenty, middle line. Arms. Pin at the mark. Scale eighteen. Lock.",
    "Pin at the second arm? Swing the arms on to the pin. Lock the spindle.",
    "Lever tight, guard shut: cut two of one hundred, short line.",
    "Two done, ninety-eight left. Cutter clear, then lock off.",
)
VOICES = ("flite:slt", "flite:awb", "festival", "espeak:en-us+f3")
LINES = tuple((own, noise) for own in (-40, -30, -20, -15, -10) for noise in (-45, -20, -10))
"""The own voice and the noise at the microphone, dB over the person's voice."""


def line(many: int, leak: float, noise: float, folder: Path) -> list[str]:
    desk = Desk(folder, leak, noise).known()
    phrases = [words[0] for command, words in PHRASES.items() if command not in LOCK_AND_GUARD]
    right = wrong = ours = 0
    for n in range(many):
        phrase, own = phrases[n % len(phrases)], OWN[n % len(OWN)]
        heard = [each for each in desk.say(own, phrase, 0.2 + 0.1 * (n % 12), VOICES[n * 7 % 4])
                 if each.accepted]  # fmt: skip
        right += any(each.text.lower() == phrase.lower() for each in heard)
        wrong += any(each.text.lower() != phrase.lower() for each in heard)
        ours += any(each.accepted for each in desk.say(OWN[(n + 1) % len(OWN)]))
    is_open = "open" if desk.over.stands_out(desk.hearer) else "shut"
    return [f"{right} of {many}", str(wrong), str(ours), is_open]


def main(many: int) -> None:
    print("| own voice, dB | noise, dB | taken | as another | our own taken | the ear |")
    print("|---:|---:|---:|---:|---:|---|")
    with tempfile.TemporaryDirectory() as folder:
        for leak, noise in LINES:
            told = " | ".join(line(many, leak, noise, Path(folder)))
            print(f"| {leak} | {noise} | {told} |", flush=True)


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 32)
