"""How well each phrase fits the phones that were heard, and what that adds to the trained
classifier.

A phrase is its sounds: one that the classifier was never trained for is heard by them alone.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from itertools import islice, product

import numpy as np
import numpy.typing as npt

from assistant.hearing.phones.network import PhoneNetwork, Rows
from assistant.hearing.phones.scoring import Sounds, free_score, scores, sounds
from assistant.hearing.phones.word_sounds import MOST_WAYS, word_ways
from assistant.hearing.waves import Wave

PRONUNCIATIONS: dict[str, tuple[str, ...]] = {
    "back at the start": ("bækætðəstɑt", "bækætðəstɑɹt", "bækətðəstɑt", "bækətðəstɑɹt"),
    "carry on now": ("kæɹiɔnnW", "kæɹiɒnnW", "kɛɹiɔnnW", "kɛɹiɑnnW", "kæɹiɒnW", "kɛɹiɑnW"),
    "cut done": ("kʌtdʌn", "kʌdʌn"),
    "fewer words": ("fjuəwɜdz", "fjuəɹwɜɹdz", "fjuɹwɜɹdz"),
    "go back one": ("ɡObækwʌn",),
    "guard closed": ("ɡɑdklOzd", "ɡɑɹdklOzd", "ɡɑɹklOzd"),
    "half turn back": ("hɑftɜnbæk", "hæftɜɹnbæk", "hæftɜnbæk"),
    "how many left": ("hWmɛnilɛft",),
    "leave it unmeasured": ("livɪtʌnmɛʒəɹd", "livɪtʌnmɛʒəd", "livɪtʌnmɛʒɜɹd"),
    "lock is off": ("lɑkɪzɒf", "lɑkɪzɔf", "lɒkɪzɒf", "lɒkɪzɔf", "lɑkɪzɑf"),
    "lost my count": ("lɔstmIkWnt", "lɒstmIkWnt", "lɑstmIkWnt", "lɒsmIkWnt", "lɑsmIkWnt"),
    "make a note": ("mAkənOt", "mAkAnOt"),
    "more words": ("mɔwɜdz", "mɔɹwɜɹdz"),
    "next part": ("nɛkstpɑɹt", "nɛkstpɑt", "nɛkspɑɹt", "nɛkspɑt"),
    "pause the job": ("pɔzðəʤɒb", "pɔzðəʤɑb", "pɑzðəʤɑb"),
    "pin is home": ("pɪnɪzhOm", "pɪnzhOm"),
    "place is certain": ("plAsɪzsɜtɪn", "plAsɪzsɜɹtn", "plAsɪzsɜɹtən", "plAsɪsɜɹtn", "plAsɪsɜtn"),
    "reading is true": ("ɹidɪŋɪztɹu", "ɹidɪnɪztɹu", "ɹidɪŋɪzʧɹu"),
    "say again": ("sAəɡɛn", "sAəɡAn", "sAəɡɪn"),
    "set and checked": ("sɛtəndʧɛkt", "sɛtændʧɛkt", "sɛtənʧɛkt", "sɛtnʧɛkt"),
    "spindle locked": ("spɪndllɑkt", "spɪndəllɒkt", "spɪndəllɑkt", "spɪndllɒkt",
                       "spɪndlɑkt", "spɪndlɒkt"),
    "went past the hole": ("wɛntpɑstðəhOl", "wɛntpæstðəhOl", "wɛntpɑsðəhOl", "wɛntpæsðəhOl"),
    "what is next": ("wɑtɪznɛkst", "wʌtɪznɛkst", "wɒtɪznɛkst"),
    "where am i": ("wɛɹəmI", "wɛəmI", "wɛæmI", "wɛɹæmI"),
}  # fmt: skip
"""American and British, with what talk makes of them, in the letters of the network's phones: a "t"
or "d" between consonants is swallowed, two like sounds that meet are one (phonetics textbooks call
these elision and assimilation; from memory)."""

HEAD_COUNTS, FITS_COUNT, USUAL_FIT = 0.5, 3.0, 1.0
"""How much the classifier's logarithm counts, how much the fit does, and what is added to a fit: a
phrase that was said is, by each phone, less than so much worse than any phones at all. Chosen on
five voices that the figures do not count (decision 762)."""

OWN_FIT = 1.0
"""So much better a phrase of the person's own is taken to fit. People fit less well than the voices
on which the three above were chosen. Chosen on four words by people (decision 763): at 1.0 none was
taken for another in the clear and one in a thousand in noise, at 1.5 two."""

ALIKE, APART = frozenset({"fewer words", "more words"}), 1.0
"""The classifier knows neither of these, and only their first syllable tells them apart: the winner
must fit better than the other by so much for each phone. Chosen on five voices that the figures do
not count, the narrowest of whom had 1.7 (decision 765)."""

LEAST_FIT, MOST_FIT = -8.0, 1.0

Fits = npt.NDArray[np.float64]


def ways(phrase: str) -> tuple[Sounds, ...]:
    """How a normalised phrase may be pronounced; none where nothing can pronounce its words."""
    if phrase in PRONUNCIATIONS:
        return tuple(map(sounds, PRONUNCIATIONS[phrase]))
    several = product(*map(word_ways, phrase.split()))
    return tuple(sounds("".join(words)) for words in islice(several, MOST_WAYS))


class PhraseFits:
    """How well each of some phrases fits a sound; those that are the person's `own` count as
    fitting better by `OWN_FIT`. One that nothing can pronounce neither gains nor loses by it."""

    def __init__(
        self, phrases: Sequence[str], network: PhoneNetwork, own: Collection[str] = ()
    ) -> None:
        self._network, self._count = network, len(phrases)
        self._more = np.array([OWN_FIT if phrase in own else 0.0 for phrase in phrases])
        self._ways = [(n, each) for n, phrase in enumerate(phrases) for each in ways(phrase)]
        # A phrase without sounds is left to the classifier, and takes the phones from no other.
        self._least = np.full(self._count, -USUAL_FIT)
        self._least[[n for n, _ in self._ways]] = LEAST_FIT

    def hear(self, sound: Wave) -> Rows:
        """The phones of a sound; none of one that is too short or too long."""
        return self._network.hear(sound)

    def of(self, heard: Rows) -> Fits | None:
        """By each phone so much better than any phones at all, as a logarithm; None where no phones
        were heard."""
        if not len(heard) or not self._ways:
            return None
        best = self._least.copy()
        scored = scores(heard, [each for _, each in self._ways]) - free_score(heard)
        for (n, each), score in zip(self._ways, scored, strict=True):
            best[n] = max(best[n], score / len(each))
        return np.asarray(np.clip(best + self._more, LEAST_FIT, MOST_FIT))


def chances_together(classifier: npt.NDArray[np.float32], fits: Fits) -> npt.NDArray[np.float32]:
    """The chances of each phrase, and at last of none, by the classifier and by the phones. Of a
    phrase beyond those that the classifier knows it is as sure as of none."""
    likely = np.log(np.maximum(classifier.astype(np.float64), 1e-12))
    own = np.full(len(fits), likely[-1])
    own[: len(classifier) - 1] = likely[:-1]
    both = HEAD_COUNTS * own + FITS_COUNT * (fits + USUAL_FIT)
    said = np.append(both, HEAD_COUNTS * likely[-1])
    raised = np.exp(said - said.max())
    return np.asarray(raised / raised.sum(), np.float32)


def stands_apart(phrase: str, phrases: Sequence[str], fits: Fits) -> bool:
    """False where `phrase` hardly fits better than one that sounds nearly like it; `phrases` in the
    order of `fits`."""
    if phrase not in ALIKE:
        return True
    known = dict(zip(phrases, fits, strict=False))
    return all(known[phrase] - known[each] >= APART for each in ALIKE & set(known) - {phrase})
