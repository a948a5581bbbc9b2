"""What three recordings of each phrase by one unseen voice are worth.

    python -m tests.bench.hearing_learned

Prints a table, percent taken / percent taken for another phrase, before and after learning.
"""

from __future__ import annotations

import tempfile
from pathlib import Path

from assistant.files.settings import EarSettings
from assistant.hearing.classifier.classifier import load, save
from assistant.hearing.endpointing import Detector, silero
from assistant.hearing.judging import Hearer
from assistant.hearing.model_files import SHIPPED
from assistant.hearing.person.adapting import adapt
from assistant.hearing.recognisers.trained import HeadEar
from assistant.hearing.training.noises import mill, shop
from assistant.hearing.waves import Wave
from tests.bench.hearing_clips import CLEAN, Clip, Score, clips, hear, judge, spoilt

VOICE = "pico/en-GB"
"""The one of the test voices that is heard worst, so that there is something to learn."""

RECORDINGS = 3
CONDITIONS = (("clean", CLEAN, mill), ("shop 10 dB", 10.0, shop), ("mill 5 dB", 5.0, mill))


def row(file: Path, said: list[Clip]) -> str:
    """A cell for each condition, in a room."""
    ear, cells = HeadEar(file), []
    for _, ratio, kind in CONDITIONS:
        found = Score()
        for number, clip in enumerate(said):
            made = spoilt(clip, ratio, kind, number, near=False)
            hearer = Hearer(ear, Detector(silero()), EarSettings())
            judge(found, clip, made, hear(hearer, made))
        cells.append(found.row())
    return " | ".join(cells)


def table() -> list[str]:
    """The lines of the table, and whose voice it is."""
    shipped = load(SHIPPED)
    own = [
        clip
        for clip in clips(RECORDINGS + 1)
        if clip.voice == VOICE and clip.phrase in shipped.labels  # the head learns only its own
    ]
    recorded: dict[str, list[Wave]] = {}
    test: list[Clip] = []
    for clip in own:
        if len(recorded.setdefault(clip.phrase, [])) < RECORDINGS:
            recorded[clip.phrase].append(clip.sound)
        else:
            test.append(clip)
    learned = adapt(shipped, recorded, lambda line: None)
    with tempfile.TemporaryDirectory() as folder:
        save(learned, Path(folder, "head.npz"))
        after = row(Path(folder, "head.npz"), test)
    return [
        f"Before and after learning the unseen voice that is heard worst ({VOICE}): {RECORDINGS} "
        f"recordings of each phrase, {len(test)} other clips a condition, in a room, percent taken "
        "/ wrong:",
        "",
        "| | " + " | ".join(name for name, *_ in CONDITIONS) + " |",
        "|---|---|---|---|",
        f"| as shipped | {row(SHIPPED, test)} |",
        f"| after learning | {after} |",
    ]


if __name__ == "__main__":
    print("\n".join(table()))
