"""Single words by people, and the same words put one after another.

Read from a folder in the layout of the Speech Commands set (Warden, 2018, CC BY 4.0):
`WORD/PERSON_nohash_N.wav`, or `WORD_PERSON_nohash_N.wav` in any folder.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Sequence
from pathlib import Path

import numpy as np

from assistant.errors import Refusal
from assistant.hearing.phones.scoring import Sounds
from assistant.hearing.spoken_numbers import DIGITS
from assistant.hearing.training.noises import Random
from assistant.hearing.training.phones.parts import part_of_person
from assistant.hearing.training.phones.takes import Samples, Take
from assistant.hearing.waves import Wave, read_sound

_NAME = re.compile(r"(?:(?P<word>[a-z]+)_)?(?P<person>[0-9a-f]{8})_nohash_\d+")
_FREQUENT = frozenset(("yes", "no", "up", "down", "left", "right", "on", "off", "stop", "go"))
_HOP = 160

STRINGS = 4000
_MOST_STRING = 80_000  # samples


def words_by_people(
    folder: Path, spoken: Callable[[str, bool], Sounds], part: str = "train"
) -> list[Take]:
    """Every word by people of that part. `spoken` gives the sounds of a word, American or British
    (a quarter). Raises Refusal where the folder has none."""
    rng, found = np.random.default_rng(5), []
    for word, person, file in sorted(_files(folder)):
        if part_of_person(person) != part:
            continue
        cut = _speech(read_sound(file))
        if cut is not None:
            sounds = spoken(word, bool(rng.random() < 0.25))
            found.append(Take(cut, sounds, "human", _source(word)))
    if not found:
        raise Refusal(
            f"{folder}: no words by people", "name a folder with WORD/PERSON_nohash_N.wav"
        )
    return found


def _source(word: str) -> str:
    if word in DIGITS:
        return "figure"
    return "frequent" if word in _FREQUENT else "word"


def _files(folder: Path) -> Iterator[tuple[str, str, Path]]:
    for file in folder.rglob("*.wav"):
        name = _NAME.fullmatch(file.stem)
        if name:
            yield name["word"] or file.parent.name, name["person"], file


def _speech(sound: Wave) -> Samples | None:
    """The word without the room before and after it, by its loudness over the quiet fifth."""
    whole = sound[: len(sound) // _HOP * _HOP].reshape(-1, _HOP)
    if not len(whole):
        return None
    loudness = np.sqrt((whole**2).mean(axis=1) + 1e-12)
    floor = max(float(loudness.max()) * 0.06, float(np.percentile(loudness, 20)) * 2)
    loud = np.flatnonzero(loudness > floor)
    if len(loud) < 8:
        return None
    said = sound[max(0, int(loud[0]) - 10) * _HOP : (int(loud[-1]) + 12) * _HOP]
    return (said / max(float(np.abs(said).max()), 1e-4) * 0.9 * 32000).astype(np.int16)


def strings(rng: Random, takes: list[Take], count: int, points: Sequence[Take] = ()) -> list[Take]:
    """`count` rows of two to five words, six in ten of figures only; in half of those one of
    `points`, the word "point" by other voices, stands before or after the first. What comes out
    longer than five seconds is left out."""
    figures = [take for take in takes if take.source == "figure"]
    rare = [take for take in takes if take.source != "frequent"]
    made = []
    for _ in range(count):
        pool = figures if rng.random() < 0.6 else (rare if rng.random() < 0.5 else takes)
        pool = pool or takes
        several = [pool[rng.integers(len(pool))] for _ in range(rng.integers(2, 6))]
        if pool is figures and points and rng.random() < 0.5:
            several.insert(int(rng.integers(2)), points[int(rng.integers(len(points)))])
        row = _string(rng, several)
        if len(row.sound) < _MOST_STRING:
            made.append(row)
    return made


def _string(rng: Random, several: list[Take]) -> Take:
    pieces: list[Samples] = []
    pause = 900 if rng.random() < 0.6 else 150  # samples, in the mean: said apart, or in one breath
    for take in several:
        sound = take.sound
        if len(sound) > 8000:  # half a second: what is before and after the word may be cut
            sound = sound[rng.integers(0, 1500) : len(sound) - rng.integers(0, 1500)]
        pieces += [sound, np.zeros(int(rng.exponential(pause)), np.int16)]
    kinds = {take.source for take in several}
    source = "words" if kinds & {"word", "frequent"} else "figures"
    sounds = tuple(sound for take in several for sound in take.sounds)
    return Take(np.concatenate(pieces), sounds, "human", source)
