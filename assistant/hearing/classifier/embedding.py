"""The pretrained speech embedding: 96 numbers for each 80 ms, each seeing the last 0.775 s.

The networks come with a package (`networks.py`); only its features are used, none of the wake
words. Utterances are fed from their first sample on, so that a recording and a live
utterance give the same numbers.
"""

from __future__ import annotations

import numpy as np

from assistant.hearing.classifier.networks import NetworkRunner, Vectors, load_networks

STEP = 1280
"""Samples between two embeddings: 80 ms."""

SIZE = 96
_WINDOW = 1760  # samples for the eight mel frames of a step
_MEL_FRAMES = 76
_MELS = 32
_AT_ONCE = 8


class Networks:
    """The two networks, loaded once and shared by one thread. Raises OSError, RuntimeError,
    ImportError or ValueError where neither package of `networks.py` runs on this machine."""

    def __init__(self, runs: NetworkRunner | None = None) -> None:
        self._runs = runs or load_networks()

    def mels(self, samples: Vectors) -> Vectors:
        """Log mel frames (n, 32) of one window of samples in 16 bit units."""
        made = self._runs.mels(samples.reshape(1, -1))
        return made.reshape(-1, _MELS) / np.float32(10) + np.float32(
            2
        )  # the scale the embedding was trained with

    def embeddings(self, windows: Vectors) -> Vectors:
        """(n, 96) from mel windows (n, 76, 32)."""
        made = self._runs.embeddings(windows.reshape(-1, _MEL_FRAMES, _MELS, 1))
        return made.reshape(-1, SIZE)


class Embedder:
    """Embeds one utterance piece by piece; `mels` grows by eight rows each 80 ms, `vectors` by one,
    from the 0.775th second on."""

    def __init__(self, networks: Networks) -> None:
        self._networks = networks
        self._held = np.zeros(0, np.float32)
        self._embedded = 0  # mel frames that no further embedding begins before
        self.mels: Vectors = np.zeros((0, _MELS), np.float32)
        self.vectors: Vectors = np.zeros((0, SIZE), np.float32)

    def feed(self, pcm: bytes) -> None:
        """Take more 16 bit samples, 16 kHz, of any number."""
        fresh = np.frombuffer(pcm, dtype="<i2").astype(np.float32)
        self._held = np.concatenate([self._held, fresh])
        while len(self._held) >= _WINDOW:
            frames = self._networks.mels(self._held[:_WINDOW])
            self.mels = np.concatenate([self.mels, frames])
            self._held = self._held[STEP:]
        self._embed()

    def _embed(self) -> None:
        waiting = self.mels[self._embedded :]
        ready = (len(waiting) - _MEL_FRAMES) // 8 + 1
        if ready <= 0:
            return
        # One by one, or eight at once: each other number would resize the network anew.
        size = _AT_ONCE if ready >= _AT_ONCE else 1
        windows = [waiting[8 * i : 8 * i + _MEL_FRAMES] for i in range(size)]
        made = self._networks.embeddings(np.stack(windows))
        self.vectors = np.concatenate([self.vectors, made])
        self._embedded += 8 * size
        self._embed()


def count_after(samples: int) -> int:
    """How many embeddings an utterance has after so many samples."""
    steps = max(0, (samples - _WINDOW) // STEP + 1)
    return max(0, steps - (_MEL_FRAMES - 1) // 8)


def mels_of(networks: Networks, pcm: bytes) -> Vectors:
    """All mel frames of a whole utterance, eight for each full step: what an Embedder gives."""
    steps = max(0, (len(pcm) // 2 - _WINDOW) // STEP + 1)
    if not steps:
        return np.zeros((0, _MELS), np.float32)
    return networks.mels(np.frombuffer(pcm, dtype="<i2").astype(np.float32))[: 8 * steps]


def embed_mels(networks: Networks, mels: Vectors) -> Vectors:
    """All embeddings of an utterance with these mel frames."""
    count = max(0, (len(mels) - _MEL_FRAMES) // 8 + 1)
    if not count:
        return np.zeros((0, SIZE), np.float32)
    windows = np.stack([mels[8 * i : 8 * i + _MEL_FRAMES] for i in range(count)])
    # Always the same number at once: each other number would resize the network anew.
    windows = np.pad(windows, ((0, -count % _AT_ONCE), (0, 0), (0, 0)))
    made = [
        networks.embeddings(windows[i : i + _AT_ONCE]) for i in range(0, len(windows), _AT_ONCE)
    ]
    return np.concatenate(made)[:count]


def embed(networks: Networks, pcm: bytes) -> Vectors:
    """All embeddings of a whole utterance: what an Embedder gives, in fewer calls."""
    return embed_mels(networks, mels_of(networks, pcm))
