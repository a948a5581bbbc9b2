"""What every ear has in common: from a stream of sound to phrases, taken or refused.

The recognisers say what an utterance may have been; whether that is taken is decided here, the
same live and on recordings.
"""

from __future__ import annotations

import time
from collections import deque
from dataclasses import dataclass, replace

from assistant.devices.sound.loudness import SILENCE, level, peak
from assistant.engine.events import Command
from assistant.engine.phrases import LOCK_AND_GUARD
from assistant.files.settings import EarSettings
from assistant.hearing.chatter import IN_TALK, Chatter
from assistant.hearing.endpointing import CHUNK_S, RATE, TRAIL_S, Detector, Ending, Segment
from assistant.hearing.levels import NoiseMeter, Trust, clips, faint, noise_now, spoke
from assistant.hearing.recognisers.recogniser import Guess, Recogniser
from assistant.hearing.thresholds import SHORT, SHORT_S, UNEXPECTED, certain, in_this_step

LEAST_RUN_UP_S = 0.25
"""Less sound than this before an utterance says too little of the noise."""

TOO_LONG, TOO_SHORT = "too long for a phrase", "too short for a phrase"
TOO_FAINT = "far fainter than your usual voice"
NO_NOISE = -120.0  # dB
NOT_AGREED = "the second ear did not hear the same"
AMID_TALK = "makes no sense now, amid talk"

CLIPPED_OF, CLIPPED_LEAST = 5, 3
"""So many of the last commands at full scale, and the microphone is set too high."""

STILL_S = 0.25
"""While talk is going on, a shorter silence is only a pause in it."""

SLOW_LOOK_S = 0.19
"""A slow ear is asked once, after this much silence."""


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
    level: float = SILENCE  # while the person spoke, dB below full scale


class Hearer:
    """Detector and ear together, with the thresholds of the settings.

    With a `second` ear lock and guard phrases are taken only when it heard the same.
    """

    def __init__(
        self,
        ear: Recogniser,
        detector: Detector,
        settings: EarSettings,
        second: Recogniser | None = None,
    ) -> None:
        self._ear = ear
        self._second = second
        self.name = f"{ear.name}+{second.name}" if second else ear.name
        self.notes = (*ear.notes, *(second.notes if second else ()))
        self._detector = detector
        self._settings = settings
        self._meter = NoiseMeter()
        self._clipped: deque[bool] = deque(maxlen=CLIPPED_OF)
        self._early: tuple[Segment, Guess, float] | None = None
        self.trust = Trust()  # how well the person stands out from the noise
        self._answered: float | None = None  # start of the utterance that was answered early
        self._disagreed: float | None = None  # end of the voice when two ears last disagreed
        self.expected: frozenset[Command] | None = None  # what makes sense now; None: everything
        self._talk = Chatter()
        self._in_talk = False  # the utterance at hand belongs to talk
        self._short = False  # the utterance at hand is hardly longer than a word

    def feed(self, pcm: bytes) -> list[Heard]:
        """16 kHz mono PCM in; the utterances that ended in it out."""
        found = [
            heard
            for segment in self._detector.feed(pcm)
            if (heard := self._segment(segment)) is not None
        ]
        self._listen_to_noise(pcm)
        return found

    @property
    def now_s(self) -> float:
        """Seconds of sound that were listened to."""
        return self._detector.now_s

    @property
    def speaking(self) -> bool:
        """An utterance has begun and is not over."""
        return self._detector.speaking()

    @property
    def noise(self) -> float | None:
        """The noise between utterances, dB under full scale; None before it is known."""
        return self._meter.level

    @property
    def clipping(self) -> bool:
        """Several of the last utterances were louder than the microphone can carry."""
        return sum(self._clipped) >= CLIPPED_LEAST

    def _noise(self, just_before: float) -> float:
        """A clank just before a word is not the noise of the shop."""
        return just_before if self._meter.level is None else min(just_before, self._meter.level)

    def _listen_to_noise(self, pcm: bytes) -> None:
        """Where nobody speaks there is only noise: it may drown every word, or be over."""
        if self._detector.speaking():
            return
        for found in self._meter.feed(pcm):
            self.trust = noise_now(self.trust, found)

    def finish(self) -> list[Heard]:
        """The stream is over: silence ends what is still going on."""
        return self.feed(bytes(round((TRAIL_S + 2 * CHUNK_S) * 16000) * 2))

    def reset(self) -> None:
        """What was heard so far was not meant for us (our own voice)."""
        self._early = self._answered = None
        self._talk.over()
        self._detector.reset()

    def _segment(self, segment: Segment) -> Heard | None:
        if segment.start_s == self._answered:
            return None
        self._in_talk = self._talk.goes_on(segment.start_s)
        self._short = segment.end_s - segment.start_s < SHORT_S
        if (found := levels(segment)) is not None:
            # Too loud for the usual voice is too loud before a word is understood.
            self.trust = noise_now(self.trust, self._noise(found[1]))
        if segment.kind is Ending.EARLY:
            return self._look(segment)
        if segment.kind is Ending.TOO_LONG:
            return self._refused(segment, TOO_LONG)
        if segment.kind is Ending.TOO_SHORT:
            return self._refused(segment, TOO_SHORT)
        return self._judge(segment)

    def _look(self, segment: Segment) -> Heard | None:
        """An answer before the silence has run out, when the ear is certain already."""
        if not self._ear.quick and (self._looked_at(segment) or segment.quiet_s < SLOW_LOOK_S):
            return None
        began = time.monotonic()
        guess = self._guess(segment.pcm)
        took = time.monotonic() - began
        self._early = (segment, guess, took)
        strict = guess.command in LOCK_AND_GUARD
        if self._in_talk and segment.quiet_s < STILL_S:
            return None
        if self.objection(guess) or not certain(guess.confidence, segment.quiet_s, strict=strict):
            return None
        if self._disagreed == segment.end_s:
            return None  # the second ear is slow: it is asked once
        heard = self._verdict(segment, guess, segment.quiet_s + took)
        if heard.why == NOT_AGREED:
            self._disagreed = segment.end_s
            return None  # all of it may make them agree
        self._answered = segment.start_s
        return heard

    def _guess(self, pcm: bytes) -> Guess:
        guess = self._ear.recognise(pcm)
        if guess.command is None or self.expected is None:
            return guess
        sure = in_this_step(guess.command, guess.confidence, guess.others, self.expected)
        return replace(guess, confidence=sure)

    def _looked_at(self, segment: Segment) -> bool:
        return self._early is not None and self._early[0].end_s == segment.end_s

    def _judge(self, segment: Segment) -> Heard:
        early, self._early = self._early, None
        if early is not None and early[0].end_s == segment.end_s and not self._ear.quick:
            # The ear used the time while the silence was waited for.
            guess, late = early[1], max(0.0, early[2] - (TRAIL_S - early[0].quiet_s))
        else:
            began = time.monotonic()
            guess = self._guess(segment.pcm)
            late = time.monotonic() - began
        return self._verdict(segment, guess, TRAIL_S + late)

    def _verdict(self, segment: Segment, guess: Guess, after_s: float) -> Heard:
        began = time.monotonic()
        why = self.objection(guess) or self._too_faint(segment, guess)
        why = why or self._disagreement(segment, guess)
        after_s += time.monotonic() - began
        if why != NOT_AGREED or segment.kind is Ending.WHOLE:
            self._note_levels(segment, accepted=not why)
        self._talk.heard(segment.end_s, phrase=guess.command is not None)
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
            level(_voiced(segment)),
        )

    def _note_levels(self, segment: Segment, *, accepted: bool) -> None:
        if (found := levels(segment)) is not None:
            both, noise = found
            self.trust = spoke(self.trust, both, self._noise(noise), accepted=accepted)
        if accepted:
            self._clipped.append(clips(peak(segment.pcm)))

    def _too_faint(self, segment: Segment, guess: Guess) -> str:
        """Lock and guard are not for somebody else to confirm, from across the shop."""
        if guess.command not in LOCK_AND_GUARD:
            return ""
        # Where the microphone had stopped just before, the noise is not known: no voice is louder
        # than voice and noise together.
        found = levels(segment) or (level(_voiced(segment)), NO_NOISE)
        return TOO_FAINT if faint(self.trust, *found) else ""

    def _disagreement(self, segment: Segment, guess: Guess) -> str:
        """Why a second ear forbids to take this, or nothing."""
        if self._second is None or guess.command not in LOCK_AND_GUARD:
            return ""
        other = self._second.recognise(segment.pcm)
        same = other.command is guess.command and other.confidence >= self._settings.accept
        return "" if same else NOT_AGREED

    def _refused(self, segment: Segment, why: str) -> Heard:
        self._early = None
        if segment.kind is Ending.TOO_LONG:
            self._talk.heard(segment.end_s, phrase=False)
        # Too short for a phrase may be a figure.
        pcm = segment.pcm if segment.kind is Ending.TOO_SHORT else b""
        spoken = level(_voiced(segment))
        return Heard(
            segment.start_s, segment.end_s, "", None, 0.0, False, why, TRAIL_S, pcm, spoken
        )

    def objection(self, guess: Guess) -> str:
        """Why a guess is not taken, or nothing."""
        if guess.command is None:
            return "none of the phrases"
        stricter = guess.command in LOCK_AND_GUARD
        if stricter and self.trust.too_loud:
            return "too loud to trust my ear: use the pedal"
        least = self._settings.accept_lock_and_guard if stricter else self._settings.accept
        if self.expected is not None and guess.command not in self.expected:
            if self._in_talk:
                return AMID_TALK
            least = max(least, UNEXPECTED)
        if self._short:
            least = max(least, SHORT)
        if self._in_talk:
            least = max(least, IN_TALK)
        return "" if guess.confidence >= least else f"not sure enough, {least:g} is needed"


def levels(segment: Segment) -> tuple[float, float] | None:
    """Decibels while the person spoke, and of the noise just before; None after too short a
    run-up."""
    run_up = _run_up(segment)
    if run_up < LEAST_RUN_UP_S * RATE:
        return None
    # The last of it may be voice already.
    return level(_voiced(segment)), level(segment.pcm[: 2 * (run_up - run_up // 4)])


def _run_up(segment: Segment) -> int:
    """Samples before the voice."""
    after = round((segment.end_s - segment.start_s + segment.quiet_s) * RATE)
    return max(0, len(segment.pcm) // 2 - after)


def _voiced(segment: Segment) -> bytes:
    """The voice without the run-up, and without the silence at its end."""
    begin, long = _run_up(segment), round((segment.end_s - segment.start_s) * RATE)
    return segment.pcm[2 * begin : 2 * (begin + long)]
