"""A job run from a script, with the engine, the journal and the words of the bench, and no device.

Time is the script's own: a press lasts as long as it says and nothing is waited for.
"""

from __future__ import annotations

import json
import time
from collections.abc import Callable, Iterable
from pathlib import Path
from typing import Any

from assistant.bench.session import Session
from assistant.devices.pedal.gestures import Gestures
from assistant.engine import wording
from assistant.engine.engine import Announce, Effect, Refuse, Say, Signal
from assistant.engine.events import (
    LONG_ENOUGH,
    Device,
    DeviceLost,
    DeviceReturned,
    Event,
    NoteWritten,
    PartScrapped,
    PedalUsed,
    PhraseHeard,
    SessionResumed,
    SessionStarted,
    SizeGiven,
    Tone,
    TrialWanted,
)
from assistant.engine.phases import phase_of
from assistant.engine.phrases import command_for
from assistant.engine.state import State
from assistant.engine.transitions import RULES
from assistant.engine.view import LastInput
from assistant.errors import Refusal
from assistant.job.programme import Programme
from assistant.journal.writing import Journal
from assistant.words.language import mark, say, speaking
from assistant.words.plain_text import plain
from assistant.words.spoken import sentences

Write = Callable[[str], None]

PRESS_S = 0.12  # how long a foot stays down for a press that says nothing else
GAP_S = 0.1  # between the two presses of a double
QUIET_S = 1.0  # after a press, so that the next script line is a press of its own


class JsonLines:
    """The outlet that writes the contract's JSON lines."""

    def __init__(self, write: Write) -> None:
        self._write = write

    def perform(self, effect: Effect) -> None:
        self._write(json.dumps(_effect_record(effect), ensure_ascii=False))

    def stand(self, programme: Programme, state: State, heard: LastInput) -> None:
        self._write(json.dumps({"state": state_record(programme, state)}))


_TONES = {
    Tone.ACCEPTED: mark("accepted"),
    Tone.REFUSED: mark("refused"),
    Tone.ATTENTION: mark("attention"),
}


class PlainLines:
    """The outlet for a person: what is said, and where the job stands."""

    def __init__(self, write: Write, language: str = "en") -> None:
        self._write = write
        self._language = language

    def perform(self, effect: Effect) -> None:
        with speaking(self._language):
            self._perform(effect)

    def _perform(self, effect: Effect) -> None:
        match effect:
            case Say(text=text):
                self._write(f"  {plain(text)}")
            case Signal(tone=tone):
                self._write(f"  ({say(_TONES[tone])})")
            case Announce() | Refuse():
                pass  # the sentence that follows says it

    def stand(self, programme: Programme, state: State, heard: LastInput) -> None:
        with speaking(programme.language):
            programme = programme.stage(state.stage)
            place = say(
                "[{phase}, cut {n} of {total}, {done} done]",
                phase=say(phase_of(state.step).value), n=state.cut(programme),
                total=programme.cuts, done=state.done,
            )  # fmt: skip
            batch = wording.part_words(programme, state)
        self._write(sentences(place, batch))


def state_record(programme: Programme, state: State) -> dict[str, Any]:
    """The state as outside programs see it."""
    programme = programme.stage(state.stage)
    trial = {"trial": True} if state.trial else {}
    batch = {"part": state.part, "parts": programme.parts} if programme.parts > 1 else {}
    return {
        "phase": phase_of(state.step).value,
        "cut": state.cut(programme),
        "of": programme.cuts,
        "pass": state.pass_number,
        "spindle": str(programme.positions[state.place]),
        "locked": state.locked,
        "guarded": state.guarded,
        "done": state.done,
        **trial,
        **batch,
    }


def _effect_record(effect: Effect) -> dict[str, Any]:
    match effect:
        case Say(text=text, purpose=purpose):
            return {"said": text, "for": purpose}
        case Announce(move=move, cut=cut, closing=closing):
            record: dict[str, Any] = {"move": move.to_record(), "cut": cut}
            return {**record, "closing": True} if closing else record
        case Signal(tone=tone):
            return {"signal": tone.value}
        case Refuse(reason=reason):
            return {"refused": reason}


class Rehearsal:
    """Feeds script lines to a session; a restart closes the journal and reads it again."""

    def __init__(self, journal: Journal, outlet: JsonLines | PlainLines) -> None:
        self._outlet = outlet
        self._now = time.time()
        self._gestures = Gestures()
        self._begin(journal)

    def _begin(self, journal: Journal) -> None:
        self._journal = journal
        state = journal.last_state()
        self._session = Session(journal.programme, state, journal, self._outlet)

    def start(self) -> None:
        """The session begins: its first event is recorded."""
        self._session.handle(SessionStarted(self._now, rules=RULES))

    def run(self, lines: Iterable[str], where: str, *, blank_presses: bool = False) -> bool:
        """Play the script. True when the job came to its end. Raises Refusal for a bad line."""
        for n, line in enumerate(lines, 1):
            if line.strip() or blank_presses:
                self._play(line.strip(), f"{where} line {n}")
        return self._session.finished

    def _play(self, line: str, where: str) -> None:
        step = _parse(line, where)
        action = next((name for name in _ACTIONS if name in step), None)
        if action is None:
            raise Refusal(f"{where}: {line[:60]}", f"use one of {', '.join(_ACTIONS)}", ": ")
        try:
            _ACTIONS[action](self, step)
        except (ValueError, TypeError, KeyError) as error:
            raise Refusal(f"{where}: {line[:60]}: {error}", "mend that line", ": ") from None

    def close(self) -> Path:
        """Closes the journal and gives its file."""
        self._journal.close()
        return self._journal.path

    # --- what a script line can do

    def press(self, step: dict[str, Any]) -> None:
        """One press, `held_ms` long, `after_ms` after its question. Raises ValueError for another
        key or a time out of range.
        """
        if step["press"] != "main":
            raise ValueError(f"press {step['press']!r}: the pedal has one key, main")
        after = step.get("after_ms")
        if after is not None and not 0 <= float(after) <= 600_000:
            raise ValueError("after_ms: 0 to 600000")
        waited = LONG_ENOUGH if after is None else float(after) / 1000
        self._push(float(step.get("held_ms", PRESS_S * 1000)) / 1000, waited=waited)

    def presses(self, step: dict[str, Any]) -> None:
        """Presses as quick as a foot's double press. Raises ValueError beyond 1 to 9."""
        times = step["presses"]
        if not isinstance(times, int) or not 1 <= times <= 9:
            raise ValueError(f"presses {times!r}: a whole number, 1 to 9")
        self._push(*[PRESS_S] * times)

    def _push(self, *held: float, waited: float = LONG_ENOUGH) -> None:
        found = []
        for seconds in held:
            if not 0 <= seconds <= 600:
                raise ValueError("held_ms: 0 to 600000")
            found += self._gestures.down(self._now)
            self._now += seconds
            found += self._gestures.tick(self._now)
            found += self._gestures.up(self._now)
            self._now += GAP_S
        self._now += QUIET_S
        found += self._gestures.tick(self._now)
        for gesture in found:
            self._session.handle(PedalUsed(self._now, gesture, waited=waited, still=waited))
        if not found:
            self._session.handle_nothing()

    def say(self, step: dict[str, Any]) -> None:
        """A phrase, heard with that confidence (1 where none is given). Raises ValueError
        beyond 0 to 1.
        """
        heard = str(step["say"])
        command = command_for(heard)
        confidence = float(step.get("confidence", 1.0))
        if not 0 <= confidence <= 1:
            raise ValueError("confidence: 0 to 1")
        self._handle(PhraseHeard(self._now, heard, command, confidence, command is not None))

    def note(self, step: dict[str, Any]) -> None:
        """A note is written."""
        self._handle(NoteWritten(self._now, str(step["note"])))

    def measure(self, step: dict[str, Any]) -> None:
        """A size is given, as it would be typed."""
        self._handle(SizeGiven(self._now, str(step["size"]).replace(",", ".")))

    def scrap(self, _: dict[str, Any]) -> None:
        """The part in hand is given up."""
        self._handle(PartScrapped(self._now))

    def trial(self, _: dict[str, Any]) -> None:
        """The trial round is asked for."""
        self._handle(TrialWanted(self._now))

    def lose(self, step: dict[str, Any]) -> None:
        """A device goes. Raises ValueError for one that is not known."""
        self._handle(DeviceLost(self._now, Device(step["lost"]), "the script says so"))

    def regain(self, step: dict[str, Any]) -> None:
        """A device comes back. Raises ValueError for one that is not known."""
        self._handle(DeviceReturned(self._now, Device(step["returned"])))

    def wait(self, step: dict[str, Any]) -> None:
        """Time passes, in milliseconds. Raises ValueError for less than none."""
        milliseconds = float(step["wait_ms"])
        if not milliseconds >= 0:
            raise ValueError("wait_ms: 0 or more")
        self._now += milliseconds / 1000
        self._session.handle_nothing()

    def restart(self, _: dict[str, Any]) -> None:
        """As if the process had been killed here: only what is on the disk is left."""
        self._journal.close()
        self._gestures = Gestures()
        self._begin(Journal.open(self._journal.path))
        self._handle(SessionResumed(self._now, rules=RULES))

    def _handle(self, event: Event) -> None:
        self._session.handle(event)


_ACTIONS: dict[str, Callable[[Rehearsal, dict[str, Any]], None]] = {
    "press": Rehearsal.press,
    "presses": Rehearsal.presses,
    "say": Rehearsal.say,
    "note": Rehearsal.note,
    "size": Rehearsal.measure,
    "scrap": Rehearsal.scrap,
    "trial": Rehearsal.trial,
    "lost": Rehearsal.lose,
    "returned": Rehearsal.regain,
    "wait_ms": Rehearsal.wait,
    "restart": Rehearsal.restart,
}


def _parse(line: str, where: str) -> dict[str, Any]:
    """A JSON object, or plain words as they would be spoken; an empty line is a press."""
    if not line.startswith(("{", "[", '"')):
        return {"say": line} if line else {"press": "main"}
    try:
        step = json.loads(line)
    except json.JSONDecodeError as error:
        raise Refusal(f"{where}: no JSON ({error.msg} at column {error.colno})", "") from None
    except (ValueError, RecursionError):
        raise Refusal(
            f"{where}: a number or a nesting without end", "mend that line", ": "
        ) from None
    if not isinstance(step, dict):
        raise Refusal(f"{where}: a script line is a JSON object", "")
    return step
