"""Fits the phone network to one person: the length of the throat, and the layer of phones."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence

import numpy as np

from assistant.hearing.phones.layer_fitting import Known, fitted
from assistant.hearing.phones.network import MOST_S, PhoneNetwork
from assistant.hearing.phones.phrase_fit import ways
from assistant.hearing.phones.scoring import Sounds, free_score, scores
from assistant.hearing.training.noises import TRAINED_ON
from assistant.hearing.waves import RATE, Wave, mix

STRETCHES = (0.8, 0.9, 1.0, 1.12, 1.25, 1.4, 1.55)
"""Throats from a big man's to a small child's, against the middle of those of the training."""

WORTH = 0.05
"""Another throat than the usual must fit the recordings so much better, by each phone."""

VERSIONS = 3
"""Of each recording in noise, beside the clear one."""

LOUDEST_DB, FAINTEST_DB = 0.0, 20.0
LONGEST_S = MOST_S - 1
_LEAD_S, _TAIL_S = 0.375, 0.25

SpokenPhrases = Mapping[str, Sequence[Wave]]
"""A phrase to its recordings, the spoken parts alone, 16 kHz."""


def phones_of(
    network: PhoneNetwork, spoken: SpokenPhrases, tell: Callable[[str], None], seed: int = 3
) -> PhoneNetwork:
    """The network as this person is heard best; as it was where no phrase has sounds that are
    known. A phrase that can't be pronounced is left out."""
    known = {phrase: fine for phrase, sounds in spoken.items() if ways(phrase)
             if (fine := [sound for sound in sounds if len(sound) < LONGEST_S * RATE])}  # fmt: skip
    if not known:
        return network
    rightly = network.for_person(throat(network, known), network.layer)
    tell("the sounds of your voice: some seconds more")
    several = list(_known(np.random.default_rng(seed), rightly, known))
    return rightly.for_person(rightly.stretch, fitted(network.layer, several))


def throat(network: PhoneNetwork, spoken: SpokenPhrases) -> float:
    """The stretch of the bands, 1 for none, with which one recording of each phrase fits best."""
    fits = {stretch: _fit(network.for_person(stretch, network.layer), spoken)
            for stretch in STRETCHES}  # fmt: skip
    best = max(fits, key=lambda stretch: fits[stretch])
    return best if fits[best] > fits[1.0] + WORTH else 1.0


def _fit(network: PhoneNetwork, spoken: SpokenPhrases) -> float:
    heard = [(phrase, network.hear(_padded(sounds[0]))) for phrase, sounds in spoken.items()]
    return float(np.mean([_nearest(network, each, phrase)[1] for phrase, each in heard]))


def _nearest(network: PhoneNetwork, heard: np.ndarray, phrase: str) -> tuple[Sounds, float]:
    """The pronunciation of a phrase that fits best, and how well by each phone."""
    several = ways(phrase)
    scored = (scores(heard, several) - free_score(heard)) / np.array(
        [len(each) for each in several]
    )
    return several[int(scored.argmax())], float(scored.max())


def _known(
    rng: np.random.Generator, network: PhoneNetwork, spoken: SpokenPhrases
) -> Iterator[Known]:
    for phrase, sounds in spoken.items():
        for sound in sounds:
            clear = network.inner(_padded(sound))
            if not len(clear):
                continue
            said, _ = _nearest(network, network.said(clear), phrase)
            yield Known(clear, said)
            for _ in range(VERSIONS):
                yield Known(network.inner(_in_noise(rng, _padded(sound))), said)


def _padded(sound: Wave) -> Wave:
    return np.pad(sound, (int(_LEAD_S * RATE), int(_TAIL_S * RATE)))


def _in_noise(rng: np.random.Generator, sound: Wave) -> Wave:
    kind = TRAINED_ON[int(rng.integers(len(TRAINED_ON)))]
    return mix(sound, kind(rng, len(sound)), float(rng.uniform(LOUDEST_DB, FAINTEST_DB)))
