"""Recordings with the phones that are said in them, and the file that keeps them."""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from zipfile import BadZipFile

import numpy as np
import numpy.typing as npt

from assistant.errors import Refusal
from assistant.hearing.phones.scoring import Sounds
from assistant.hearing.training.spoiling import trimmed
from assistant.hearing.waves import RATE, Wave

Samples = npt.NDArray[np.int16]

LEAST_S, MOST_S = 0.1, 12.0
EDGE_BEFORE, EDGE_AFTER = 160, 320  # samples kept round the speech


@dataclass(frozen=True)
class Take:
    """16 kHz. `phrase` as in `Text`; `source` is "kokoro", "espeak-ng", "flite", or for people
    "figure", "frequent" (a word that the set has many times as often) and "word", and of rows of
    them "figures" and "words"."""

    sound: Samples
    sounds: Sounds
    kind: str
    source: str
    phrase: int = -1


def samples(speech: Wave) -> Samples | None:
    """Trimmed, at half of full scale; None for what is too short, too long or no sound."""
    said = trimmed(speech)
    if not LEAST_S * RATE < len(said) < MOST_S * RATE or not np.isfinite(said).all():
        return None
    edged = np.pad(said, (EDGE_BEFORE, EDGE_AFTER))
    level = edged / max(float(np.abs(edged).max()), 1e-6) * 0.5
    return (level * 32767).astype(np.int16)


def save_takes(takes: Sequence[Take], file: Path) -> None:
    """Written beside it and then put in place: a run that is broken off leaves no half file."""
    told = [[len(t.sound), t.sounds, t.kind, t.source, t.phrase] for t in takes]
    beside = file.with_suffix(".part.npz")
    np.savez(
        beside,
        sound=np.concatenate([t.sound for t in takes]),
        told=np.frombuffer(json.dumps(told).encode(), np.uint8),
    )
    beside.replace(file)


def load_takes(file: Path) -> list[Take]:
    """Raises Refusal with the cure for a file that holds no takes."""
    try:
        with np.load(file, allow_pickle=False) as data:
            sound, told = data["sound"], json.loads(data["told"].tobytes())
    except (OSError, ValueError, KeyError, BadZipFile) as error:
        raise Refusal(f"{file}: no recordings ({error})", "delete it and train again") from error
    found, at = [], 0
    for count, sounds, kind, source, phrase in told:
        found.append(Take(sound[at : at + count], tuple(sounds), kind, source, phrase))
        at += count
    return found
