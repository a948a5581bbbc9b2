"""Learning its person: the classifier fitted on to a few recordings of each phrase.

Three recordings of each phrase are spoilt with shop noises as in training; the classifier is then
fitted on a little from where it stood, on these and on the rows it remembers, so that what
it knew is not lost. The recordings stay on this machine.
"""

from __future__ import annotations

import contextlib
import shutil
from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from pathlib import Path

import numpy as np

from assistant.devices.sound.loudness import FAINTEST, decibels, rms
from assistant.errors import Refusal
from assistant.hearing.classifier.classifier import NONE, Classifier
from assistant.hearing.classifier.embedding import Networks
from assistant.hearing.classifier.features import Features
from assistant.hearing.classifier.fitting import Course, fit_layers
from assistant.hearing.endpointing import USUAL, Segment
from assistant.hearing.person.learned_sound import LearnedSound
from assistant.hearing.person.phones_of import phones_of
from assistant.hearing.person.voice_doors import WIDEST, doors_for, heard_as, utterance
from assistant.hearing.phones.network import shipped
from assistant.hearing.training.corpus import cut_out, rows_of, snr_of
from assistant.hearing.training.spoiling import spoil_speech
from assistant.hearing.waves import RATE, Wave, to_pcm
from assistant.words.language import ENGLISH, in_force

VERSIONS = 8
"""Spoilt versions of each recording."""

SHORTEST, LONGEST = 0.3, 10.0
AROUND_S = 0.1
A_PIECE = 0.7
"""What is shorter than so much of what the widest doors let in is only a piece of it."""

COURSE = Course(epochs=12, batch=128, rate=1e-4, smoothing=0.0, seed=2)
"""Gentle: a few hundred rows, fitted as boldly as in training, undo what thousands had taught."""

OWN_WEIGHT = 4
"""How much this person counts against everybody else together. On three sets of recordings beside
a mill: 2 gave their phrases 0 to 0.04 more certainty, 4 gave 0.04 to 0.08 and as many single words
taken as before, 6 nearly twice as many."""

Recordings = Mapping[str, Sequence[Wave]]
"""A phrase to its recordings, 16 kHz."""


def checked_recording(phrase: str, sound: Wave) -> Wave:
    """The spoken part of a recording. Raises Refusal when it can't be learned from."""
    seconds = len(sound) / RATE
    if seconds < SHORTEST:
        raise Refusal(f"{phrase}: {seconds:.1f} s recorded", "say the whole phrase", ": ")
    if seconds > LONGEST:
        raise Refusal(
            f"{phrase}: {seconds:.0f} s recorded", "say the phrase alone, then be still", ": "
        )
    if decibels(rms(sound)) < FAINTEST:
        raise Refusal(f"{phrase}: nothing was recorded", "is the microphone muted?", ": ")
    return _spoken_part(phrase, sound)


def _spoken_part(phrase: str, sound: Wave) -> Wave:
    """What the voice detector finds, with a little round it, so that the silence of the
    recording is not learned."""
    lead = np.zeros(RATE, np.float32)
    padded = np.concatenate([lead, sound, lead])
    pcm = to_pcm(padded)
    voice = heard_as(pcm)
    found, most = utterance(voice, pcm, USUAL), utterance(voice, pcm, WIDEST)
    if most is None:
        raise Refusal(
            f"{phrase}: no voice in the recording", "speak nearer to the microphone", ": "
        )
    if found is None or _seconds(found) < A_PIECE * _seconds(most):
        found = most  # a voice that the detector finds pieces of at most
    first, last = found.start_s - AROUND_S, found.end_s + AROUND_S
    return padded[int(first * RATE) : int(last * RATE)]


def _seconds(segment: Segment) -> float:
    return segment.end_s - segment.start_s


def adapt(
    classifier: Classifier, recordings: Recordings, tell: Callable[[str], None], seed: int = 3
) -> Classifier:
    """A classifier that knows this voice. Raises Refusal for a phrase the classifier does not know,
    for a recording that will not do, and when no recording holds a voice that can be found."""
    rows, labels = _own_rows(classifier, recordings, tell, seed)
    if not len(rows):
        raise Refusal(
            "no voice was found in any recording", "record nearer to the microphone", ": "
        )
    own = (rows - classifier.mean) / classifier.deviation
    kept = classifier.standardised()
    all_rows = np.concatenate([own, kept])
    all_labels = np.concatenate([labels, classifier.remembered_labels.astype(np.int64)])
    weights = np.concatenate(
        [
            np.full(len(own), OWN_WEIGHT * (len(kept) + 1) / len(own), np.float32),
            np.ones(len(kept), np.float32),
        ]
    )
    return replace(
        classifier, layers=fit_layers(classifier.layers, all_rows, all_labels, weights, COURSE)
    )


def sound_of(recordings: Recordings, tell: Callable[[str], None]) -> LearnedSound:
    """What else is learned of this voice. Raises Refusal for a recording that will not do, and for
    a phone network that can't be read."""
    spoken = {
        p: [checked_recording(p, sound) for sound in sounds] for p, sounds in recordings.items()
    }
    doors = doors_for([sound for sounds in spoken.values() for sound in sounds])
    if in_force() is not ENGLISH:
        return LearnedSound(doors)
    network = shipped()
    own = phones_of(network, spoken, tell)
    return LearnedSound(doors, own.stretch, own.layer, network.checksum)


def _own_rows(
    classifier: Classifier, recordings: Recordings, tell: Callable[[str], None], seed: int
) -> tuple[Features, np.ndarray[tuple[int], np.dtype[np.int64]]]:
    networks, rng = Networks(), np.random.default_rng(seed)
    rows: list[Features] = []
    labels: list[int] = []
    for phrase, sounds in recordings.items():
        if phrase not in classifier.labels or phrase == NONE:
            raise Refusal(f"{phrase}: the ear was not trained for this phrase", "")
        for sound in sounds:
            fine = checked_recording(phrase, sound)
            for _ in range(VERSIONS):
                cut = cut_out(networks, spoil_speech(rng, fine, snr_of(rng)))
                made = rows_of(cut) if cut else []
                rows += made
                labels += [classifier.labels.index(phrase)] * len(made)
        tell(f"{phrase}: {len(sounds)} recordings")
    return np.array(rows, np.float32), np.array(labels, np.int64)


def forget(recordings: Path, learned: Path, *others: Path) -> bool:
    """Delete the person's recordings and the files that were learned from them; False when there
    were none. A classifier trained for own phrases holds nothing of the person and stays."""
    known = any(file.exists() for file in (recordings, learned, *others))
    if recordings.exists():
        shutil.rmtree(recordings)
    for file in (learned, *others):
        file.unlink(missing_ok=True)
    with contextlib.suppress(OSError):
        learned.parent.rmdir()  # where nothing else is kept
    return known
