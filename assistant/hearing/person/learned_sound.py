"""What was learned of the person's voice beside the head, in a file of plain numbers.

The file says its format; one of a later version is refused, one of an earlier version is read.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from zipfile import BadZipFile

import numpy as np

from assistant.errors import Refusal
from assistant.hearing.endpointing import USUAL, Doors
from assistant.hearing.model_files import learned_sound, recordings

FORMAT = 1


@dataclass(frozen=True, slots=True)
class LearnedSound:
    """How far the voice detector's doors stand open for this person."""

    doors: Doors = USUAL


def save(sound: LearnedSound, file: Path) -> None:
    """Write the file, its folder too."""
    file.parent.mkdir(parents=True, exist_ok=True)
    doors = np.array([sound.doors.begins, sound.doors.ends])
    with file.open("wb") as out:
        np.savez(out, format=np.array(FORMAT), doors=doors, allow_pickle=False)


def load(file: Path) -> LearnedSound:
    """What is in a file. Raises Refusal with the cure for one that can't be read."""
    try:
        with np.load(file, allow_pickle=False) as data:
            parts = {name: data[name] for name in data.files}
        if int(parts["format"]) != FORMAT:
            raise ValueError(f"format {parts['format']}, this program reads {FORMAT}")
        return LearnedSound(_doors(parts["doors"]))
    except (OSError, ValueError, TypeError, KeyError, EOFError, BadZipFile) as error:
        why = getattr(error, "strerror", None) or error
        raise Refusal(
            f"{file}: nothing learned of a voice ({why})",
            f"learn anew: tallyhand voice learn --from {recordings()}",
        ) from error


def of_this_person() -> LearnedSound:
    """What was learned on this machine; a voice that was learned by an earlier version, or none,
    is as the program comes. Raises Refusal."""
    file = learned_sound()
    return load(file) if file.exists() else LearnedSound()


def _doors(values: np.ndarray[tuple[int, ...], np.dtype[np.generic]]) -> Doors:
    begins, ends = (float(value) for value in np.asarray(values, np.float64))
    if not 0 < ends <= begins < 1:
        raise ValueError(f"its doors are {begins:g} and {ends:g}")
    return Doors(begins, ends)
