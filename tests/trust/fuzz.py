"""Hostile input by the hundred thousand: seeded, plain, quick. Each target takes what comes or
refuses it in words of its own; anything else is a fault and goes up as it is."""

from __future__ import annotations

import json
import random
import string
import tempfile
from collections.abc import Callable, Iterator
from fractions import Fraction
from pathlib import Path
from typing import Any

from assistant.engine.engine import Refuse, advance, cut_is_allowed, given_size
from assistant.engine.events import (
    Command,
    CommandGiven,
    Device,
    DeviceLost,
    DeviceReturned,
    DeviceTroubled,
    Event,
    Gesture,
    NoteWritten,
    PedalUsed,
    PhraseHeard,
    SessionLeft,
    SessionResumed,
    SessionStarted,
    SizeGiven,
    Source,
    SpeechFailed,
    Trouble,
    from_record,
    to_record,
)
from assistant.engine.state import State
from assistant.errors import Refusal
from assistant.job.job_file import job_from_text
from assistant.journal.writing import JournalFault, read_journal
from solver import Refused, angle_from_text, number_from_text, parse_head
from tests.engine.jobs import MEASURED, programme
from tests.journal.played import made
from tests.trust.test_fuzz import _FILES, HOSTILE, mangled

Fuzz = Iterator[bool]  # one input each: True when it was taken, False when it was refused
_NUMBERS = ["81/2", "8d50m", "8°50'", "7/51 turn", "2/3", "8.8333", "12 mm", "1 1/2", "0.250 in"]
_ODD = "0123456789./-+°'\"dm eE,_∞١½\u202e\x00"


def text(chance: random.Random, most: int = 60) -> str:
    """Letters of every kind, or one of the known tricks."""
    if chance.random() < 0.3:
        return chance.choice(HOSTILE)
    ranges = (string.printable, _ODD, [chr(chance.randrange(1, 0x10FFFF)) for _ in range(8)])
    letters = chance.choice(ranges)
    return "".join(chance.choice(letters) for _ in range(chance.randrange(most)))


def bent(chance: random.Random, good: str) -> str:
    """A good figure with letters changed, lost and put in."""
    letters = list(good)
    for _ in range(chance.randint(1, 4)):
        at = chance.randrange(len(letters) + 1)
        letters[at : at + chance.randrange(3)] = chance.choice(["", chance.choice(_ODD), "9" * 40])
    return "".join(letters)


def value(chance: random.Random, depth: int = 2) -> Any:
    """Anything that JSON can hold, and more."""
    sort = chance.randrange(8 if depth else 6)
    plain: list[Callable[[], Any]] = [
        lambda: None,
        lambda: chance.random() < 0.5,
        lambda: chance.randrange(-(10**20), 10**20),
        lambda: chance.choice([0.0, -1.5, float("nan"), float("inf"), 1e308]),
        lambda: text(chance),
        lambda: chance.choice(list(Command)).value,
        lambda: [value(chance, depth - 1) for _ in range(chance.randrange(4))],
        lambda: {text(chance, 8): value(chance, depth - 1) for _ in range(chance.randrange(4))},
    ]
    return plain[sort]()


def numbers(chance: random.Random) -> Fuzz:
    while True:
        given = bent(chance, chance.choice(_NUMBERS)) if chance.random() < 0.7 else text(chance)
        parse = chance.choice((number_from_text, angle_from_text))
        try:
            found = parse(given)
        except Refused as error:
            assert str(error).strip()
            yield False
        else:
            assert isinstance(found, Fraction) and found >= 0
            yield True


def sizes(chance: random.Random) -> Fuzz:
    while True:
        found = given_size(bent(chance, "19.05"), chance.choice(["mm", "in", "thou", text(chance)]))
        assert found is None or found > 0
        yield found is not None


def _file(chance: random.Random, kind: str, read_it: Callable[[str, str], object]) -> Fuzz:
    while True:
        given = mangled(chance, chance.choice(_FILES[kind]), text(chance))
        try:
            read_it(given, "mine.toml")
        except (Refusal, Refused) as error:
            assert "mine.toml" in str(error)
            yield False
        else:
            yield True


def jobs(chance: random.Random) -> Fuzz:
    return _file(chance, "job", job_from_text)


def heads(chance: random.Random) -> Fuzz:
    return _file(chance, "head", parse_head)


def records(chance: random.Random) -> Fuzz:
    """What claims to be an event of a journal."""
    while True:
        record = to_record(event(chance, 1.0))
        for _ in range(chance.randrange(4)):
            record[chance.choice([*record, text(chance, 8)])] = value(chance)
        try:
            from_record(record)
        except ValueError as error:
            assert str(error).strip()
            yield False
        else:
            yield True


def event(chance: random.Random, at: float) -> Event:
    """Any event with anything in it that its fields may hold."""
    makers: list[Callable[[], Event]] = [
        lambda: PedalUsed(at, chance.choice(list(Gesture)), waited=chance.uniform(-1, 3)),
        lambda: PedalUsed(at, Gesture.PRESS),
        lambda: PhraseHeard(
            at, text(chance), chance.choice([None, *Command]), chance.random(),
            chance.random() < 0.9,
        ),
        lambda: SizeGiven(at, bent(chance, "19.05"), unit=chance.choice(["", "mm", "in", "x"])),
        lambda: NoteWritten(at, text(chance)),
        lambda: DeviceLost(at, chance.choice(list(Device)), text(chance)),
        lambda: DeviceReturned(at, chance.choice(list(Device))),
        lambda: DeviceTroubled(at, Device.PEDAL, chance.choice(list(Trouble))),
        lambda: SpeechFailed(at, text(chance), text(chance)),
        lambda: SessionStarted(at),
        lambda: SessionResumed(at),
        lambda: SessionLeft(at),
        lambda: CommandGiven(at, chance.choice(list(Command)), chance.choice(list(Source))),
    ]  # fmt: skip
    return makers[min(chance.randrange(18), 12) if chance.random() < 0.5 else chance.randrange(3)]()


def stream(chance: random.Random) -> Fuzz:
    """One endless session: no event makes it stumble, and no cut is open that may not be."""
    works = (programme(3), programme(2, passes=2), programme(4, passes=2, **MEASURED))
    while True:
        job, state, at = chance.choice(works), State(), 0.0
        for _ in range(2000):
            at += chance.uniform(-5, 20)
            before = state
            state, effects = advance(job, state, event(chance, at))
            assert cut_is_allowed(job, state)
            refused = any(isinstance(effect, Refuse) for effect in effects)
            assert not refused or state == before
            json.dumps(state.to_record())
            yield not refused


def journals(chance: random.Random) -> Fuzz:
    """A journal and its log, bytes changed, lost, doubled: as it was, or refused."""
    with tempfile.TemporaryDirectory() as name:
        closed = made(Path(name), 6)
        closed.close()
        content, whole = closed.path.read_bytes(), read_journal(closed.path).entries
        target = Path(name) / "spoilt.journal"
        while True:
            spoilt = bytearray(content)
            for _ in range(chance.randint(1, 4)):
                at, length = chance.randrange(len(spoilt)), chance.choice((1, 2, 16, 500, 4096))
                new = (bytes(length), chance.randbytes(length), spoilt[:length], b"")
                spoilt[at : at + length] = chance.choice(new)
            target.write_bytes(spoilt)
            try:
                found = read_journal(target).entries
            except JournalFault as error:
                assert str(target) in str(error)
                yield False
            else:
                assert found == whole
                yield True


TARGETS: dict[str, Callable[[random.Random], Fuzz]] = {
    "number and angle parser": numbers,
    "sizes measured": sizes,
    "job reader": jobs,
    "head reader": heads,
    "event records": records,
    "event stream": stream,
    "journal reader": journals,
}
