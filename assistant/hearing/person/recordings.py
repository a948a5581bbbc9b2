"""The person's recordings on this machine: kept, read again, deleted.

A file is PHRASE-WITH-HYPHENS.N.wav in the recordings folder, 16 kHz, one utterance.
"""

from __future__ import annotations

from pathlib import Path
from statistics import median

from assistant.devices.sound.loudness import decibels
from assistant.devices.sound.wavefile import WaveError
from assistant.errors import Refusal
from assistant.hearing.waves import RATE, Wave, from_pcm, read_sound, speech_level, write_sound

WANTED = 3
"""Recordings of each phrase: more gain little."""


def name_of(phrase: str, number: int) -> str:
    """The file's name for one recording of a phrase."""
    return f"{phrase.replace(' ', '-')}.{number}.wav"


def keep_recording(folder: Path, phrase: str, number: int, pcm: bytes) -> None:
    """Write one recording, readable by this person alone."""
    folder.mkdir(parents=True, exist_ok=True, mode=0o700)
    write_sound(folder / name_of(phrase, number), from_pcm(pcm), RATE)


def kept_recordings(folder: Path, phrases: list[str]) -> dict[str, list[Wave]]:
    """All recordings of these phrases in a folder, by phrase; phrases without any are left out.

    Raises Refusal for a folder that holds none, and for a file that is no recording.
    """
    found = {phrase: _of(folder, phrase) for phrase in phrases}
    found = {phrase: sounds for phrase, sounds in found.items() if sounds}
    if not found:
        example = name_of("spindle locked", 1)
        raise Refusal(f"{folder}: no recordings", f"files are named as in {example}")
    return found


def usual_level(folder: Path) -> float | None:
    """The person's voice at the microphone, dB under full scale; None without recordings."""
    levels = [decibels(speech_level(_sound(file))) for file in folder.glob("*.wav")]
    return median(levels) if levels else None


def _of(folder: Path, phrase: str) -> list[Wave]:
    files = sorted(folder.glob(name_of(phrase, 0).replace(".0.", ".*.")))
    return [_sound(file) for file in files]


def _sound(file: Path) -> Wave:
    try:
        return read_sound(file)
    except (OSError, WaveError) as error:
        raise Refusal(f"{file}: no recording ({error})", "record it again") from error
