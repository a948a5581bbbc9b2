"""Readings told one by one, aloud: asked for, heard through the microphone, read back, mended.

A reading counts as it was read back, unless the person goes back; the last one is confirmed. The
keyboard answers beside the voice, for a shop that is too loud.
"""

from __future__ import annotations

import queue
import sys
import threading
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from decimal import Decimal, InvalidOperation
from typing import NamedTuple

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
from assistant.errors import Refusal, passed_on
from assistant.files.settings import Settings
from assistant.hearing.judging import TOO_FAINT, TOO_LONG, TOO_SHORT
from assistant.hearing.listener import Hearing
from assistant.hearing.opening import ears_chosen
from assistant.hearing.recognisers.recogniser import EarUnusable
from assistant.hearing.spoken_sizes import SpokenSizes
from assistant.job.units import digits
from assistant.setup.program_voice import Voice
from assistant.words.language import ENGLISH, in_force, mark, say
from assistant.words.spoken import capital, sentences

COMMANDS = frozenset({Command.SIZE_RIGHT, Command.GO_BACK, Command.SAY_AGAIN})
_NOT_ENGLISH = mark("figures are understood in English alone: type them")
NOT_FOR_US = frozenset({TOO_LONG, TOO_SHORT, TOO_FAINT})
"""Talk, a clank, somebody further off: asked again at each of them, nobody could think."""
_MOST = Decimal(10**9)

_Given = Event | str | None
"""What comes in: of the microphone; a line that was typed; None where no more can be typed."""


class Reply(NamedTuple):
    """What is said to what came in; "" for nothing."""

    taking: Taking
    words: str


@dataclass(frozen=True, slots=True)
class Taking:
    """The readings so far. `questions`: how each is asked for; `unit`: the one that was named."""

    questions: tuple[str, ...]
    given: tuple[str, ...] = ()
    unit: str = ""
    over: bool = False

    @property
    def question(self) -> str:
        """The reading that is asked for now; after the last, whether all are right."""
        if len(self.given) < len(self.questions):
            return self.questions[len(self.given)]
        return say(
            "That was the last one. Say {right}, or {back}.",
            right=phrase_for(Command.SIZE_RIGHT),
            back=phrase_for(Command.GO_BACK),
        )

    def after(self, event: _Given) -> Reply:
        """Nothing but a reading, a way back or the last word changes anything."""
        match event:
            case SizeGiven(size=size, unit=unit):
                return self._reading(size, unit)
            case PhraseHeard(accepted=True, command=command):
                return self._phrase(command)
            case PhraseHeard(why=why) if why not in NOT_FOR_US:
                # Silence would leave the person waiting.
                return self._not_got()
            case str():
                return self._typed(event.strip())
            case TrustChanged(trusted=False):
                return Reply(self, say("Too loud here for figures to be heard: type them."))
            case DeviceLost(why=why):
                return Reply(self, say("I don't hear you: {why}. Type the figures.", why=why))
            case DeviceReturned():
                return Reply(self, sentences(say("I hear you again."), self.question))
        return Reply(self, "")

    def _reading(self, size: str, unit: str) -> Reply:
        if (found := figure(size)) is None:
            return self._not_got()
        if len(self.given) == len(self.questions):
            return Reply(self, self.question)  # one too many is no reading of anything
        if unit and self.given and unit != self.unit:
            # A reading in another unit would stand among the rest unseen, 25 times too large.
            return Reply(self, sentences(say("All of them in one unit."), self.question))
        taken = replace(self, given=(*self.given, found), unit=self.unit if self.given else unit)
        return Reply(taken, sentences(read_back(found), taken.question))

    def _not_got(self) -> Reply:
        return Reply(self, sentences(say("I did not get that."), self.question))

    def _phrase(self, command: Command | None) -> Reply:
        if command is Command.GO_BACK and self.given:
            back = replace(self, given=self.given[:-1])
            return Reply(back, sentences(say("Taken back."), back.question))
        if command is Command.SIZE_RIGHT and len(self.given) == len(self.questions):
            return Reply(replace(self, over=True), "")
        if command is Command.SAY_AGAIN and self.given:
            return Reply(self, sentences(read_back(self.given[-1]), self.question))
        return Reply(self, self.question if command in COMMANDS else "")

    def _typed(self, line: str) -> Reply:
        if line in ("b", "r", ""):
            keys = {"b": Command.GO_BACK, "r": Command.SAY_AGAIN, "": Command.SIZE_RIGHT}
            return self._phrase(keys[line])
        return self._reading(line, "")


def figure(text: str) -> str | None:
    """As it stands in figures; None for what is none. One that was typed may lie below nought."""
    try:
        value = Decimal(text.strip().replace(",", "."))
    except InvalidOperation:
        return None
    return format(value, "f") if value.is_finite() and abs(value) < _MOST else None


def read_back(given: str) -> str:
    """In words: "Twenty-one point five." """
    return capital(say("{figure}.", figure=digits(given)))


# --- with real devices ------------------------------------------------------------------


def readings(
    questions: tuple[str, ...], opening: str, settings: Settings, show: Callable[[str], None]
) -> list[float]:
    """All of them, in the unit of the indicator. Raises Refusal where nothing can be heard, and
    where the person stops it."""
    sizes = ear_for_figures(settings)
    voice = Voice(settings, silent=False)
    if voice.sound is None:
        voice.close()
        raise Refusal(voice.why)
    if voice.why:
        show(voice.why)
    told: queue.SimpleQueue[_Given] = queue.SimpleQueue()
    hearing = Hearing(voice.sound, settings, voice.busy, sizes)
    hearing.expect(COMMANDS)
    hearing.start(told.put)
    threading.Thread(target=_typing, args=(told,), name="typing", daemon=True).start()

    def tell(words: str) -> None:
        if words:
            show(words)
            voice.hush()
            voice.say(words)

    try:
        taking = Taking(questions)
        tell(sentences(opening, _how(), taking.question))
        for event in _until_over(told):
            taking, words = taking.after(event)
            tell(words)
            if taking.over:
                break
    except KeyboardInterrupt as stop:
        raise Refusal("stopped: nothing was kept", "begin anew, or give a file") from stop
    finally:
        hearing.close()
        voice.close()
    return [float(each) for each in taking.given]


def _how() -> str:
    back = phrase_for(Command.GO_BACK)
    return sentences(
        say("I read each figure back. Where it is wrong, say {back}.", back=back),
        say("By keys: the figure and Enter, or b to go back."),
    )


def ear_for_figures(settings: Settings) -> SpokenSizes:
    """The ear for figures. Raises Refusal with the cure where there is none."""
    from assistant.hearing.recognisers.numbers import NumberEar

    if in_force() is not ENGLISH:
        raise Refusal(say(_NOT_ENGLISH))
    if not ears_chosen(settings.ear):
        raise Refusal("no ear: tallyhand doctor names what is missing", "or type the readings")
    try:
        return SpokenSizes(NumberEar(signed=True), reading=True)
    except EarUnusable as error:
        raise passed_on(error) from error


def _until_over(told: queue.SimpleQueue[_Given]) -> Iterator[_Given]:
    while True:
        yield told.get()


def _typing(told: queue.SimpleQueue[_Given]) -> None:
    for line in sys.stdin:
        told.put(line)
