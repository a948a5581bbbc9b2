"""How far an utterance stands out from the noise under it, and what that means for the verdict.

In a quiet shop phrases are heard for certain, and most of what is heard otherwise is talk: there
the ear is strict. In noise every phrase is doubted, and hardly any talk is loud enough to be cut
out as an utterance at all: there both parts together count for more, and "none" is less likely.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from assistant.hearing.classifier.sound_network import Frames

SOFT, LOUD = 15, 90
"""Percentiles of an utterance's frames: the noise of its run-up, and its voice."""

QUIET_DB, NOISY_DB = 24.0, 18.0
"""From the first on it is quiet, under the second it is noisy. Between them: in part."""


@dataclass(frozen=True)
class Blend:
    """How much the outputs of the layer count, and those of the networks; how much less likely
    "none" is than in training, as a logarithm."""

    layers: float
    networks: float
    none_less: float = 0.0


@dataclass(frozen=True)
class Mixing:
    """What counts how much where it is quiet, and where it is noisy."""

    quiet: Blend
    noisy: Blend

    def at(self, decibels: float) -> Blend:
        """What counts how much at this contrast, in dB."""
        noisy = min(1.0, max(0.0, (QUIET_DB - decibels) / (QUIET_DB - NOISY_DB)))

        def between(quiet: float, loud: float) -> float:
            return quiet + (loud - quiet) * noisy

        return Blend(
            between(self.quiet.layers, self.noisy.layers),
            between(self.quiet.networks, self.noisy.networks),
            between(self.quiet.none_less, self.noisy.none_less),
        )


USUAL = Mixing(Blend(0.6, 0.3), Blend(0.7, 0.7, 1.0))
LOCK_OR_GUARD = Mixing(Blend(0.8, 0.4), Blend(0.8, 0.8))
"""For the phrases that let a cutter near the work: never a rebate, but they need 0.9 of what more
outputs make. All chosen on other recordings than those of the figures (decision 313)."""


def contrast(mels: Frames) -> float:
    """Decibels between the loud and the soft moments of an utterance's mel frames (n, 32)."""
    powers = 10.0 * np.log10((10.0 ** mels.astype(np.float64)).sum(axis=1))
    soft, loud = np.percentile(powers, [SOFT, LOUD])
    return float(loud - soft)
