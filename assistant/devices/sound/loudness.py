"""How loud a sound is, and from where on it is none: one reckoning for meter, ear and set-up.

Decibels under full scale, which is a sample of 32,768 in 16 bit PCM or of 1 in floating point.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

from assistant.devices.sound.samples import loudest

if TYPE_CHECKING:
    import numpy.typing as npt

FULL_SCALE = 32768
SILENCE = -100.0
"""Nothing but zeros, or the last bit now and then: told as this, so that no level is infinite."""
FAINTEST = -60.0
"""Nobody speaks under this level, and no meter shows anything."""


def decibels(part: float) -> float:
    """A level from a part of full scale, 0 or more; `SILENCE` at least."""
    return max(20 * math.log10(part), SILENCE) if part > 0 else SILENCE


def rms(sound: npt.NDArray[Any]) -> float:
    """Root mean square of samples of any kind, in their own unit; 0 for an empty sound."""
    import numpy as np

    return float(np.sqrt(np.mean(np.square(sound, dtype=np.float64)))) if len(sound) else 0.0


def level(pcm: bytes) -> float:
    """Of the whole of a piece of little-endian 16 bit PCM, by its root mean square, dB."""
    import numpy as np

    return decibels(rms(np.frombuffer(pcm[: len(pcm) & ~1], "<i2")) / FULL_SCALE)


def peak(pcm: bytes) -> float:
    """Of the largest sample of 16 bit PCM, dB."""
    return decibels(loudest(pcm) / FULL_SCALE)
