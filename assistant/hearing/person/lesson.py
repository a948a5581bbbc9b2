"""Three recordings of each phrase from the live microphone: asked for aloud and in words.

The person is asked once more for a recording that will not do; one that still will not is
left out. What is kept so far is kept whatever happens next.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from pathlib import Path

from assistant.errors import Refusal
from assistant.hearing.person import recordings
from assistant.hearing.person.adapting import checked_recording
from assistant.hearing.person.recorder import Recorder
from assistant.hearing.waves import from_pcm

WAIT_S = 12.0
TRIES = 2

Tell = Callable[[str], None]


class Lesson:
    """Asks, records, keeps. `say` returns when the sentence is over."""

    def __init__(self, recorder: Recorder, folder: Path, say: Tell, show: Tell) -> None:
        self._recorder = recorder
        self._folder = folder
        self._say = say
        self._show = show

    def give(self, phrases: Iterable[str]) -> int:
        """Record what is still missing of each phrase; the number of recordings taken. Raises
        NoMicrophoneError."""
        self._say("After each phrase that I read to you, say it as you will at the machine.")
        return sum(
            self._one(phrase, number)
            for phrase in phrases
            for number in range(1, recordings.WANTED + 1)
            if not (self._folder / recordings.name_of(phrase, number)).exists()
        )

    def _one(self, phrase: str, number: int) -> bool:
        for attempt in range(TRIES):
            self._say(phrase if number == 1 or attempt else "Again.")
            # Shown when it may be said: while our own voice sounds nothing is recorded.
            self._show(f"Say: {phrase}  ({number} of {recordings.WANTED})")
            pcm = self._recorder.utterance(WAIT_S)
            if pcm is None:
                self._show("Nothing was heard.")
                continue
            try:
                checked_recording(phrase, from_pcm(pcm))
            except Refusal as error:
                self._show(str(error))
                continue
            recordings.keep_recording(self._folder, phrase, number, pcm)
            return True
        self._show(f"{phrase}: this recording is left out.")
        return False
