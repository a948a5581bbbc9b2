"""How long a phrase can take: three seconds of talk are not "pin is home", however it sounds."""

from __future__ import annotations

import numpy as np

from assistant.hearing.classifier.classifier import NONE, Head

SHORTER, LONGER = 0.75, 1.3
"""How far beyond the lengths that the head remembers a phrase may still be."""

Range = tuple[float, float]


def lengths(head: Head) -> dict[str, Range]:
    """Shortest and longest plausible utterance (seconds, with run-up and trail) of each phrase
    that the head remembers examples of."""
    last = head.standardised()[:, -1] * head.deviation[-1] + head.mean[-1]
    found: dict[str, Range] = {}
    for number, label in enumerate(head.labels):
        own = np.exp(last[head.remembered_labels == number])
        if label != NONE and len(own):
            found[label] = (float(own.min()) * SHORTER, float(own.max()) * LONGER)
    return found
