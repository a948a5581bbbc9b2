"""Answers to questions, by voice or typed: numbers, yes and no and choices by their number.

A number counts once it was read back and said to be right; what was not understood is asked for
again. Words can't be spoken: the ear knows figures and phrases alone. The keyboard answers at any
time.
"""

from __future__ import annotations

import queue
import sys
import threading
from collections.abc import Callable
from dataclasses import dataclass, replace

from assistant.engine.events import (
    Command,
    DeviceLost,
    DeviceReturned,
    Event,
    PhraseHeard,
    SizeGiven,
    TrustChanged,
)
from assistant.engine.phrases import phrase_for
from assistant.errors import Refusal
from assistant.files.settings import Settings
from assistant.hearing.listener import Hearing
from assistant.job.units import digits
from assistant.setup.program_voice import Voice
from assistant.setup.readings_aloud import NOT_FOR_US, ear_for_figures, figure, read_back
from assistant.words.language import say
from assistant.words.spoken import capital, sentences

COMMANDS = frozenset({Command.SIZE_RIGHT, Command.CHECKED, Command.GO_BACK, Command.SAY_AGAIN})
BACK, DEFAULT = "<", ""

_Given = Event | str | None
"""What comes in: of the microphone; a line that was typed; None where no more can be typed."""


@dataclass(frozen=True, slots=True)
class Pending:
    """The answer to the question in hand, as far as it is heard. `line`: what it comes to, once it
    does; `words`: what is said to what came in."""

    figure: str = ""
    unit: str = ""
    line: str | None = None
    words: str = ""

    def after(self, event: Event | str, asked: str) -> Pending:
        """Nothing but a figure that is confirmed, a phrase or a typed line is an answer."""
        match event:
            case str():
                return Pending(line=event.strip())
            case SizeGiven(size=size, unit=unit):
                return self._given(size, unit, asked)
            case PhraseHeard(accepted=True, command=command):
                return self._phrase(command, asked)
            case PhraseHeard(why=why) if why not in NOT_FOR_US:
                return replace(self, words=self._not_got(asked))
            case TrustChanged(trusted=False):
                loud = say("Too loud here for figures to be heard: type them.")
                return replace(self, words=loud)
            case DeviceLost(why=why):
                gone = say("I don't hear you: {why}. Type the figures.", why=why)
                return replace(self, words=gone)
            case DeviceReturned():
                return replace(self, words=sentences(say("I hear you again."), asked))
        return replace(self, words="")

    def _given(self, size: str, unit: str, asked: str) -> Pending:
        if (found := figure(size)) is None:
            return Pending(words=self._not_got(asked))
        return Pending(found, unit, words=sentences(_read_back(found, unit), _is_it()))

    def _phrase(self, command: Command | None, asked: str) -> Pending:
        if command is Command.SIZE_RIGHT and self.figure:
            return Pending(line=f"{self.figure} {self.unit}".strip())
        if command is Command.CHECKED and not self.figure:
            return Pending(line=DEFAULT)
        if command is Command.GO_BACK:
            if self.figure:
                return Pending(words=sentences(say("Taken back."), asked))
            return Pending(line=BACK)
        if command is Command.SAY_AGAIN and self.figure:
            again = sentences(_read_back(self.figure, self.unit), _is_it())
            return replace(self, words=again)
        return replace(self, words=asked if command in COMMANDS else "")

    def _not_got(self, asked: str) -> str:
        return sentences(say("I did not get that."), asked)


def _read_back(found: str, unit: str) -> str:
    named = {"mm": say("millimetres"), "in": say("inches"), "thou": say("thou")}.get(unit, "")
    return capital(f"{digits(found)} {named}.") if named else read_back(found)


def _is_it() -> str:
    right, back = phrase_for(Command.SIZE_RIGHT), phrase_for(Command.GO_BACK)
    return say("Say {right}, or {back}.", right=right, back=back)


def how() -> str:
    """Told once, before the first question."""
    return sentences(
        say("Figures can be spoken, and the number of a choice; yes is one, no is nought."),
        say("What stands in brackets: say {done}.", done=phrase_for(Command.CHECKED)),
        say("Names are typed."),
    )


class AnswersAloud:
    """Lines for a `Talk`, from microphone and keyboard; `say` and `hush` are for it too.

    Raises Refusal where nothing can be heard.
    """

    def __init__(self, settings: Settings, show: Callable[[str], None]) -> None:
        ear = ear_for_figures(settings)
        self._voice = Voice(settings, silent=False)
        if self._voice.sound is None:
            self._voice.close()
            raise Refusal(self._voice.why)
        self._show, self._asked = show, ""
        if self._voice.why:
            show(self._voice.why)
        self._told: queue.SimpleQueue[_Given] = queue.SimpleQueue()
        self._hearing = Hearing(self._voice.sound, settings, self._voice.busy, ear)
        self._hearing.expect(COMMANDS)
        self._hearing.start(self._told.put)
        threading.Thread(target=self._typing, name="typing", daemon=True).start()

    def say(self, question: str) -> None:
        """Asks it aloud; what is heard next is its answer."""
        self._asked = question
        self._voice.say(question)

    def hush(self) -> None:
        """Silence at once."""
        self._voice.hush()

    def __iter__(self) -> AnswersAloud:
        return self

    def __next__(self) -> str:
        pending = Pending()
        while (event := self._told.get()) is not None:
            pending = pending.after(event, self._asked)
            if pending.line is not None:
                if not isinstance(event, str):
                    self._show(pending.line)
                return pending.line
            if pending.words:
                self._show(f"\n  {pending.words}")
                self._voice.hush()
                self._voice.say(pending.words)
        raise StopIteration

    def close(self) -> None:
        """Lets ear and voice go."""
        self._hearing.close()
        self._voice.close()

    def _typing(self) -> None:
        for line in sys.stdin:
            self._told.put(line)
        self._told.put(None)
