"""Turns sentences into samples, in a process of its own that can be killed.

espeak-ng where it is, else the platform's voices through pyttsx3 writing a file. The exit
code says nothing (espeak-ng ends with 0 without a sound): only samples that came count.
"""

from __future__ import annotations

import contextlib
import os
import re
import shutil
import subprocess
import sys
import tempfile
import threading
from collections import OrderedDict
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import groupby
from operator import itemgetter
from pathlib import Path
from typing import Protocol

from assistant.devices.sound.loudness import FAINTEST, FULL_SCALE
from assistant.devices.sound.samples import as_array, as_bytes, loudest
from assistant.devices.sound.wavefile import WaveError, read_wave
from assistant.engine.by_rote import by_rote
from assistant.files.settings import SpeechSettings
from assistant.words.language import speaking

TIME_LIMIT_S = 15.0
"""A sentence that takes longer is given up: speech engines are known to hang."""
CACHED = 200
SILENT = round(FULL_SCALE * 10 ** (FAINTEST / 20))
"""Samples up to this size are silence: 33 of 32,768."""
TAIL_S, BRIEF_TAIL_S = 0.25, 0.05
"""Seconds that stay behind the last sound; espeak-ng adds 0.3 to 0.5 to each utterance."""
PAUSE_S = 0.1
"""The longest pause inside a brief sentence; espeak-ng makes 0.2 at a comma and 0.4 at a stop."""
STRIDE_S = 0.005
ROTE_MOST = 2.0
"""Sentences known by rote are at the most so many times as fast as whole ones: as people talk."""


class SynthError(Exception):
    """No samples came; the message is one line for the person."""


@dataclass(frozen=True, slots=True)
class Spoken:
    """A sentence as mono 16 bit PCM."""

    pcm: bytes
    rate: int


class Synth(Protocol):
    """A speech engine."""

    name: str

    def speak(self, text: str, brief: bool = False) -> Spoken:
        """The sentence as samples. Raises SynthError. `brief`: it is known by rote, and comes
        briskly and with short pauses."""

    def cancel(self) -> None:
        """Give up what is being spoken, from any thread."""


class _Child:
    """A child process with one sentence on its standard input."""

    def __init__(self) -> None:
        self._process: subprocess.Popen[bytes] | None = None
        self._lock = threading.Lock()

    def run(self, words: list[str], text: str) -> bytes:
        """What the child wrote. Raises SynthError."""
        try:
            with self._lock:
                self._process = subprocess.Popen(
                    words,
                    stdin=subprocess.PIPE,
                    stdout=subprocess.PIPE,
                    stderr=subprocess.DEVNULL,
                    env=_away_from_sound(),
                )
            out, _ = self._process.communicate(text.encode(), TIME_LIMIT_S)
        except subprocess.TimeoutExpired as error:
            self.kill()
            raise SynthError(f"{words[0]} gave no speech in {TIME_LIMIT_S:g} s") from error
        except OSError as error:
            raise SynthError(f"{words[0]}: {error.strerror}") from error
        return out

    def kill(self) -> None:
        with self._lock, contextlib.suppress(OSError):
            if self._process is not None and self._process.poll() is None:
                self._process.kill()


class _InPieces:
    """A speech engine that says what is known by rote faster than what stands between it."""

    def __init__(self, settings: SpeechSettings) -> None:
        self._settings = settings
        self._rote: dict[str, Spoken] = {}  # few, and the same at every cut

    def speak(self, text: str, brief: bool = False) -> Spoken:
        if not brief:
            return self._spoken(text, 1.0)
        pieces = rote_pieces(text, self._settings.language)
        return joined([self._piece(words, rote=rote) for words, rote in pieces])

    def _piece(self, words: str, *, rote: bool) -> Spoken:
        brisk = self._settings.brisk
        if not rote:
            return closed_up(self._spoken(words, brisk))
        if words not in self._rote:
            self._rote[words] = closed_up(self._spoken(words, rote_pace(brisk)))
        return self._rote[words]

    def _spoken(self, text: str, pace: float) -> Spoken:
        """The text at so many times the usual pace. Raises SynthError."""
        raise NotImplementedError


class EspeakSynth(_InPieces):
    """espeak-ng, the sentence on its standard input and the samples on its standard output."""

    name = "espeak-ng"

    def __init__(self, settings: SpeechSettings) -> None:
        self._words = [
            "espeak-ng", "--stdin", "--stdout", "-b", "1", "-v", settings.voice,
            "-a", str(settings.loudness), "-s",
        ]  # fmt: skip
        super().__init__(settings)
        self._child = _Child()

    def _spoken(self, text: str, pace: float) -> Spoken:
        out = self._child.run([*self._words, _rate(self._settings, pace)], text)
        cure = f"is there a voice {self._settings.voice!r}? see espeak-ng --voices"
        return checked_samples(out, f"espeak-ng gave no sound: {cure}")

    def cancel(self) -> None:
        self._child.kill()


class PlatformSynth(_InPieces):
    """The platform's own voices: pyttsx3 in a child process writes a file that is read back."""

    name = "pyttsx3"

    def __init__(self, settings: SpeechSettings) -> None:
        super().__init__(settings)
        self._child = _Child()

    def _spoken(self, text: str, pace: float) -> Spoken:
        with tempfile.TemporaryDirectory(prefix="tallyhand-") as folder:
            wav = Path(folder) / "speech.wav"
            self._child.run(self._words(wav, pace), text)
            try:
                out = wav.read_bytes()
            except OSError as error:
                raise SynthError("the platform's speech engine wrote no sound") from error
        return checked_samples(out, "the platform's speech engine gave no sound")

    def cancel(self) -> None:
        self._child.kill()

    def _words(self, wav: Path, pace: float) -> list[str]:
        speech = self._settings
        program = [sys.executable, "-m", "assistant.devices.speech.pyttsx3_child"]
        return [
            *program, str(wav), _rate(speech, pace),
            str(min(speech.loudness, 100) / 100), speech.voice,
        ]  # fmt: skip


def _rate(speech: SpeechSettings, pace: float) -> str:
    """Words a minute, as the engines take it."""
    return str(round(speech.words_per_minute * pace))


def rote_pace(brisk: float) -> float:
    """How many times as fast as whole sentences what is known by rote is said: twice as much over
    the usual pace as the figures, and nothing where these are said at it."""
    return max(brisk, min(ROTE_MOST, 2 * brisk - 1))


def rote_pieces(text: str, language: str) -> list[tuple[str, bool]]:
    """The text in pieces of whole sentences, each with whether it is known by rote."""
    with speaking(language):
        rote = by_rote()
    each = ((sentence, sentence in rote) for sentence in re.split(r"(?<=[.?!]) +", text.strip()))
    return [(" ".join(words for words, _ in run), known)
            for known, run in groupby(each, key=itemgetter(1))]  # fmt: skip


def joined(pieces: Sequence[Spoken]) -> Spoken:
    """One behind the other, with the pause that keeps sentences apart."""
    rate = pieces[0].rate
    between = bytes(2 * round((PAUSE_S - BRIEF_TAIL_S) * rate))
    return Spoken(between.join(piece.pcm for piece in pieces), rate)


def _away_from_sound() -> dict[str, str]:
    """espeak-ng connects to the sound server even when it plays nothing, and hangs with it."""
    return {**os.environ, "PULSE_SERVER": "unix:/nonexistent"}


def checked_samples(wav: bytes, complaint: str) -> Spoken:
    """The samples of a WAV file. Raises SynthError with the complaint when there are none."""
    try:
        sound = read_wave(wav)
    except WaveError as error:
        raise SynthError(complaint) from error
    pcm = sound.mono16()
    if not loudest(pcm):
        raise SynthError(complaint)
    return without_tail(Spoken(pcm, sound.rate), TAIL_S)


def without_tail(spoken: Spoken, seconds: float) -> Spoken:
    """The same with no more than so many seconds of silence at its end."""
    samples = as_array(spoken.pcm)
    loud = (i for i in reversed(range(len(samples))) if abs(samples[i]) > SILENT)
    last = next(loud, len(samples))
    return Spoken(spoken.pcm[: 2 * (last + 1 + round(seconds * spoken.rate))], spoken.rate)


def closed_up(spoken: Spoken) -> Spoken:
    """The same with every pause cut down to PAUSE_S. A call that is known by rote needs them to
    keep its parts apart, and no longer."""
    samples, kept = as_array(spoken.pcm), bytearray()
    stride, quiet = round(STRIDE_S * spoken.rate), 0
    for at in range(0, len(samples), stride):
        piece = samples[at : at + stride]
        quiet = 0 if max(map(abs, piece)) > SILENT else quiet + 1
        if quiet * STRIDE_S <= PAUSE_S:
            kept += as_bytes(piece)
    return without_tail(Spoken(bytes(kept), spoken.rate), BRIEF_TAIL_S)


class Remembering:
    """Keeps the sentences already spoken, so that they come without delay."""

    def __init__(self, synth: Synth) -> None:
        self.name = synth.name
        self._synth = synth
        self._kept: OrderedDict[tuple[str, bool], Spoken] = OrderedDict()

    def speak(self, text: str, brief: bool = False) -> Spoken:
        key = (text, brief)
        if key not in self._kept:
            self._kept[key] = self._synth.speak(text, brief)
            if len(self._kept) > CACHED:
                self._kept.popitem(last=False)
        self._kept.move_to_end(key)
        return self._kept[key]

    def cancel(self) -> None:
        self._synth.cancel()


def choose_synth(settings: SpeechSettings) -> Synth | None:
    """The engine the settings ask for; None where there is none."""
    kind = settings.engine
    if kind in ("auto", "espeak-ng") and shutil.which("espeak-ng"):
        return Remembering(EspeakSynth(settings))
    if kind == "pyttsx3" or (kind == "auto" and not sys.platform.startswith("linux")):
        return Remembering(PlatformSynth(settings))
    return None
