"""What three recordings of each phrase by one unseen voice are worth.

    python -m tests.bench.hearing_learned [VOICE [TUBES]]

Prints a table, percent taken / percent taken for another phrase, before and after learning. VOICE
is one of `more_voices`, TUBES the folder that it may need.
"""

from __future__ import annotations

import sys
import tempfile
from pathlib import Path

import numpy as np

from assistant.errors import Refusal
from assistant.files.settings import EarSettings
from assistant.hearing.classifier.classifier import load_classifier, save_classifier
from assistant.hearing.endpointing import Detector, silero
from assistant.hearing.judging import Hearer
from assistant.hearing.model_files import SHIPPED
from assistant.hearing.person.adapting import adapt, checked_recording, sound_of
from assistant.hearing.person.learned_sound import LearnedSound
from assistant.hearing.recognisers.trained import TrainedEar
from assistant.hearing.training.noises import mill, shop
from assistant.hearing.training.voices import SpeakingManner
from assistant.hearing.vocabulary import built_in
from assistant.hearing.waves import Wave
from tests.bench.hearing_clips import CLEAN, Clip, Score, hear, judge, spoilt
from tests.bench.hearing_voices import more_voices

VOICE = "espeak-ng/en-us+whisperf"
"""A whisper, of all test voices the one that is heard worst: there is something to learn."""

RECORDINGS = 3
CONDITIONS = (("clean", CLEAN, mill), ("shop 10 dB", 10.0, shop), ("mill 5 dB", 5.0, mill))


def row(file: Path, said: list[Clip], sound: LearnedSound) -> str:
    """A cell for each condition, in a room."""
    ear, cells = TrainedEar(file, sound), []
    for _, ratio, kind in CONDITIONS:
        found = Score()
        for number, clip in enumerate(said):
            made = spoilt(clip, ratio, kind, number, near=False)
            hearer = Hearer(ear, Detector(silero(), sound.doors), EarSettings())
            judge(found, clip, made, hear(hearer, made))
        cells.append(found.row())
    return " | ".join(cells)


def said(name: str, tubes: Path | None) -> list[Clip]:
    """Each phrase so many times and once more, at several paces and pitches."""
    rng = np.random.default_rng(77)
    voice = next(each for each in more_voices(tubes) if each.name == name)
    manners = [
        (phrase, SpeakingManner(float(rng.uniform(0.8, 1.2)), float(rng.uniform(0.2, 0.8)), number))
        for phrase in sorted(built_in())
        for number in range(RECORDINGS + 1)
    ]
    return [Clip(phrase, name, voice.say(phrase, manner)) for phrase, manner in manners]


def will_do(clip: Clip) -> bool:
    """Whether it can be learned from: one in which no voice is found a person says again."""
    try:
        checked_recording(clip.phrase, clip.sound)
    except Refusal:
        return False
    return True


def table(name: str = VOICE, tubes: Path | None = None) -> list[str]:
    """The lines of the table, and whose voice it is."""
    shipped = load_classifier(SHIPPED)
    # The classifier learns its own phrases only.
    own = [clip for clip in said(name, tubes) if clip.phrase in shipped.labels]
    recorded: dict[str, list[Wave]] = {}
    test: list[Clip] = []
    for clip in own:
        if len(recorded.get(clip.phrase, [])) < RECORDINGS and will_do(clip):
            recorded.setdefault(clip.phrase, []).append(clip.sound)
        else:
            test.append(clip)
    learned = adapt(shipped, recorded, lambda line: None)
    with tempfile.TemporaryDirectory() as folder:
        save_classifier(learned, Path(folder, "classifier.npz"))
        after = row(Path(folder, "classifier.npz"), test, sound_of(recorded, lambda line: None))
    return [
        f"Before and after learning an unseen voice ({name}): {RECORDINGS} "
        f"recordings of each phrase at most, {len(test)} other clips a condition, in a room, "
        "percent taken / wrong:",
        "",
        "| | " + " | ".join(name for name, *_ in CONDITIONS) + " |",
        "|---|---|---|---|",
        f"| as shipped | {row(SHIPPED, test, LearnedSound())} |",
        f"| after learning | {after} |",
    ]


if __name__ == "__main__":
    voice, *folder = sys.argv[1:] or [VOICE]
    print("\n".join(table(voice, *map(Path, folder))))
