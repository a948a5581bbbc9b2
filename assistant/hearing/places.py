"""Where the heads and the person's recordings lie."""

from __future__ import annotations

import os
from pathlib import Path

SHIPPED = Path(__file__).parent / "data" / "phrases.npz"
"""The head that comes with the program."""

NUMBERS = Path(__file__).parent / "data" / "numbers.npz"
"""The head for spoken digits that comes with the program."""


def own_folder() -> Path:
    """The folder of the person's own head and recordings, on this machine only."""
    from platformdirs import user_data_path

    chosen = os.environ.get("TALLYHAND_VOICE")
    return Path(chosen) if chosen else user_data_path("tallyhand", appauthor=False) / "voice"


def own_head() -> Path:
    """The person's own head, whether it exists or not."""
    return own_folder() / "phrases.npz"


def recordings() -> Path:
    """The folder of the person's recordings, whether it exists or not."""
    return own_folder() / "recordings"


def head_file() -> Path:
    """The head to use: the person's own where there is one."""
    return own_head() if own_head().exists() else SHIPPED
