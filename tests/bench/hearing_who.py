"""Whether what the ear computes tells its person from another who says the same phrase.

    python -m tests.bench.hearing_who PEOPLE     # recordings that say who speaks (`hearing_people`)
    python -m tests.bench.hearing_who            # synthetic voices that nothing was trained on

Three recordings of each phrase make the person's mark. Printed: how often a stranger's take of the
same phrase is nearer than 98 of 100 of the person's own others, and the equal error rate.
"""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cache
from pathlib import Path

import numpy as np
import numpy.typing as npt

from assistant.hearing.classifier.classifier import Classifier, load_classifier
from assistant.hearing.model_files import SHIPPED
from assistant.hearing.phones.network import shipped
from assistant.hearing.training.noises import Maker, mill, pink
from assistant.hearing.training.voices import SpeakingManner
from assistant.hearing.waves import Wave
from tests.bench.hearing_people import (
    ENROLLED,
    STILL_DB,
    HeardPart,
    Listening,
    Said,
    recordings,
)
from tests.bench.hearing_voices import more_voices, test_voices
from tests.bench.hearing_wide import interval

KEPT = 0.98
IN_A_ROW = 5
CONDITIONS: tuple[tuple[str, Maker, float], ...] = (
    ("clear", pink, STILL_DB),
    ("mill 6 dB", mill, 6.0),
)
PHRASES = ("spindle locked", "guard closed", "cut done", "say again", "what is next", "pin is home")
TAKES = ENROLLED + 2
Marks = npt.NDArray[np.float64]


@dataclass(frozen=True)
class Person:
    """What was heard of one phrase by one person."""

    enrolled: tuple[HeardPart, ...]
    others: tuple[HeardPart, ...]


People = Mapping[Said, Person]


def of_embedding(part: HeardPart) -> Marks:
    """Of the speech embedding the mean over the utterance, 96 numbers."""
    return _standard(part)[:96]


def of_eighths(part: HeardPart) -> Marks:
    """The means over the whole and each eighth, as the classifier is given them."""
    return _standard(part)[:-1]


def of_phones(part: HeardPart) -> Marks:
    """Of the phone network's last block the mean, 192 numbers."""
    return np.asarray(part.inner.mean(axis=0), np.float64)


def of_both(part: HeardPart) -> Marks:
    """Eighths and phones, each of length 1."""
    return np.concatenate([_unit(of_eighths(part)), _unit(of_phones(part))])


MARKS: dict[str, Callable[[HeardPart], Marks]] = {
    "embedding, mean": of_embedding,
    "embedding, eighths": of_eighths,
    "phone network, mean": of_phones,
    "eighths and phones": of_both,
}


@cache
def _classifier() -> Classifier:
    return load_classifier(SHIPPED)


def _standard(part: HeardPart) -> Marks:
    row, classifier = part.row, _classifier()
    if row is None:
        raise ValueError("an utterance without an embedding has no mark")
    return np.asarray((row - classifier.mean) / classifier.deviation, np.float64)


def _unit(mark: Marks) -> Marks:
    return np.asarray(mark / (np.linalg.norm(mark) + 1e-9))


@dataclass(frozen=True)
class Trials:
    """How near takes of a phrase are to the person's three of it: by that person, and by others."""

    own: Mapping[Said, list[float]]
    strangers: Mapping[tuple[str, str], list[float]]  # of whom, by whom


def trials(people: People, mark: Callable[[HeardPart], Marks]) -> Trials:
    """Each person's takes against each person's three recordings of the same phrase. What all have
    in common is taken off first."""
    middle = np.mean([mark(part) for each in people.values() for part in each.enrolled], axis=0)
    marks = {said: [_unit(mark(part) - middle) for part in each.enrolled]
             for said, each in people.items()}  # fmt: skip
    own: dict[Said, list[float]] = {}
    strangers: dict[tuple[str, str], list[float]] = {}
    for (who, phrase), several in marks.items():
        mean = _unit(np.mean(several, axis=0))
        for (other, same), each in people.items():
            if same != phrase:
                continue
            near = [float(mean @ _unit(mark(part) - middle)) for part in each.others]
            if other == who:
                own.setdefault((who, phrase), []).extend(near)
            else:
                strangers.setdefault((who, other), []).extend(near)
    return Trials(own, strangers)


def in_a_row(values: Sequence[float]) -> list[float]:
    """The means of so many takes one after another."""
    whole = len(values) // IN_A_ROW * IN_A_ROW
    return list(np.mean(np.reshape(values[:whole], (-1, IN_A_ROW)), axis=1))


def told(found: Trials) -> Iterator[tuple[str, list[float], list[float]]]:
    """Single takes, and means of several by the same person, of different phrases."""
    people = sorted({who for who, _ in found.own})
    by_person = [[v for said, own in sorted(found.own.items()) if said[0] == who for v in own]
                 for who in people]  # fmt: skip
    yield (
        "one phrase",
        [v for own in by_person for v in own],
        [v for other in found.strangers.values() for v in other],
    )
    yield (
        f"mean of {IN_A_ROW}",
        [v for own in by_person for v in in_a_row(own)],
        [v for other in found.strangers.values() for v in in_a_row(other)],
    )


def cells(own: Sequence[float], strangers: Sequence[float]) -> str:
    """Strangers taken where 98 of 100 of the person's own are, and the equal error rate."""
    if not own or not strangers:
        return "– | – | –"
    at = float(np.sort(own)[int((1 - KEPT) * len(own))])
    taken = int((np.array(strangers) >= at).sum())
    low, high = interval(taken, len(strangers))
    share = 100 * taken / len(strangers)
    return (
        f"{len(own)} / {len(strangers)} | {share:.0f} ({low:.0f} to {high:.0f}) "
        f"| {100 * equal_error(own, strangers):.0f}"
    )


def equal_error(own: Sequence[float], strangers: Sequence[float]) -> float:
    """Where as many of the person's own are refused as of strangers taken."""
    inside, outside = np.array(own), np.array(strangers)
    rates = [((inside < at).mean(), (outside >= at).mean()) for at in np.sort([*own, *strangers])]
    return float(min(max(refused, taken) for refused, taken in rates))


def heard(spoken: Mapping[Said, Sequence[Wave]], noise: Maker, ratio: float) -> People:
    """Three recordings of each phrase in the clear, and the others over noise; a phrase whose
    recordings are not all found is left out."""
    listening, found = Listening(shipped()), {}
    for number, (said, sounds) in enumerate(sorted(spoken.items())):
        rng = np.random.default_rng([71, number])
        enrolled = [listening.to(each, rng, pink, STILL_DB) for each in sounds[:ENROLLED]]
        others = [listening.to(each, rng, noise, ratio) for each in sounds[ENROLLED:]]
        first, rest = _whole(enrolled), _whole(others)
        if len(first) == ENROLLED and rest:
            found[said] = Person(first, rest)
    return found


def _whole(parts: Sequence[HeardPart | None]) -> tuple[HeardPart, ...]:
    return tuple(each for each in parts if each and each.row is not None and len(each.inner))


def synthetic() -> dict[Said, list[Wave]]:
    """Some phrases by the voices of the bench, at several paces and pitches."""
    rng = np.random.default_rng(72)
    return {
        (voice.name, phrase): [
            voice.say(phrase, SpeakingManner(rng.uniform(0.85, 1.15), rng.uniform(0.35, 0.65), n))
            for n in range(TAKES)
        ]
        for voice in (*test_voices(), *more_voices())
        for phrase in PHRASES
    }


def table(people: People, name: str) -> None:
    """A line for each mark, of one condition."""
    for kind, mark in MARKS.items():
        for count, own, strangers in told(trials(people, mark)):
            print(f"| {name} | {kind} | {count} | {cells(own, strangers)} |", flush=True)


def main(words: list[str]) -> None:
    spoken = recordings(Path(words[0])) if words else synthetic()
    print("| | mark | of | own / strangers | strangers taken, % | equal error, % |")
    print("|---|---|---|---|---|---|")
    for name, noise, ratio in CONDITIONS:
        table(heard(spoken, noise, ratio), name)


if __name__ == "__main__":
    main(sys.argv[1:])
