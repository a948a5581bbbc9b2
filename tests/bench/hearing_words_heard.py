"""What the benchmark of trained words hears, and the six words."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from assistant.hearing.classifier.features import Features
from assistant.hearing.phones.phrase_fit import PRONUNCIATIONS
from assistant.hearing.vocabulary import built_in

WORDS: dict[str, tuple[str, ...]] = {
    "alexa": ("əlɛksə", "ɪlɛksə"),
    "computer": ("kəmpjutəɹ", "kəmpjutə", "kəmpjudəɹ", "kʌmpjutəɹ"),
    "jarvis": ("ʤɑɹvɪs", "ʤɑɹvəs", "ʤɑvɪs"),
    "smart mirror": ("smɑɹtmɪɹəɹ", "smɑtmɪɹə", "smɑɹtmɪɹ", "smɑɹtmɪɹɜɹ"),
    "snowboy": ("snObY",),
    "view glass": ("vjuɡlæs", "vjuɡlɑs"),
}
"""American and British, as they are written; none was changed after a person was heard."""

Short = npt.NDArray[np.float16]


@dataclass(frozen=True)
class Cut:
    """A spoilt take of the training as the detector would cut it: bands as the phone network sees
    them; of the first two versions of phrases the rows of its last block."""

    bands: Short
    inner: Short | None
    label: str
    text: str


@dataclass(frozen=True)
class Heard:
    """An utterance: what the classifier, its networks and the phones are given."""

    row: Features | None
    mels: Short
    bands: Short
    inner: Short


@dataclass(frozen=True)
class Clip:
    """A word as somebody said it; `heard` is None where the detector found no voice."""

    word: str
    who: str
    condition: str
    heard: Heard | None


@dataclass(frozen=True)
class Ears:
    """All that was heard: by people, by synthetic voices of nobody's training, and talk."""

    people: list[Clip]
    voices: list[Clip]
    talk: list[Heard]
    hours: float


def spelt(label: str) -> tuple[str, ...]:
    """The pronunciations of a word or of a phrase of the program; none of anything else."""
    return WORDS.get(label) or PRONUNCIATIONS.get(label, ())


def phrases() -> list[str]:
    """The program's own and the six words: what a person trains who adds these."""
    return sorted([*built_in(), *WORDS])
