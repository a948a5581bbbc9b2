"""Three recordings of a phrase by a person, and how often the others of it are then missed.

    python -m tests.bench.hearing_enrolled PEOPLE TALK

PEOPLE is a folder of recordings that say who speaks (`hearing_people`), TALK what `hearing_hours
listen talk` made. Of each way of enrolling, the threshold is the one at which the phrases have
half a false alarm an hour, in the mean, on every other utterance of the talk; the misses beside a
mill at 6 dB, and the false alarms on the rest of the talk, are printed.
"""

from __future__ import annotations

import sys
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
import numpy.typing as npt

from assistant.hearing.classifier.classifier import Layers, layer_outputs, load_classifier
from assistant.hearing.classifier.fitting import fit_layers
from assistant.hearing.model_files import SHIPPED
from assistant.hearing.person.adapting import COURSE, OWN_WEIGHT
from assistant.hearing.phones.layer_fitting import Known, fitted
from assistant.hearing.phones.network import BLANK, PhoneNetwork, shipped
from assistant.hearing.phones.phrase_fit import ways
from assistant.hearing.phones.scoring import Sounds, free_score, scores
from assistant.hearing.training.noises import TRAINED_ON, mill, pink
from assistant.hearing.waves import Wave
from tests.bench.hearing_people import (
    ENROLLED,
    STILL_DB,
    HeardPart,
    Listening,
    Said,
    recordings,
    talk,
    together,
)
from tests.bench.hearing_wide import interval

MILL_DB, AN_HOUR = 6.0, 0.5
VERSIONS = 1
NEVER = -99.0
Scores = npt.NDArray[np.float64]


@dataclass(frozen=True)
class Phrase:
    """Three recordings in the clear and in noise, and the others beside a mill; None where the
    detector found no voice."""

    enrolled: tuple[HeardPart | None, ...]
    noisy: tuple[HeardPart | None, ...]
    others: tuple[HeardPart | None, ...]


People = Mapping[Said, Phrase]


def listened(spoken: Mapping[Said, Sequence[Wave]], listening: Listening) -> People:
    """All of these recordings through detector and networks."""
    return {said: _phrase(listening, n, spoken[said]) for n, said in enumerate(sorted(spoken))}


def _phrase(listening: Listening, number: int, sounds: Sequence[Wave]) -> Phrase:
    def still(n: int) -> HeardPart | None:
        return listening.to(sounds[n], np.random.default_rng([68, number, n]), pink, STILL_DB)

    def noisy(n: int, version: int) -> HeardPart | None:
        rng = np.random.default_rng([69, number, n, version])
        noise = TRAINED_ON[int(rng.integers(len(TRAINED_ON)))]
        return listening.to(sounds[n], rng, noise, float(rng.uniform(0, 20)))

    def other(n: int) -> HeardPart | None:
        return listening.to(sounds[n], np.random.default_rng([70, number, n]), mill, MILL_DB)

    return Phrase(
        tuple(still(n) for n in range(ENROLLED)),
        tuple(noisy(n, v) for n in range(ENROLLED) for v in range(VERSIONS)),
        tuple(other(n) for n in range(ENROLLED, len(sounds))),
    )


Way = Callable[[People, Sequence[HeardPart | None]], dict[Said, Scores]]
"""For each phrase how well each of some utterances is it: the higher the surer."""


def by_spelling(people: People, heard: Sequence[HeardPart | None]) -> dict[Said, Scores]:
    """The pronunciations of the dictionary: no recording is used."""
    return _fits(shipped(), {said: _spelt(said[1]) for said in people}, heard)


def by_layer(people: People, heard: Sequence[HeardPart | None]) -> dict[Said, Scores]:
    """The same with the layer of phones fitted to the person's recordings of all phrases."""
    found: dict[Said, Scores] = {}
    for who in sorted({who for who, _ in people}):
        own = {said: phrase for said, phrase in people.items() if said[0] == who}
        network = _fitted(own)
        found |= _fits(network, {said: _spelt(said[1]) for said in own}, heard)
    return found


def by_example(people: People, heard: Sequence[HeardPart | None]) -> dict[Said, Scores]:
    """What the phones heard in the three recordings as the pronunciations."""
    network = shipped()
    return _fits(network, {said: _decoded(network, each) for said, each in people.items()}, heard)


def by_nearness(people: People, heard: Sequence[HeardPart | None]) -> dict[Said, Scores]:
    """The nearest of the three recordings, by the cosine of the numbers that the classifier is
    given."""
    classifier = load_classifier(SHIPPED)
    rows = _rows(heard, classifier.mean, classifier.deviation)
    found = {}
    for said, phrase in people.items():
        own = _rows(phrase.enrolled, classifier.mean, classifier.deviation)
        found[said] = _left_out(heard, np.max(_unit(rows) @ _unit(own).T, axis=1))
    return found


def by_label(people: People, heard: Sequence[HeardPart | None]) -> dict[Said, Scores]:
    """A label more for each of a person's phrases in the classifier, fitted on as `voice learn`
    does."""
    classifier = load_classifier(SHIPPED)
    kept, labels = classifier.standardised(), classifier.remembered_labels.astype(np.int64)
    rows = _rows(heard, classifier.mean, classifier.deviation)
    found: dict[Said, Scores] = {}
    for who in sorted({who for who, _ in people}):
        own = [said for said in sorted(people) if said[0] == who]
        several = [
            _rows([each for each in (*people[s].enrolled, *people[s].noisy) if each],
                  classifier.mean, classifier.deviation) for s in own
        ]  # fmt: skip
        more = np.concatenate(several)
        weights = np.concatenate([
            np.full(len(more), OWN_WEIGHT * len(kept) / len(more)), np.ones(len(kept))
        ]).astype(np.float32)  # fmt: skip
        first = len(classifier.labels)
        told = np.concatenate([first + n * np.ones(len(each), int)
                               for n, each in enumerate(several)])  # fmt: skip
        layers = fit_layers(
            _wider(classifier.layers, len(own)), np.concatenate([more, kept]),
            np.concatenate([told, labels]), weights, replace(COURSE, rate=1e-3),
        )  # fmt: skip
        said_by = layer_outputs(layers, rows)
        for n, said in enumerate(own):
            rest = np.delete(said_by, first + n, axis=1)
            found[said] = _left_out(
                heard, said_by[:, first + n] - np.logaddexp.reduce(rest, axis=1)
            )
    return found


def both(one: Way, other: Way, weight: float) -> Way:
    """The sum of two ways, the second `weight` times."""

    def together(people: People, heard: Sequence[HeardPart | None]) -> dict[Said, Scores]:
        first, second = one(people, heard), other(people, heard)
        return {said: first[said] + weight * second[said] for said in first}

    return together


def _wider(layers: Layers, more: int) -> Layers:
    out = np.pad(layers.out, ((0, 0), (0, more)))
    return Layers(layers.hidden, layers.hidden_bias, out, np.pad(layers.out_bias, (0, more)))


def _rows(heard: Sequence[HeardPart | None], mean: np.ndarray, by: np.ndarray) -> np.ndarray:
    none = np.zeros_like(mean)
    raw = [none if each is None or each.row is None else (each.row - mean) / by for each in heard]
    return np.array(raw, np.float32)


def _left_out(heard: Sequence[HeardPart | None], found: np.ndarray) -> Scores:
    return np.array([NEVER if each is None or each.row is None else value
                     for each, value in zip(heard, found, strict=True)])  # fmt: skip


def _unit(rows: np.ndarray) -> np.ndarray:
    return np.asarray(rows / (np.linalg.norm(rows, axis=1, keepdims=True) + 1e-9))


def _spelt(phrase: str) -> tuple[Sounds, ...]:
    return ways(phrase)


def _decoded(network: PhoneNetwork, phrase: Phrase) -> tuple[Sounds, ...]:
    """The likeliest phone of each moment, runs of one told once."""
    found = []
    for each in phrase.enrolled:
        if each is None or not len(each.inner):
            continue
        best = network.said(each.inner).argmax(axis=1)
        runs = [int(p) for n, p in enumerate(best) if p != BLANK and (n == 0 or p != best[n - 1])]
        if runs:
            found.append(tuple(runs))
    return tuple(found)


def _fitted(own: People) -> PhoneNetwork:
    """The throat is left as it is: the blocks would have to hear everything anew."""
    network, known = shipped(), []
    for (_, word), phrase in own.items():
        for number, each in enumerate(phrase.enrolled):
            if each is None or not len(each.inner):
                continue
            said = _best(network, each, ways(word))
            alike = phrase.noisy[number * VERSIONS : (number + 1) * VERSIONS]
            known += [
                Known(part.inner, said) for part in (each, *alike) if part and len(part.inner)
            ]
    return network.for_person(network.stretch, fitted(network.layer, known))


def _best(network: PhoneNetwork, part: HeardPart, several: tuple[Sounds, ...]) -> Sounds:
    lengths = np.array([len(each) for each in several])
    return several[int((scores(network.said(part.inner), several) / lengths).argmax())]


def _fits(
    network: PhoneNetwork,
    several: Mapping[Said, tuple[Sounds, ...]],
    heard: Sequence[HeardPart | None],
) -> dict[Said, Scores]:
    """By each phone so much better than any phones at all, in the best of the pronunciations."""
    told = [(said, each) for said, own in several.items() for each in own]
    sizes = np.array([len(each) for _, each in told])
    made = np.full((len(told), len(heard)), NEVER)
    for n, part in enumerate(heard):
        if part is not None and len(part.inner):
            said = network.said(part.inner)
            made[:, n] = (scores(said, [each for _, each in told]) - free_score(said)) / sizes
    found = {said: np.full(len(heard), NEVER) for said in several}
    for (said, _), row in zip(told, made, strict=True):
        found[said] = np.maximum(found[said], row)
    return found


WAYS: dict[str, Way] = {
    "spelling alone, no recording": by_spelling,
    "spelling, phones fitted to the person": by_layer,
    "phones as heard in the three": by_example,
    "nearest of the three by the embedding": by_nearness,
    "a label more in the classifier": by_label,
    "classifier and fitted phones": both(by_label, by_layer, 6.0),
}
"""A fit counts six times in the sum as 3 beside 0.5 in the ear itself (`phrase_fit`)."""


@dataclass(frozen=True)
class Found:
    """One way on some people: scores of their own takes, of each other's phrases, and of talk."""

    own: Scores
    others: Scores
    talk: Scores  # (phrases, utterances)


def found_by(way: Way, people: People, spoken: Sequence[HeardPart]) -> Found:
    order = sorted(people)
    flat = [(said, each) for said in order for each in people[said].others]
    told = way(people, [*spoken, *(each for _, each in flat)])
    own, others = [], []
    for n, ((who, phrase), _) in enumerate(flat, len(spoken)):
        own.append(told[who, phrase][n])
        unlike = [w for w in order if w[0] == who and not set(w[1].split()) & set(phrase.split())]
        others += [told[each][n] for each in unlike]
    talked = [told[said][: len(spoken)] for said in order]
    return Found(np.array(own), np.array(others), np.array(talked))


def threshold(talked: Scores, hours: float) -> float:
    """What leaves the mean phrase half a false alarm an hour."""
    allowed = int(AN_HOUR * hours * len(talked))
    return float(np.sort(talked.ravel())[::-1][allowed])


def line(name: str, found: Found, hours: float) -> str:
    at = threshold(found.talk[:, ::2], hours / 2)
    missed, of = int((found.own <= at).sum()), len(found.own)
    low, high = interval(missed, of)
    alarms = (found.talk[:, 1::2] > at).sum() / (hours / 2 * len(found.talk))
    wrong = 100 * float((found.others > at).mean()) if len(found.others) else 0.0
    return (
        f"| {name} | {100 * missed / of:.1f} ({low:.1f} to {high:.1f}) of {of} "
        f"| {alarms:.2f} | {wrong:.1f} |"
    )


HEADING = "| way | missed at 6 dB, % | false alarms an hour | another phrase taken, % |"


def main(words: list[str]) -> None:
    listening = Listening(shipped())
    utterances, hours = talk(Path(words[1]))
    spoken = [listening.heard(pcm) for pcm in utterances]
    single = recordings(Path(words[0]))
    for count, several in ((1, single), (2, together(single, 2))):
        table(count, listened(several, listening), spoken, hours)


def table(count: int, people: People, spoken: Sequence[HeardPart], hours: float) -> None:
    who = len({who for who, _ in people})
    print(f"\n{len(people)} phrases of {count} by {who} people, {hours:.2f} h of talk:\n")
    print(HEADING + "\n|---|---|---|---|")
    for name, way in WAYS.items():
        print(line(name, found_by(way, people, spoken), hours), flush=True)


if __name__ == "__main__":
    main(sys.argv[1:])
