"""The layer of phones fits recordings whose words are known; reckoned beside every path by hand."""

from __future__ import annotations

from itertools import groupby, product

import numpy as np

from assistant.hearing.phones.layer_fitting import Known, fitted, shares
from assistant.hearing.phones.network import BLANK, PHONES, WIDTH, Layer, in_logarithms
from assistant.hearing.phones.scoring import labels_of, scores


def by_every_path(heard: np.ndarray, said: tuple[int, ...]) -> np.ndarray:
    """The definition of Graves et al. (2006): all paths that are these phones once repeats and
    blanks are taken away, each by its chance; how much of each row each phone then has."""
    total, found = 0.0, np.zeros(heard.shape)
    for path in product(range(heard.shape[1]), repeat=len(heard)):
        if tuple(phone for phone, _ in groupby(path) if phone != BLANK) != said:
            continue
        chance = np.exp(sum(heard[row, phone] for row, phone in enumerate(path)))
        total += chance
        for row, phone in enumerate(path):
            found[row, phone] += chance
    return found / total


def test_shares_are_those_of_every_path() -> None:
    """A word, one with the same phone twice, and a shorter recording beside a longer one."""
    rng = np.random.default_rng(3)
    words = [(1, 2), (1, 1), (2,)]
    lengths = np.array([5, 5, 3])
    heard = in_logarithms(rng.normal(0, 1.5, (3, 5, 3)).astype(np.float32))
    found = shares(heard, lengths, labels_of(words))
    for row, (word, length) in enumerate(zip(words, lengths, strict=True)):
        assert np.allclose(found[row, :length], by_every_path(heard[row, :length], word), atol=1e-4)


def voice(rng: np.random.Generator, layer: Layer, said: tuple[int, ...]) -> Known:
    """What a voice gives whose phones all lean the same wrong way."""
    rows = np.repeat([BLANK, *[x for phone in said for x in (phone, BLANK)]], 3)
    inner = 0.08 * layer.weight.T[rows] + rng.normal(0, 0.4, (len(rows), WIDTH))
    return Known(inner.astype(np.float32), said)


def test_what_was_said_becomes_likelier_in_other_recordings_too() -> None:
    """Fitted on some recordings of a word, the word fits others of that voice better, and the
    layer stays near where it stood."""
    rng = np.random.default_rng(5)
    layer = Layer(rng.normal(0, 0.3, (WIDTH, len(PHONES) + 1)).astype(np.float32),
                  np.zeros(len(PHONES) + 1, np.float32))  # fmt: skip
    word = (4, 9, 17, 23)
    several = [voice(rng, layer, word) for _ in range(4)]
    other = voice(rng, layer, word)
    own = fitted(layer, several)

    def chance(layer: Layer) -> float:
        return float(scores(in_logarithms(other.inner @ layer.weight + layer.bias), [word])[0])

    assert chance(own) > chance(layer) + 1
    assert np.abs(own.weight - layer.weight).max() < 1


def test_nothing_to_learn_from_leaves_it_as_it_was() -> None:
    """No recording: the same layer."""
    layer = Layer(np.ones((WIDTH, 3), np.float32), np.zeros(3, np.float32))
    assert fitted(layer, []) is layer
