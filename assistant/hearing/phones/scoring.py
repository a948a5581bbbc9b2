"""How well several words fit the same sound: the CTC forward score (Graves et al., 2006)."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from assistant.hearing.phones.network import BLANK, PHONES, Rows

Sounds = tuple[int, ...]
"""Numbers of phones, as the network counts them."""

NEVER = -1e9


@dataclass(frozen=True)
class PathStates:
    """Several words as the states of their paths, a blank round each phone: (words, states)."""

    numbers: npt.NDArray[np.int64]
    barred: npt.NDArray[np.float64]  # NEVER beyond a word's last state, else 0
    still: npt.NDArray[np.float64]  # NEVER where the state before last can't be left out, else 0
    ends: npt.NDArray[np.int64]  # each word's last state


def sounds(spoken: str) -> Sounds:
    """The phones of a pronunciation written with the letters of `PHONES`."""
    return tuple(PHONES.index(phone) + 1 for phone in spoken)


def scores(heard: Rows, several: Sequence[Sounds]) -> npt.NDArray[np.float64]:
    """The logarithm of the chance of each, all paths through the sound together."""
    labels = labels_of(several)
    paths = np.full(labels.numbers.shape, NEVER)
    paths[:, 0] = heard[0, BLANK]
    paths[:, 1] = heard[0][labels.numbers[:, 1]]
    for frame in heard[1:]:
        paths = _step(paths, labels.still) + frame[labels.numbers] + labels.barred
    rows, ends = np.arange(len(several)), labels.ends
    return np.asarray(np.logaddexp(paths[rows, ends], paths[rows, ends - 1]))


def labels_of(several: Sequence[Sounds]) -> PathStates:
    """The states of these words, each with one phone at least."""
    size = 2 * max(len(each) for each in several) + 1
    label = np.full((len(several), size), BLANK)
    inside = np.zeros((len(several), size), bool)
    skips = np.zeros((len(several), size), bool)
    for row, each in enumerate(several):
        label[row, 1 : 2 * len(each) : 2] = each
        inside[row, : 2 * len(each) + 1] = True
        skips[row, 3 : 2 * len(each) : 2] = np.array(each[1:]) != np.array(each[:-1])
    barred, still = np.where(inside, 0.0, NEVER), np.where(skips, 0.0, NEVER)
    return PathStates(label, barred, still, np.array([2 * len(each) for each in several]))


def _step(
    paths: npt.NDArray[np.float64], still: npt.NDArray[np.float64]
) -> npt.NDArray[np.float64]:
    before, skipped = np.full_like(paths, NEVER), np.full_like(paths, NEVER)
    before[:, 1:] = paths[:, :-1]
    skipped[:, 2:] = paths[:, :-2]
    return np.asarray(np.logaddexp(np.logaddexp(paths, before), skipped + still))


def free_score(heard: Rows) -> float:
    """The score of the best path of any phones at all, a natural logarithm of its probability: what
    a fit is compared with."""
    return float(heard.max(axis=1).sum())
