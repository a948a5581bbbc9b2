"""A person at the bench, for whole-program tests: hears the speaker, speaks, presses, looks.

The program runs as a process of its own. What it asks is known from its journal, as an
outside observer would know it; whether it is speaking is heard at its loudspeaker.
"""

from __future__ import annotations

import array
import subprocess
import threading
import time
from collections.abc import Callable
from pathlib import Path

from assistant.bench.pedal_watch import QUIET_S
from assistant.engine.events import PedalUsed, SessionResumed, SessionStarted
from assistant.engine.phases import ANSWERS, Step
from assistant.engine.phrases import PHRASES
from assistant.journal.writing import Entry, JournalRecords, journals, read_journal
from tests.commands import PROGRAM, ROOT
from tests.whole.screen import Screen
from tests.whole.sound import SoundServer

TONE_S = 0.4  # the short tones are over by then
LOUD = 200  # of 32767: our loudspeaker is digital, so silence is exact


class Hearing:
    """Follows the loudspeaker: is anything sounding, and since when is it quiet?"""

    def __init__(self, sound: SoundServer) -> None:
        self._recorder = subprocess.Popen(
            ["parec", "--device=speaker.monitor", "--raw", "--rate=16000", "--channels=1",
             "--format=s16le", "--latency-msec=20"], env=sound.env, stdout=subprocess.PIPE,
        )  # fmt: skip
        self._blocks: list[bytes] = []
        self._loud_at = self._heard_to = time.monotonic()
        self._begun_at = self._spoken_since = 0.0
        self._thread = threading.Thread(target=self._follow, daemon=True)
        self._thread.start()

    def _follow(self) -> None:
        assert self._recorder.stdout
        while block := self._recorder.stdout.read(640):
            self._blocks.append(block)
            samples = array.array("h", block[: len(block) // 2 * 2])
            if samples and max(map(abs, samples)) > LOUD:
                self._loud()

    def _loud(self) -> None:
        now = time.monotonic()
        if now - self._loud_at > 0.25:
            self._begun_at = now
        self._loud_at = now
        if now - self._begun_at > TONE_S:
            self._spoken_since = now

    @property
    def kept(self) -> bytes:
        """Everything that was heard, 16 kHz mono."""
        return b"".join(self._blocks)

    def quiet_for(self) -> float:
        """Seconds since the last sound."""
        return time.monotonic() - self._loud_at

    def wait_for_quiet(self, seconds: float = 0.7, most: float = 120) -> None:
        end = time.monotonic() + most
        while self.quiet_for() < seconds:
            assert time.monotonic() < end, "the program does not stop speaking"
            time.sleep(0.02)

    def wait_for_new_sound(self, most: float = 60) -> None:
        """Until something longer than a short tone has begun to sound since the last call."""
        end = time.monotonic() + most
        while not self._spoken_since > self._heard_to:
            assert time.monotonic() < end, "the program says nothing"
            time.sleep(0.01)
        self._heard_to = time.monotonic()

    def from_now(self) -> None:
        """What sounds after this is new."""
        self._heard_to = time.monotonic()

    def close(self) -> None:
        self._recorder.kill()
        self._recorder.wait()
        self._thread.join(2)


class Bench:
    """The running program and its journal."""

    def __init__(self, words: list[str | Path], data: Path, env: dict[str, str]) -> None:
        self.data = data
        self.output = data.parent / f"output-{time.monotonic_ns()}.txt"
        with self.output.open("wb") as out:
            self.process = subprocess.Popen(
                [*PROGRAM, *map(str, words), "--data", str(data)],
                stdin=subprocess.DEVNULL, stdout=out, stderr=subprocess.STDOUT, env=env, cwd=ROOT,
            )  # fmt: skip

    def reading(self) -> JournalRecords | None:
        found = journals(self.data)
        return read_journal(found[-1]) if found else None

    def entries(self) -> list[Entry]:
        reading = self.reading()
        return reading.entries if reading else []

    @property
    def step(self) -> Step | None:
        entries = self.entries()
        return entries[-1].state.step if entries else None

    def wait(self, true: Callable[[], object], what: str, seconds: float = 60) -> None:
        end = time.monotonic() + seconds
        while not true():
            assert self.process.poll() in (None, 0), self.output.read_text("utf-8")
            assert time.monotonic() < end, f"{what}: {self.step}\n{self.output.read_text('utf-8')}"
            time.sleep(0.03)

    def wait_for_step(self, step: Step, seconds: float = 60) -> None:
        self.wait(lambda: self.step is step, f"waiting for {step.value}", seconds)

    def kill(self) -> None:
        self.process.kill()
        self.process.wait()

    def close(self) -> None:
        if self.process.poll() is None:
            self.process.terminate()
            try:
                self.process.wait(30)
            except subprocess.TimeoutExpired:
                self.kill()
                raise


class Speaker:
    """Answers by voice; a phrase that was not taken is said again, as a person would."""

    def __init__(self, bench: Bench, sound: SoundServer, hearing: Hearing, voice: str) -> None:
        self.bench, self.sound, self.hearing, self.voice = bench, sound, hearing, voice
        self.said = self.missed = 0

    def say(self, phrase: str, tries: int = 5) -> None:
        """Say the phrase until the journal shows that it was taken."""
        for _ in range(tries):
            self.hearing.wait_for_quiet()
            before = len(self.bench.entries())
            self.said += 1
            self.sound.say(phrase, self.voice)
            end = time.monotonic() + 8  # on a busy machine the ear takes its time
            while time.monotonic() < end:
                if len(self.bench.entries()) > before:
                    self.hearing.from_now()
                    return
                time.sleep(0.03)
            self.missed += 1
        raise AssertionError(f"{phrase!r} was not heard in {tries} tries")

    def answer(self) -> None:
        """The phrase that answers what is being asked now, once it has been asked."""
        self.hearing.wait_for_new_sound()  # what is said into the question is lost
        self.hearing.wait_for_quiet()
        self.hearing.from_now()
        step = self.bench.step
        assert step is not None
        self.say(PHRASES[ANSWERS[step]][0])

    def work_to(self, step: Step, most: int = 200) -> None:
        for _ in range(most):
            if self.bench.step is step:
                return
            self.answer()
        raise AssertionError(f"never came to {step.value}")


def until_rested(entries: list[Entry]) -> float:
    """Seconds until a pedal of this session counts for lock and guard; 0 where it does. A foot
    whose last press was not believed does as it was told: it waits out the longest quiet."""
    rested, last = False, time.time()
    for event in (entry.event for entry in entries):
        if isinstance(event, SessionStarted | SessionResumed):
            rested, last = False, event.at
        elif isinstance(event, PedalUsed) and event.source == "pedal":
            rested = event.trusted and (rested or event.at - last >= QUIET_S)
            last = event.at
    return 0.0 if rested else max(0.0, last + QUIET_S + 0.5 - time.time())


APART_S = 1.2  # seconds between two presses of a foot


class Foot:
    """A foot on a pedal that is a keyboard: real key events through a real X server."""

    def __init__(self, screen: Screen, hearing: Hearing, key: str) -> None:
        self.screen, self.hearing, self.key = screen, hearing, key
        self.presses = 0
        self._pressed_at = float("-inf")

    def teach(self, config: Path, env: dict[str, str]) -> None:
        """The program's own learn step, with this key."""
        learning = subprocess.Popen(
            [*PROGRAM, "doctor", "--learn-pedal", "--config", str(config)],
            env=env, cwd=ROOT, stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True,
        )  # fmt: skip
        assert learning.stdout
        self.screen.press_until(self.key, lambda: learning.poll() is not None)
        assert learning.returncode == 0, learning.stdout.read()

    def answer(self, bench: Bench, tries: int = 4) -> None:
        """One press, a moment after the question has begun to sound, for lock and guard when it
        has been said; again if not felt."""
        before = len(bench.entries())
        for _ in range(tries):
            self.hearing.wait_for_new_sound()
            if bench.step in (Step.LOCK, Step.LEAVE_OFF, Step.CALL, Step.GUARD):
                time.sleep(until_rested(bench.entries()))
                self.hearing.wait_for_quiet()
            # A foot that has to press again waits a moment: two presses together answer nothing.
            time.sleep(max(0.35, self._pressed_at + APART_S - time.monotonic()))
            self.presses += 1
            self.screen.press(self.key, 90)
            self._pressed_at = time.monotonic()
            end = time.monotonic() + 6
            while time.monotonic() < end:
                if len(bench.entries()) > before:
                    self.hearing.from_now()
                    return
                time.sleep(0.02)
        raise AssertionError(f"{tries} presses were not felt")

    def work_to(self, bench: Bench, step: Step, most: int = 200) -> None:
        for _ in range(most):
            if bench.step is step:
                return
            self.answer(bench)
        raise AssertionError(f"never came to {step.value}")

    def say_again(self) -> None:
        self.screen.press(self.key, 900)

    def hold(self) -> None:
        self.screen.press(self.key, 2500)
