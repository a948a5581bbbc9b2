"""How long a phrase can take: three seconds of talk are not "pin is home", however it sounds."""

from __future__ import annotations

import numpy as np

from assistant.hearing.classifier.classifier import NONE, Classifier

SHORTER, LONGER = 0.75, 1.3
"""How far beyond the lengths that the classifier remembers a phrase may still be."""

Range = tuple[float, float]


def usual_lengths(classifier: Classifier) -> dict[str, Range]:
    """Shortest and longest plausible utterance (seconds, with run-up and trail) of each phrase
    that the classifier remembers examples of."""
    last = classifier.standardised()[:, -1] * classifier.deviation[-1] + classifier.mean[-1]
    found: dict[str, Range] = {}
    for number, label in enumerate(classifier.labels):
        own = np.exp(last[classifier.remembered_labels == number])
        if label != NONE and len(own):
            found[label] = (float(own.min()) * SHORTER, float(own.max()) * LONGER)
    return found
