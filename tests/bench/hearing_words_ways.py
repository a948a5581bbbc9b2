"""The ways in which six trained words are told from everything else, and their table.

A way gives each utterance a score for each word. The threshold of a word is the least one at which
every other utterance of the talk has at most 0.1 false alarms an hour; the others are counted.
"""

from __future__ import annotations

import os
from collections import Counter
from collections.abc import Callable, Sequence
from concurrent.futures import ProcessPoolExecutor
from multiprocessing import get_all_start_methods, get_context
from typing import Any

import numpy as np
import numpy.typing as npt

from assistant.hearing.classifier.classifier import Classifier, layer_outputs, softmax
from assistant.hearing.phones.layer_fitting import Known, fitted
from assistant.hearing.phones.network import BLANK, Rows, shipped
from assistant.hearing.phones.phrase_fit import (
    FITS_COUNT,
    HEAD_COUNTS,
    PRONUNCIATIONS,
    PhraseFits,
    chances_together,
)
from assistant.hearing.phones.scoring import Sounds, free_score, scores, sounds
from tests.bench.hearing_wide import interval
from tests.bench.hearing_words_heard import WORDS, Clip, Cut, Ears, Heard, spelt

AN_HOUR = 0.1
NEVER = -99.0
PRONUNCIATIONS_HEARD, LEAST_SOUNDS = 8, 4
FITTED_ON, OF_OTHERS = 100, 8

Scores = npt.NDArray[np.float64]
"""(utterances, words)"""

Way = Callable[[Sequence[Heard | None]], Scores]


def _each(several: Sequence[Heard | None], told: Callable[[Heard], Any]) -> Scores:
    """`told` of each utterance that there is."""
    global _asked  # noqa: PLW0603 - processes that are forked find it there
    _asked = (several, told)
    parts = np.array_split(np.arange(len(several)), 64)
    if "fork" not in get_all_start_methods():
        return np.concatenate([_part(part) for part in parts])
    with ProcessPoolExecutor(len(os.sched_getaffinity(0)), get_context("fork")) as pool:
        return np.concatenate(list(pool.map(_part, parts)))


_asked: tuple[Sequence[Heard | None], Callable[[Heard], Any]]


def _part(numbers: npt.NDArray[np.int64]) -> Scores:
    several, told = _asked
    none = np.full(len(WORDS), NEVER)
    made = [none if (each := several[n]) is None else told(each) for n in numbers]
    return np.array(made).reshape(-1, len(WORDS))


def by_fits(of_words: Sequence[Sequence[Sounds]], said: Callable[[Heard], Rows]) -> Way:
    """How well the best pronunciation fits, by each phone, the phones that `said` gives."""
    flat = [(n, each) for n, several in enumerate(of_words) for each in several]

    def told(each: Heard) -> Scores:
        rows = said(each)
        found = np.full(len(WORDS), NEVER)
        if len(rows):
            made = scores(rows, [sounds for _, sounds in flat]) - free_score(rows)
            for (n, own), score in zip(flat, made, strict=True):
                found[n] = max(found[n], score / len(own))
        return found

    return lambda several: _each(several, told)


def heard_by_shipped(each: Heard) -> Rows:
    """The phones of the network that ships."""
    return shipped().said(each.inner.astype(np.float32))


def by_spelling() -> list[list[Sounds]]:
    return [[sounds(each) for each in spelt(word)] for word in WORDS]


def pronunciations_heard(cuts: Sequence[Cut]) -> list[list[Sounds]]:
    """Of what the phones hear in the synthetic recordings of a word, the pronunciations that
    together fit all of them best, one after the other."""
    return [_heard_of([cut for cut in cuts if cut.label == word]) for word in WORDS]


def _heard_of(own: Sequence[Cut]) -> list[Sounds]:
    rows = [shipped().said(c.inner.astype(np.float32)) for c in own if c.inner is not None]
    counted = Counter(map(_decoded, rows))
    likely = [each for each, _ in counted.most_common(60) if len(each) >= LEAST_SOUNDS]
    fits = np.array(
        [(scores(said, likely) - free_score(said)) / [len(e) for e in likely] for said in rows]
    )
    chosen: list[int] = []
    best = np.full(len(rows), NEVER)
    for _ in range(min(PRONUNCIATIONS_HEARD, len(likely))):
        gains = np.maximum(fits, best[:, None]).mean(axis=0)
        chosen.append(int(gains.argmax()))
        best = np.maximum(best, fits[:, chosen[-1]])
    return [likely[n] for n in chosen]


def _decoded(said: Rows) -> Sounds:
    best = said.argmax(axis=1)
    runs = (p for n, p in enumerate(best) if p != BLANK and (n == 0 or p != best[n - 1]))
    return tuple(map(int, runs))


def layer_fitted(cuts: Sequence[Cut]) -> Callable[[Heard], Rows]:
    """The layer of phones fitted to the synthetic recordings of the words, and of the phrases of
    the program so that it stays where it was."""
    rng, known = np.random.default_rng(5), []
    with_rows = [cut for cut in cuts if cut.inner is not None]
    for label in sorted({cut.label for cut in with_rows}):
        own = [cut for cut in with_rows if cut.label == label]
        most = FITTED_ON if label in WORDS else OF_OTHERS
        several = [sounds(each) for each in spelt(label)]
        for n in rng.permutation(len(own))[:most]:
            inner = np.asarray(own[n].inner, np.float32)
            known.append(Known(inner, _nearest(shipped().said(inner), several)))
    network = shipped().for_person(1.0, fitted(shipped().layer, known))
    return lambda each: network.said(each.inner.astype(np.float32))


def _nearest(said: Rows, several: Sequence[Sounds]) -> Sounds:
    return several[int((scores(said, several) / [len(each) for each in several]).argmax())]


def by_layers(six: Classifier) -> Way:
    """The classifier of the words alone, without networks: each word against all the rest."""

    def told(each: Heard) -> Scores:
        if each.row is None:
            return np.full(len(WORDS), NEVER)
        said = layer_outputs(six.layers, (each.row - six.mean) / six.deviation)
        return _odds(softmax(said))[[six.labels.index(word) for word in WORDS]]

    return lambda several: _each(several, told)


def by_chain(complete: Classifier, *, phones: bool) -> Way:
    """The classifier and networks that the training of the program makes for its phrases and the
    words, with the phones where asked: the surer of the word the higher, at the ear's own weights.
    0.405 is the confidence of 0.6 from which the ear takes a phrase."""
    labels = complete.labels[:-1]
    PRONUNCIATIONS.update(WORDS)  # the dictionary lacks one of them
    fits = PhraseFits(labels, shipped())

    def told(each: Heard) -> Scores:
        if each.row is None:
            return np.full(len(WORDS), NEVER)
        likely = complete.parts(each.row, each.mels.astype(np.float32)).mixed()
        fit = fits.of(heard_by_shipped(each)) if phones else None
        chances = likely if fit is None else chances_together(likely, fit)
        return _odds(chances)[[labels.index(word) for word in WORDS]]

    return lambda several: _each(several, told)


def _odds(chances: npt.NDArray[np.float32]) -> Scores:
    likely = np.clip(chances.astype(np.float64), 1e-9, 1 - 1e-9)
    return np.asarray(np.log(likely) - np.log(1 - likely))


def by_taught(values: Any) -> tuple[Way, Way]:
    """The outputs of a network that was taught the words, and the fit of what it hears."""
    from tests.bench.hearing_words_taught import outputs

    def words(several: Sequence[Heard | None]) -> Scores:
        made = outputs(values, [each.bands for each in several if each])[0]
        found = np.full((len(several), len(WORDS)), NEVER)
        found[[each is not None for each in several]] = _odds(softmax(made))[:, : len(WORDS)]
        return found

    def fits(several: Sequence[Heard | None]) -> Scores:
        there = [each for each in several if each]
        made = outputs(values, [each.bands for each in there])[1]
        known = {id(each): rows for each, rows in zip(there, made, strict=True)}
        return by_fits(by_spelling(), lambda each: known[id(each)])(several)

    return words, fits


def summed(chances: Way, fits: Way) -> Way:
    """Both, at the weights that the ear has for its classifier and its phones."""
    return lambda several: HEAD_COUNTS * chances(several) + FITS_COUNT * fits(several)


def ways(complete: Classifier, six: Classifier, cuts: Sequence[Cut], taught: Any) -> dict[str, Way]:
    """All that are compared."""
    typed = by_fits(by_spelling(), heard_by_shipped)
    as_heard = by_fits(pronunciations_heard(cuts), heard_by_shipped)
    with_both = [[*a, *b] for a, b in zip(by_spelling(), pronunciations_heard(cuts), strict=True)]
    layer = by_fits(by_spelling(), layer_fitted(cuts))
    alone = by_layers(six)
    both = by_fits(with_both, heard_by_shipped)
    found = {
        "typed, not trained: the phones": typed,
        "1. trained as the program does": by_chain(complete, phones=True),
        "1. the same, classifier and networks without the phones": by_chain(complete, phones=False),
        "2. a classifier of the six, the embedding alone": alone,
        "2. the same and the phones": summed(alone, typed),
        "3. the phones, pronunciations as heard": as_heard,
        "3. the phones, spelt and heard": both,
        "3. the same and the classifier of the six": summed(alone, both),
        "4. the layer of phones fitted": layer,
        "4. the same and the classifier of the six": summed(alone, layer),
    }
    return found | (_taught_ways(taught, typed, alone) if taught else {})


def _taught_ways(taught: Any, typed: Way, alone: Way) -> dict[str, Way]:
    above, _ = by_taught(taught.above)
    whole, fits = by_taught(taught.whole)
    return {
        "5. a small network on the phones' last block": above,
        "5. the same and the phones": summed(above, typed),
        "6. the whole phone network taught: words": whole,
        "6. the same: phones": fits,
        "6. the same: both": summed(whole, fits),
        "6. the same: both, and the classifier of the six": lambda several: (
            summed(whole, fits)(several) + HEAD_COUNTS * alone(several)
        ),
    }


def threshold(talked: Scores, hours: float) -> Scores:
    """For each word what leaves at most `AN_HOUR` false alarms in so many hours of talk."""
    return np.asarray(np.sort(talked, axis=0)[::-1][int(AN_HOUR * hours)])


def table(
    complete: Classifier, six: Classifier, cuts: Sequence[Cut], taught: Any, ears: Ears
) -> str:
    """A row for each way."""
    lines = [
        f"{len(ears.people)} clips by people, {len(ears.voices)} by synthetic voices, "
        f"{len(ears.talk)} utterances in {ears.hours:.2f} h of talk",
        "| way | voices clean / 10 dB | people clean | people 10 dB | worst word | false an hour "
        "| another word |", "|---|---|---|---|---|---|---|",
    ]  # fmt: skip
    for name, way in ways(complete, six, cuts, taught).items():
        lines += _lines(name, way, ears)
    return "\n".join(lines)


def _lines(name: str, way: Way, ears: Ears) -> list[str]:
    talked = way(ears.talk)
    several = (ears.people, ears.voices)
    told = [way([clip.heard for clip in clips]) for clips in several]
    at = threshold(talked[::2], ears.hours / 2)
    found = [_row(name, ears, told, talked[1::2], at)]
    if name.startswith("1. trained"):
        usual = np.full(len(WORDS), float(np.log(0.6 / 0.4)))
        found.append(_row(f"{name}, its own threshold", ears, told, talked, usual))
    return found


def _row(name: str, ears: Ears, told: Sequence[Scores], talked: Scores, at: Scores) -> str:
    people, voices = (
        _taken(*each, at) for each in zip((ears.people, ears.voices), told, strict=True)
    )
    alarms = (talked > at).sum(axis=0) / (ears.hours * len(talked) / len(ears.talk))
    clean, noisy = (people[0][condition] for condition in ("clean", "mill 10 dB"))
    by_word = {word: 100 * np.mean(noisy[word]) for word in WORDS}
    return (
        f"| {name} | {_share(voices[0]['clean'])} / {_share(voices[0]['mill 10 dB'])} "
        f"| {_share(clean)} | {_share(noisy)} "
        f"| {', '.join(f'{w} {s:.0f}' for w, s in sorted(by_word.items(), key=lambda p: p[1]))} "
        f"| {alarms.mean():.2f}, worst {alarms.max():.2f} | {people[1]} |"
    )


def _taken(clips: Sequence[Clip], told: Scores, at: Scores) -> tuple[dict[str, Any], str]:
    """By condition and word which clips were taken; and how often another word was."""
    found: dict[str, Any] = {}
    wrong = 0
    for clip, row in zip(clips, told > at, strict=True):
        own = list(WORDS).index(clip.word)
        found.setdefault(clip.condition, {word: [] for word in WORDS})[clip.word].append(row[own])
        wrong += row.sum() - row[own]
    return found, f"{wrong} of {len(clips)}"


def _share(by_word: dict[str, list[bool]]) -> str:
    flat = [each for several in by_word.values() for each in several]
    low, high = interval(sum(flat), len(flat))
    return f"{100 * np.mean(flat):.1f} ({low:.1f} to {high:.1f})"
