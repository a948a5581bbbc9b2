"""Where the classifiers and the person's recordings lie."""

from __future__ import annotations

import os
from pathlib import Path

SHIPPED = Path(__file__).parent / "data" / "phrases.npz"
"""The classifier that comes with the program."""

NUMBERS = Path(__file__).parent / "data" / "numbers.npz"
"""The classifier for spoken digits that comes with the program."""


def voice_folder() -> Path:
    """The folder of the person's own classifier and recordings, on this machine only."""
    from platformdirs import user_data_path

    chosen = os.environ.get("TALLYHAND_VOICE")
    return Path(chosen) if chosen else user_data_path("tallyhand", appauthor=False) / "voice"


def own_classifier() -> Path:
    """The classifier trained here for the person's own phrases, whether it exists or not."""
    return voice_folder() / "phrases.npz"


def learned_classifier() -> Path:
    """The classifier that has learned the person's voice, whether it exists or not."""
    return voice_folder() / "learned.npz"


def learned_sound() -> Path:
    """What else was learned of the person's voice, whether it exists or not."""
    return voice_folder() / "sound.npz"


def recordings() -> Path:
    """The folder of the person's recordings, whether it exists or not."""
    return voice_folder() / "recordings"


def base_classifier() -> Path:
    """The classifier that knows voices in general: the one trained here, else the shipped one."""
    return own_classifier() if own_classifier().exists() else SHIPPED


def classifier_file() -> Path:
    """The classifier to use: the one that knows the person where there is one."""
    return learned_classifier() if learned_classifier().exists() else base_classifier()
