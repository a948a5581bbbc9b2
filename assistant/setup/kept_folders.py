"""Every folder that the program keeps anything in, and every file that it may leave elsewhere."""

from __future__ import annotations

import sys
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from platformdirs import user_cache_path

from assistant.files.settings import Settings
from assistant.hearing.model_files import voice_folder


@dataclass(frozen=True, slots=True)
class KeptFolder:
    """`what` is kept in `place`, which need not be there yet; `yours`: lost with it for good."""

    what: str
    place: Path
    yours: bool = True


def folders_kept(settings: Settings, journals: Path) -> Iterator[KeptFolder]:
    """In the order of worth. What was written by `--out` lies where it was sent."""
    yield KeptFolder("journals of the jobs, and contents.json", journals)
    yield KeptFolder(
        "settings, their copies, pedal, phrases, heads, languages", settings.file.parent
    )
    yield KeptFolder("recordings of your voice, and what the ear learned", voice_folder())
    sounds = user_cache_path("tallyhand", appauthor=False)
    yield KeptFolder("sounds made while an ear is trained", sounds, yours=False)
    yield KeptFolder("the program and its packages", Path(sys.prefix), yours=False)
