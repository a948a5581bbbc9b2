"""`tallyhand hear`: the recogniser over recordings, exactly as at the bench."""

from __future__ import annotations

import json
from argparse import Namespace
from collections.abc import Iterator
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from assistant import errors
from assistant.commands import command_line
from assistant.devices.sound.samples import Resampler
from assistant.devices.sound.wavefile import WaveError, read_wave
from assistant.engine.events import Command
from assistant.files.settings import load_settings
from assistant.hearing.judging import Heard, Hearer
from assistant.hearing.opening import open_hearer, passed_over
from assistant.hearing.recognisers.recogniser import EarUnusable

RATE = 16000
LONGEST_S = 30 * 60
MOST_BYTES = 700_000_000
BLOCK = 2 * RATE // 50


@dataclass(frozen=True, slots=True)
class Recording:
    """Mono 16 bit PCM."""

    pcm: bytes
    rate: int


def main(given: Namespace) -> int:
    """0 where every recording could be read and listened to, 1 where one could not. Raises Refusal
    where there is no ear, WrongUse for a phase that is none.
    """
    expecting = commands_of(given.expecting) if given.expecting else None
    settings = load_settings(Path(given.config) if given.config else None)
    code = command_line.DONE
    why, cure = passed_over(settings.ear)
    if why:
        command_line.complain(f"the ear that hears best can't be used: {why}; {cure}")
    for name in given.files:
        try:
            # A new one for each file: a recording says the same whatever was heard before it.
            hearer = open_hearer(settings.ear)
            hearer.expected = expecting
            for heard in utterances(hearer, read_recording(Path(name))):
                _print(name, expect(heard, expecting), given.json)
        except EarUnusable as error:
            raise errors.Refusal(f"{error}", "see tallyhand doctor") from error
        except errors.Refusal as error:
            command_line.complain(str(error))
            code = command_line.REFUSED
    return code


def commands_of(phase: str) -> frozenset[Command]:
    """What makes sense in a phase. Raises WrongUse for an unknown one."""
    from assistant.engine.engine import expected_commands
    from assistant.engine.phases import Phase, Step, phase_of
    from assistant.engine.state import State

    known = [each.value for each in Phase]
    if phase not in known:
        raise errors.WrongUse(f"--expecting {phase!r}: no phase; phases are {', '.join(known)}")
    steps = [step for step in Step if phase_of(step).value == phase]
    return frozenset().union(*(expected_commands(State(step=step)) for step in steps))


def read_recording(file: Path) -> Recording:
    """A recording of at most half an hour. Raises Refusal with the file and the cure."""
    try:
        if file.stat().st_size > MOST_BYTES:
            raise errors.Refusal(f"{file}: too long", "cut it into pieces of half an hour")
        wave = read_wave(file.read_bytes())
    except OSError as error:
        raise errors.Refusal(
            f"{file}: {error.strerror}", "name a WAV file that can be read"
        ) from error
    except WaveError as error:
        raise errors.Refusal(f"{file}: {error}", "give a recording as a WAV file") from error
    if not wave.data:
        raise errors.Refusal(f"{file}: there is no sound in it", "record it again")
    if wave.seconds > LONGEST_S:
        minutes = wave.seconds / 60
        raise errors.Refusal(
            f"{file}: {minutes:.0f} minutes long", "cut it into pieces of half an hour"
        )
    return Recording(wave.mono16(), wave.rate)


def utterances(hearer: Hearer, recording: Recording) -> Iterator[Heard]:
    """The utterances of a recording, fed in the pieces that a microphone gives."""
    resampler = Resampler(recording.rate, RATE)
    size = 2 * (recording.rate // 50)
    for at in range(0, len(recording.pcm), size):
        yield from hearer.feed(resampler.feed(recording.pcm[at : at + size]))
    yield from hearer.feed(resampler.end())
    yield from hearer.finish()


def expect(heard: Heard, expecting: frozenset[Command] | None) -> Heard:
    """The verdict when only these commands make sense now."""
    if expecting is None or not heard.accepted or heard.command in expecting:
        return heard
    return replace(heard, accepted=False, why="not expected now")


def utterance_record(file: str, heard: Heard) -> dict[str, Any]:
    """An utterance as outside programs see it."""
    found: dict[str, Any] = {
        "file": file,
        "start_s": round(heard.start_s, 3),
        "end_s": round(heard.end_s, 3),
        "heard": heard.text,
        "command": heard.command.value if heard.command else None,
        "accepted": heard.accepted,
        "confidence": round(heard.confidence, 3),
        "answered_after_s": round(heard.answered_after_s, 3),
    }
    return found if heard.accepted else {**found, "why": heard.why}


def _print(file: str, heard: Heard, as_json: bool) -> None:
    if as_json:
        print(json.dumps(utterance_record(file, heard)), flush=True)
        return
    verdict = "taken" if heard.accepted else f"not taken: {heard.why}"
    what = heard.text or "no phrase"
    sure = f"{100 * heard.confidence:.0f}%"
    print(f"{file}  {heard.start_s:.2f}-{heard.end_s:.2f} s  {what}  {sure}  {verdict}", flush=True)
