"""Reads aloud every sentence that a session says and every question about a job, and listens to
the moves again.

    python -m tests.bench.messages [de] [FOLDER]

By the program's own synthesiser at its settings, numbers as they are spoken. Printed: how long
the sentences are, the longest of them and of the whole texts, and how many of the moves and of the
questions PocketSphinx writes down as they were said, out of the list of all of them; a question
with a word that it does not know (keyways, gashes) can't be told so. With FOLDER each sentence is
kept there as a WAV file, to be listened to. No recogniser for German comes with a package.
"""

from __future__ import annotations

import re
import statistics
import sys
import wave
from collections.abc import Sequence
from pathlib import Path

from assistant.bench import language_files
from assistant.bench.at_the_bench import settings_in_language
from assistant.devices.speech.clear_numbers import clearly
from assistant.devices.speech.synth import Spoken, Synth, choose_synth
from assistant.files.places import head_path
from assistant.files.settings import Settings, settings_file
from assistant.hearing.waves import RATE, from_pcm, resample_sound, to_pcm
from assistant.job.programme import Programme
from assistant.words.moves import move_words
from solver import load_head, plan
from tests.devices.transcribe import known, sentences_of
from tests.engine.everything_said import in_sentences, programmes, said, unlike
from tests.language.asked import questions

LONGEST = 10
QUIET = bytes(RATE)  # half a second


class SessionSynth:
    """The program's synthesiser as a session has it, and what it has said so far."""

    def __init__(self, language: str, folder: Path | None) -> None:
        settings = settings_in_language(
            Settings(settings_file()), language_files.load_language(language)
        )
        synth = choose_synth(settings.speech)
        assert synth is not None, "no speech engine: install espeak-ng"
        self._synth: Synth = synth
        self._folder = folder
        self.speech = settings.speech

    def say(self, text: str) -> Spoken:
        spoken = self._synth.speak(clearly(text, self.speech.numbers, self.speech.language))
        if self._folder is not None:
            keep(spoken, self._folder / f"{re.sub(r'[^a-z0-9]+', '-', text.lower())[:80]}.wav")
        return spoken

    def seconds(self, text: str) -> float:
        spoken = self.say(text)
        return len(spoken.pcm) / 2 / spoken.rate


def keep(spoken: Spoken, file: Path) -> None:
    file.parent.mkdir(parents=True, exist_ok=True)
    with wave.open(str(file), "wb") as out:
        out.setnchannels(1)
        out.setsampwidth(2)
        out.setframerate(spoken.rate)
        out.writeframes(spoken.pcm)


def lengths(voice: SessionSynth, what: str, texts: Sequence[str]) -> None:
    """Median, 95th percentile, and the longest, in seconds."""
    by_length = sorted(((voice.seconds(text), text) for text in texts), reverse=True)
    seconds = sorted(length for length, _ in by_length)
    p95 = seconds[min(len(seconds) - 1, round(0.95 * len(seconds)))]
    print(f"{len(texts)} {what}: median {statistics.median(seconds):.1f} s, 95 % under {p95:.1f} s")
    for length, text in by_length[:LONGEST]:
        print(f"  {length:4.1f} s  {text}")


def written_down(voice: SessionSynth, what: str, texts: Sequence[str]) -> None:
    """How many come back as they were said, each out of all of them."""
    manner, language = voice.speech.numbers, voice.speech.language
    choices = {clearly(move, manner, language): move for move in texts}
    wrong = []
    for move in texts:
        spoken = voice.say(move)
        # Quiet on both sides, as a loudspeaker has it: the recogniser settles in it.
        pcm = QUIET + to_pcm(resample_sound(from_pcm(spoken.pcm), spoken.rate, RATE)) + QUIET
        found = [choices[each] for each in sentences_of(pcm, tuple(choices))]
        if found != [move]:
            wrong.append((move, found))
    print(f"{len(texts) - len(wrong)} of {len(texts)} {what} written down as they were said")
    for move, found in wrong:
        print(f"  {move}  ->  {' '.join(found) or 'nothing'}")


def moves(jobs: Sequence[Programme]) -> list[str]:
    """Every move of the jobs, and of each division to 60 on two heads of plates."""
    stages = [job.stage(n) for job in jobs for n in range(job.stages)]
    found = {move_words(move) for stage in stages for move in stage.moves}
    for name in ("three-plate-40", "two-sided-40"):
        head = load_head(head_path(name))
        for divisions in range(2, 61):
            best = plan(head, divisions=divisions, most=1)[0]
            found |= {move_words(move) for move in best.moves}
    return sorted(found)


def main(words: list[str]) -> None:
    language = "de" if "de" in words else "en"
    folder = next((Path(word) for word in words if word != "de"), None)
    voice = SessionSynth(language, folder)
    jobs = list(programmes(language))
    heard = {each for job in jobs for each in said(job)}
    sentences = {part for each in heard for part in in_sentences(each.text)}
    lengths(voice, "sentences", unlike(sentences, language))
    lengths(voice, "whole texts", unlike({each.text for each in heard}, language))
    lengths(voice, "questions about a job", questions(language))
    if language == "en":
        written_down(voice, "moves", moves(jobs))
        written_down(voice, "questions of known words", known(questions(language)))


if __name__ == "__main__":
    main(sys.argv[1:])
