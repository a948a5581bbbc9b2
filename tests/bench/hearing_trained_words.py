"""Words by people, heard with a classifier that was trained for them from synthetic voices alone.

    python -m tests.bench.hearing_trained_words PEOPLE [HOURS]

PEOPLE has a folder of WAV files for each word or phrase, named by it; twenty of each are drawn.
They are heard in the clear and beside a mill, each before a detector just switched on, one look at
each utterance. A word's threshold is the surest that any utterance of so many hours of talk by
unseen voices (1.25) is of it, or the second surest: nothing else is chosen, and nothing by PEOPLE.
Needs `pip install 'tallyhand[bench,train]'`, espeak-ng, flite and festival; ten minutes of two
quiet cores.
"""

from __future__ import annotations

import os
import random
import sys
from collections import Counter
from collections.abc import Callable, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from multiprocessing import get_context
from pathlib import Path

import numpy as np
import numpy.typing as npt

from assistant.hearing.classifier.classifier import Classifier, layer_outputs, softmax
from assistant.hearing.classifier.embedding import Networks, embed
from assistant.hearing.classifier.features import Features
from assistant.hearing.classifier.fitting import Course
from assistant.hearing.endpointing import (
    CHUNK,
    CHUNK_S,
    RUN_UP_S,
    TRAIL_S,
    Detector,
    Ending,
    silero,
)
from assistant.hearing.phones.network import BLANK, Rows, shipped
from assistant.hearing.phones.phrase_fit import FITS_COUNT, HEAD_COUNTS, ways
from assistant.hearing.phones.scoring import Sounds, free_score, scores
from assistant.hearing.training.corpus import (
    CutUtterance,
    Example,
    Plan,
    SpokenSentence,
    noise_cuts,
    piece,
    snr_of,
    spoken_take,
    takes,
)
from assistant.hearing.training.learning import learn_classifier
from assistant.hearing.training.noises import Random, mill, pink
from assistant.hearing.training.spoiling import Spoilt, spoil_speech
from assistant.hearing.training.train import _cache
from assistant.hearing.training.voices import all_voices
from assistant.hearing.waves import RATE, Wave, from_pcm, read_sound, to_pcm
from tests.bench.hearing_hours import talk
from tests.bench.hearing_people import STILL_DB, Listening
from tests.bench.hearing_wide import interval

DRAWN = 20
PLAN = Plan(takes=12)
OF_A_WORD, OF_OTHERS, OTHERS = 4, 2, 100
"""Versions of a take, and how many takes of anything else."""

NOISE_CUTS, PRONUNCIATIONS, TALK_SEED = 60, 8, 5001
CONDITIONS = {"clean": (pink, STILL_DB), "mill 10 dB": (mill, 10.0)}
NEVER = -99.0
Scores = npt.NDArray[np.float64]


@dataclass(frozen=True)
class Heard:
    """What the classifier is given, and the phones."""

    row: Features | None
    said: Rows


@dataclass(frozen=True)
class Clip:
    """A word as somebody said it; `heard` is None where the detector found no voice."""

    word: str
    condition: str
    heard: Heard | None


def _heard(listening: Listening, pcm: bytes) -> Heard:
    part = listening.heard(pcm)
    return Heard(part.row, shipped().said(part.inner))


def by_people(people: Path, words: Sequence[str]) -> list[Clip]:
    """So many recordings of each word, drawn by its name, in each condition."""
    listening, found = Listening(shipped()), []
    for word in words:
        files = sorted((people / word).glob("*.wav"))
        for n, file in enumerate(random.Random(word).sample(files, min(DRAWN, len(files)))):
            sound = read_sound(file)
            for condition, (noise, ratio) in CONDITIONS.items():
                rng = np.random.default_rng([72, len(word), n])
                part = listening.to(sound, rng, noise, ratio)
                heard = Heard(part.row, shipped().said(part.inner)) if part else None
                found.append(Clip(word, condition, heard))
    return found


def in_talk(hours: float) -> list[Heard]:
    """The utterances of so many hours read aloud, as one stream."""
    listening, detector = Listening(shipped()), Detector(silero())
    found, seconds = list[Heard](), 0.0
    for sound in talk(TALK_SEED):
        seconds += len(sound) / RATE
        if seconds > hours * 3600:
            break
        ended = detector.feed(to_pcm(sound))
        found += [_heard(listening, each.pcm) for each in ended if each.kind is Ending.WHOLE]
    return found


def spoken(words: Sequence[str]) -> list[tuple[Example, Rows | None]]:
    """The words and other sentences by the synthetic voices of the training, spoilt and cut; of the
    words also what the phones hear."""
    networks, found = Networks(), []
    every = takes(PLAN, list(words), all_voices())
    others = [take for take in every if not take.label][:OTHERS]
    for take in [*(take for take in every if take.label), *others]:
        sound = spoken_take(take, _cache())
        for version in range(OF_A_WORD if take.label else OF_OTHERS):
            pcm = _spoilt(take, sound, version)
            if not pcm:
                continue
            said = shipped().said(shipped().inner(from_pcm(pcm))) if take.label else None
            cut = CutUtterance(embed(networks, pcm), len(pcm) // 2)
            found.append((Example(cut, take.label, take.text), said))
    return found


def _spoilt(take: SpokenSentence, sound: Wave, version: int) -> bytes:
    rng = np.random.default_rng([PLAN.seed, int(take.key[:12], 16), version, 6])
    part = piece(rng, sound) if take.talk and (version or len(sound) > 3 * RATE) else sound
    return _as_cut(rng, spoil_speech(rng, part, snr_of(rng))) if len(part) >= RATE // 10 else b""


def _as_cut(rng: Random, spoilt: Spoilt) -> bytes:
    """From its run-up to the end of the silence after it, with the lags that the detector has."""
    onset = spoilt.first + rng.uniform(-0.05, 0.13) * RATE
    end = spoilt.last + rng.uniform(0, 0.2) * RATE
    first = max(0, round(onset / CHUNK) + int(-RUN_UP_S // CHUNK_S))
    last = round(end / CHUNK) - int(-TRAIL_S // CHUNK_S)
    return to_pcm(spoilt.sound[first * CHUNK : last * CHUNK])


def as_heard(several: Sequence[Rows]) -> list[Sounds]:
    """The pronunciations heard in the recordings of a word that together fit them best."""
    likely = [s for s, _ in Counter(map(_decoded, several)).most_common(60) if len(s) >= 4]
    fits = np.array([_fit(rows, likely) for rows in several])
    chosen, best = list[int](), np.full(len(several), NEVER)
    for _ in range(PRONUNCIATIONS):
        chosen.append(int(np.maximum(fits, best[:, None]).mean(axis=0).argmax()))
        best = np.maximum(best, fits[:, chosen[-1]])
    return [likely[n] for n in dict.fromkeys(chosen)]


def _decoded(said: Rows) -> Sounds:
    best = said.argmax(axis=1)
    runs = (p for n, p in enumerate(best) if p != BLANK and (n == 0 or p != best[n - 1]))
    return tuple(map(int, runs))


def _fit(said: Rows, several: Sequence[Sounds]) -> Scores:
    found = scores(said, list(several)) - free_score(said)
    return np.asarray(found / [len(each) for each in several])


def by_phones(several: Sequence[Sequence[Sounds]], heard: Sequence[Heard | None]) -> Scores:
    """How well each of the words, by its pronunciations, fits each utterance."""
    found = np.full((len(heard), len(several)), NEVER)
    for n, each in enumerate(heard):
        if each is not None and len(each.said):
            found[n] = [_fit(each.said, own).max() for own in several]
    return found


def by_classifier(
    classifier: Classifier, words: Sequence[str], heard: Sequence[Heard | None]
) -> Scores:
    """The logarithm of the odds of each word, by the embedding alone."""
    found = np.full((len(heard), len(words)), NEVER)
    of_words = [classifier.labels.index(word) for word in words]
    for n, each in enumerate(heard):
        if each is not None and each.row is not None:
            standard = (each.row - classifier.mean) / classifier.deviation
            likely = softmax(layer_outputs(classifier.layers, standard))[of_words]
            sure = np.clip(likely.astype(np.float64), 1e-9, 1 - 1e-9)
            found[n] = np.log(sure) - np.log(1 - sure)
    return found


def told(scored: Scores, of_talk: Scores, clips: Sequence[Clip], words: Sequence[str]) -> str:
    """The columns of one way, at both thresholds: taken in each condition, the worst word, others
    taken."""
    columns = []
    for taken in (scored > np.sort(of_talk, axis=0)[-1], scored > np.sort(of_talk, axis=0)[-2]):
        own = np.array([row[words.index(c.word)] for row, c in zip(taken, clips, strict=True)])
        for condition in CONDITIONS:
            here = own[[clip.condition == condition for clip in clips]]
            low, high = interval(int(here.sum()), len(here))
            columns.append(f"{here.sum()} = {100 * here.mean():.1f} ({low:.1f} to {high:.1f})")
        noisy = [(own[n], c.word) for n, c in enumerate(clips) if c.condition != "clean"]
        columns.append(str(min(sum(t for t, w in noisy if w == word) for word in words)))
        columns.append(str(int(taken.sum() - own.sum())))
    return " | ".join(columns)


def main(people: Path, hours: float) -> None:
    words = sorted(folder.name for folder in people.iterdir() if any(folder.glob("*.wav")))
    with ProcessPoolExecutor(2, get_context("spawn")) as pool:
        waiting = pool.submit(in_talk, hours)
        made, clips = pool.submit(spoken, words).result(), pool.submit(by_people, people, words)
        noise = noise_cuts(NOISE_CUTS, 20)
        classifier = learn_classifier([each for each, _ in made], noise, Course())
        sets = [clip.heard for clip in clips.result()], waiting.result()
    rows = {word: [s for e, s in made if e.label == word and s is not None and len(s)]
            for word in words}  # fmt: skip
    typed = [ways(word) for word in words]
    heard = [as_heard(rows[word]) for word in words]
    ways_of: dict[str, Callable[[Sequence[Heard | None]], Scores]] = {
        "typed": lambda h: by_phones(typed, h),
        "pronunciations as heard": lambda h: by_phones(heard, h),
        "classifier": lambda h: by_classifier(classifier, words, h),
        "classifier and typed": lambda h: _both(by_classifier(classifier, words, h), typed, h),
        "classifier and as heard": lambda h: _both(by_classifier(classifier, words, h), heard, h),
    }
    missing = Counter(c.condition for c in clips.result() if c.heard is None)
    print(f"{len(words)} words, {len(sets[0])} looks (no voice found: {dict(missing)}), "
          f"{len(sets[1])} utterances of talk in {hours:g} h")  # fmt: skip
    for name, way in ways_of.items():
        print(f"| {name} | {told(way(sets[0]), way(sets[1]), clips.result(), words)} |", flush=True)


def _both(
    odds: Scores, several: Sequence[Sequence[Sounds]], heard: Sequence[Heard | None]
) -> Scores:
    return np.asarray(HEAD_COUNTS * odds + FITS_COUNT * by_phones(several, heard))


if __name__ == "__main__":
    os.environ.setdefault("OMP_NUM_THREADS", "1")
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    main(Path(sys.argv[1]), float(sys.argv[2]) if len(sys.argv) > 2 else 1.25)
