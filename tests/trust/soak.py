"""A long day at the bench, hurried: the real loop, journal, page, screen and keyboard.

Events come as a session has them, one every four seconds of its own time; only the waiting
between them is left out. What is looked at is what grows: memory, threads, open files.
"""

from __future__ import annotations

import gc
import http.client
import os
import pty
import queue
import random
import select
import sys
import tempfile
import termios
import threading
import time
from array import array
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from assistant.bench.session import Bench, Session
from assistant.devices.sound.samples import resample
from assistant.devices.sound.wavefile import read_wave
from assistant.devices.speech.silent import SilentAnnouncer
from assistant.devices.terminal.drawing_thread import SteadyScreen
from assistant.devices.terminal.keyboard import Keyboard
from assistant.devices.terminal.screen import open_terminal
from assistant.engine.events import (
    Command,
    Device,
    DeviceLost,
    DeviceReturned,
    Event,
    Gesture,
    NoteWritten,
    PedalUsed,
    PhraseHeard,
    SessionStarted,
    SpeechFailed,
)
from assistant.engine.phases import ANSWERS
from assistant.files.settings import EarSettings
from assistant.hearing.opening import open_hearer
from assistant.journal.writing import Journal
from assistant.page.display import PageDisplay, Screens
from tests.engine.jobs import programme
from tests.whole.sound import speech

EVERY_S = 4.0  # from one event to the next, as a practised person works
CUTS, PASSES = 180, 60  # more than a day's work
A_FEW = 50  # blocks of memory, a tenth of what the test would call growth


@dataclass(frozen=True)
class Mark:
    """What there is after so many hours of the session."""

    hour: int
    events: int
    resident_kb: int
    blocks: int  # of memory that Python has given out
    threads: int
    files: int


def resident_kb() -> int:
    """Memory that the process holds, as Linux counts it."""
    text = Path("/proc/self/status").read_text("ascii")
    return int(text.split("VmRSS:")[1].split()[0])


def mark(hour: int, events: int, before: set[threading.Thread]) -> Mark:
    """`before`: threads that are none of the session's, and may end at any time."""
    blocks = _blocks_at_rest()
    files = len(list(Path("/proc/self/fd").iterdir()))
    threads = len(set(threading.enumerate()) - before)
    return Mark(hour, events, resident_kb(), blocks, threads, files)


def _blocks_at_rest() -> int:
    """Once the threads have sent and drawn what they were given: on a busy machine the session is
    far ahead of them, and what waits to be sent is no growth. A thread that an earlier test of
    this process left takes and gives a few all the time, so rest is not quite the same number."""
    last, same, end = -1, 0, time.monotonic() + 60
    while same < 3 and time.monotonic() < end:
        gc.collect()
        now = sys.getallocatedblocks()
        same, last = (same + 1 if abs(now - last) <= A_FEW else 0), now
        time.sleep(0.02)
    return last


class Reader:
    """A page that follows: takes the stream as a browser does."""

    def __init__(self, address: str) -> None:
        host = address.split("/")[2]
        self._connection = http.client.HTTPConnection(host, timeout=30)
        self._connection.request("GET", "/events")
        self._answer = self._connection.getresponse()
        self.taken = 0
        self._thread = threading.Thread(target=self._take, daemon=True)
        self._thread.start()

    def _take(self) -> None:
        while block := self._answer.read1(65536):
            self.taken += len(block)

    def join(self) -> None:
        self._thread.join(10)
        self._connection.close()


class Window:
    """A terminal that takes what is drawn on it."""

    def __init__(self) -> None:
        self.master, slave = pty.openpty()
        termios.tcsetwinsize(slave, (50, 120))
        self.slave = os.fdopen(slave, "w", encoding="utf-8")
        self._open = True
        self._thread = threading.Thread(target=self._take, daemon=True)
        self._thread.start()

    def _take(self) -> None:
        while self._open:
            if select.select([self.master], [], [], 0.05)[0]:
                os.read(self.master, 65536)

    def close(self) -> None:
        self._open = False
        self._thread.join()
        self.slave.close()
        os.close(self.master)


def happenings(session: Session, chance: random.Random, at: float) -> Iterator[Event]:
    """What happens in four seconds: nearly always an answer; at times anything else."""
    sort = chance.random()
    step = session.state.step
    if sort < 0.80:
        yield PedalUsed(at, Gesture.PRESS)
    elif sort < 0.90:
        command = ANSWERS.get(step, Command.WHAT_NEXT)
        yield PhraseHeard(at, command.value, command)
    elif sort < 0.94:
        yield PhraseHeard(at, "turn the radio down", None, 0.3, False, "none of the phrases")
    elif sort < 0.96:
        yield PhraseHeard(at, "where am i", Command.WHERE_AM_I)
    elif sort < 0.97:
        yield PedalUsed(at, Gesture.DOUBLE)
    elif sort < 0.98:
        yield PedalUsed(at, Gesture.HOLD)
    elif sort < 0.985:
        yield NoteWritten(at, "burr on the last tooth")
    elif sort < 0.99:
        yield PhraseHeard(at, "lost my count", Command.LOST_COUNT)
    else:
        device = chance.choice(list(Device))
        yield DeviceLost(at, device, "unplugged")
        yield SpeechFailed(at, "Lock the spindle.", "unplugged")
        yield DeviceReturned(at, device)


def run(folder: Path, hours: int, *, seed: int = 1) -> list[Mark]:
    """So many hours of one session; a mark at the start and after each hour."""
    before = set(threading.enumerate())
    told: queue.SimpleQueue[Event] = queue.SimpleQueue()
    window, page = Window(), PageDisplay(0)
    screen = SteadyScreen(open_terminal(window.slave, "full"), told.put)
    keyboard = Keyboard(window.slave.fileno())
    journal = Journal.create(folder, programme(CUTS, passes=PASSES), "")
    listeners = (keyboard, page)
    bench = Bench(SilentAnnouncer(screen.signal), Screens([screen, page]), listeners)
    session = Session(journal.programme, journal.last_state(), journal, bench)
    for listener in listeners:
        listener.start(told.put)
    reader = Reader(page.address)
    session.handle(SessionStarted(0.0))
    marks = _hours(session, bench, hours, random.Random(seed), before)
    assert not session.finished and reader.taken > 0
    page.close()
    keyboard.close()
    screen.close()
    journal.close()
    reader.join()
    window.close()
    _wait_for_threads(before)
    return [*marks, mark(hours, marks[-1].events, before)]


def _hours(
    session: Session, bench: Bench, hours: int, chance: random.Random,
    before: set[threading.Thread],
) -> list[Mark]:  # fmt: skip
    marks, events = [mark(0, 0, before)], 0
    for n in range(1, round(hours * 3600 / EVERY_S) + 1):
        for event in happenings(session, chance, n * EVERY_S):
            session.handle(bench.timed(event))
            events += 1
        if n * EVERY_S % 3600 == 0:
            marks.append(mark(round(n * EVERY_S / 3600), events, before))
    return marks


def _wait_for_threads(before: set[threading.Thread]) -> None:
    """The readers' threads end by themselves, in their own time."""
    end = time.monotonic() + 60
    while set(threading.enumerate()) - before and time.monotonic() < end:
        time.sleep(0.02)


# --- the ear


@dataclass(frozen=True)
class Heard:
    """What the ear holds after so many minutes of sound."""

    minutes: float
    heard: int
    resident_kb: int
    blocks: int
    threads: int


def listen(hours: float) -> list[Heard]:
    """So many hours of sound through the chain that the bench has; a mark ten times."""
    hearer = open_hearer(EarSettings())
    chance = random.Random(3)
    phrase = _phrase()
    pieces = max(10, round(hours * 3600 / PIECE_S))
    heard, marks = 0, list[Heard]()
    for n in range(pieces):
        if n % (pieces // 10) == 0:
            marks.append(_heard(n * PIECE_S / 60, heard))
        sound = _noise(chance, PIECE_S) if n % 3 else phrase
        for start in range(0, len(sound), 640):
            heard += len(hearer.feed(sound[start : start + 640]))
    return [*marks, _heard(pieces * PIECE_S / 60, heard)]


PIECE_S = 12


def _heard(minutes: float, heard: int) -> Heard:
    gc.collect()
    return Heard(minutes, heard, resident_kb(), sys.getallocatedblocks(), threading.active_count())


def _noise(chance: random.Random, seconds: int) -> bytes:
    """A room that is never quite still: -50 to -20 decibels."""
    loud = 10 ** (chance.uniform(-50, -20) / 20) * 32767
    block = array("h", (round(chance.gauss(0, loud / 3)) for _ in range(16000)))
    return block.tobytes() * seconds


def _phrase() -> bytes:
    """Speech with a pause round it, `PIECE_S` long."""
    with tempfile.TemporaryDirectory() as folder:
        wave = read_wave(speech("spindle locked", "flite:slt", Path(folder)).read_bytes())
    said = resample(wave.mono16(), wave.rate, 16000)
    rest = PIECE_S * 32000 - len(said)
    return bytes(rest // 4 * 2) + said + bytes(rest - rest // 4 * 2)
