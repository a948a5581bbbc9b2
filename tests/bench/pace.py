"""How much a job says and how often it wants an answer, in whole sentences and in few words.

    python -m tests.bench.pace [JOB ...]            # rehearsed: the jobs' own sentences, spoken
    python -m tests.bench.pace --every N [JOB ...]  # and what does not change said every N cuts
    python -m tests.bench.pace --real [CUTS [WAY ...]]  # the collar on real sound, by a real key

Prints, never judges. Rehearsed, each sentence is spoken by the program's own voice and its
samples are counted: seconds as played, and seconds from the first sound to the last. Real, the
program runs as a process of its own; its loudspeaker is listened to, a foot presses when it is
silent, and cuts are counted from the fourth to CUTS (13). A WAY is "few,hold" or "whole,double".
docs/pace.md shows what came out.
"""

from __future__ import annotations

import array
import os
import subprocess
import sys
import tempfile
import threading
import time
from collections.abc import Callable
from dataclasses import dataclass, field
from functools import cache
from pathlib import Path
from typing import Any

from Xlib import X
from Xlib.display import Display
from Xlib.ext import xtest

from assistant.bench.pedal_watch import QUIET_S
from assistant.devices.pedal.binding import KeyBinding, pedal_file, write_binding
from assistant.devices.sound.samples import as_array
from assistant.devices.speech.clear_numbers import clearly
from assistant.devices.speech.synth import EspeakSynth
from assistant.engine.engine import Effect, Say, advance
from assistant.engine.events import Gesture, PedalUsed, SessionStarted
from assistant.engine.phases import Phase, Step, phase_of
from assistant.engine.state import State
from assistant.files.settings import PaceSettings, SpeechSettings
from assistant.job.compiler import head_of, programme_of, setups_of
from assistant.job.job_file import read_job
from assistant.job.programme import Programme, heeding
from tests.commands import JOBS
from tests.whole.person import Bench
from tests.whole.screen import Screen
from tests.whole.sound import SoundServer

WHOLE_CUTS = PaceSettings().whole_cuts
A_LINE_S = 5.0  # that the cutter takes; a foot that answers at once is not believed
QUIET = 200  # of 32,768: what is under it is no sound of a voice


@dataclass(frozen=True, slots=True)
class Mark:
    """What had been said and pressed by a moment of the job: seconds, presses, words."""

    played: float = 0.0
    sounding: float = 0.0
    presses: int = 0
    words: int = 0


@dataclass
class Told:
    """One job, walked through by presses alone. `at` has the moment at which each cut counted."""

    now: Mark = Mark()
    at: dict[int, Mark] = field(default_factory=dict)

    def hear(self, effects: list[Effect]) -> None:
        for effect in effects:
            if isinstance(effect, Say):
                played, sounding = seconds(effect.text, effect.brief)
                now, words = self.now, len(effect.text.split())
                self.now = Mark(now.played + played, now.sounding + sounding, now.presses,
                                now.words + words)  # fmt: skip


@cache
def seconds(text: str, brief: bool = False) -> tuple[float, float]:
    """As played, and from the first sound to the last."""
    spoken = EspeakSynth(SpeechSettings()).speak(
        clearly(text, SpeechSettings().numbers, SpeechSettings().language), brief
    )
    samples = as_array(spoken.pcm)
    loud = [at for at, each in enumerate(samples) if abs(each) > QUIET]
    return len(samples) / spoken.rate, (loud[-1] - loud[0]) / spoken.rate


def walk(programme: Programme) -> Told:
    told, state = Told(), State()
    state, effects = advance(programme, state, SessionStarted(0.0))
    told.hear(effects)
    while state.step is not Step.FINISHED:
        before = state
        state, effects = advance(programme, state, PedalUsed(0.0, Gesture.PRESS))
        if state.done == before.done + 1 and (state.stage, state.pass_number) == (0, 1):
            told.at[state.done] = told.now
        now = told.now
        told.now = Mark(now.played, now.sounding, now.presses + 1, now.words)
        told.hear(effects)
    return told


def programme(file: Path) -> Programme:
    made = read_job(file)
    head = head_of(made)
    return programme_of(made, head, setups_of(made, head)[0])


def row(name: str, job: Programme) -> None:
    told = walk(job)
    first, last = told.at[WHOLE_CUTS], told.at[max(told.at)]
    cuts = max(told.at) - WHOLE_CUTS
    each = [
        (last.played - first.played) / cuts,
        (last.sounding - first.sounding) / cuts,
        (last.presses - first.presses) / cuts,
        (last.words - first.words) / cuts,
    ]
    figures = " | ".join(f"{value:.1f}" for value in each)
    whole = f"{told.now.played / 60:.1f} | {told.now.presses}"
    print(f"| {name} | {figures} | {whole} |", flush=True)


# --- on real sound -----------------------------------------------------------------------

F9 = 65478  # its key symbol (X Window System Protocol, appendix A)
BLOCK = 96  # samples of the loudspeaker looked at together: 2 ms at 48 kHz
APART_S = 0.5  # silence that ends a sentence
TICK_S = 0.045  # what is shorter is the foot's tick, and no part of the sentence behind it
TICK_MOST_S = 0.2  # what is shorter is a tone
SETTINGS = """
[pace]
words = "{words}"
[pedal]
kind = "x"
{gestures}
[ear]
kind = "none"
[keyboard]
use = false
[screen]
kind = "lines"
[page]
serve = false
"""


class Loudspeaker:
    """When it sounded: (from, to) of all that is heard, parts 20 ms apart told apart."""

    def __init__(self, server: SoundServer) -> None:
        self._recorder = subprocess.Popen(
            ["parec", "--device=speaker.monitor", "--raw", "--rate=48000", "--channels=1",
             "--format=s16le", "--latency-msec=2"], env=server.env, stdout=subprocess.PIPE,
        )  # fmt: skip
        self.sounds: list[list[float]] = []
        threading.Thread(target=self._follow, daemon=True).start()

    def _follow(self) -> None:
        assert self._recorder.stdout
        while block := self._recorder.stdout.read(2 * BLOCK):
            now = time.monotonic()
            if max(map(abs, array.array("h", block[: len(block) & ~1])), default=0) <= QUIET:
                continue
            if not self.sounds or now - self.sounds[-1][1] > 0.02:
                self.sounds.append([now, now])
            self.sounds[-1][1] = now

    def first_after(self, moment: float) -> float | None:
        return next((begun for begun, _ in list(self.sounds) if begun > moment), None)

    def silent_since(self) -> float:
        return self.sounds[-1][1] if self.sounds else 0.0

    def sentences(self) -> list[tuple[float, float]]:
        """What was said, from its first sound to its last."""
        found: list[list[float]] = []
        for begun, ended in list(self.sounds):
            if ended - begun < TICK_S:
                continue
            if found and begun - found[-1][1] < APART_S:
                found[-1][1] = ended
            else:
                found.append([begun, ended])
        return [(a, b) for a, b in found if b - a > TICK_MOST_S]

    def close(self) -> None:
        self._recorder.kill()
        self._recorder.wait()


@dataclass
class Pressed:
    """One press and what was heard of it: seconds."""

    down: float
    up: float
    tick: float | None = None
    spoke: float | None = None


class RealFoot:
    """A key of a real X server, its times taken where it is pressed."""

    def __init__(self, ears: Loudspeaker) -> None:
        self._screen = Display()
        self._key = self._screen.keysym_to_keycode(F9)
        self._ears = ears
        self.presses: list[Pressed] = []

    def press(self, held: float = 0.12) -> None:
        down = time.monotonic()
        self._give(X.KeyPress)
        time.sleep(held)
        up = time.monotonic()
        self._give(X.KeyRelease)
        self.presses.append(Pressed(down, up))
        self._hear(self.presses[-1])

    def _give(self, edge: int) -> None:
        xtest.fake_input(self._screen, edge, self._key)
        self._screen.sync()

    def _hear(self, press: Pressed) -> None:
        end = time.monotonic() + 3
        while time.monotonic() < end and press.spoke is None:
            time.sleep(0.005)
            press.tick = self._ears.first_after(press.down)
            press.spoke = self._ears.first_after(press.up)


def real(server: SoundServer, words: str, gestures: str, cuts: int) -> None:
    """The collar up to so many cuts, each answer given when the loudspeaker is silent."""
    with tempfile.TemporaryDirectory() as folder:
        config = Path(folder) / "tallyhand.toml"
        manner = f'gestures = "{gestures}"' if gestures else ""
        config.write_text(SETTINGS.format(words=words, gestures=manner))
        write_binding(pedal_file(config), KeyBinding("x", "f9", F9))
        ears = Loudspeaker(server)
        foot = RealFoot(ears)
        job = JOBS / "press-collar.toml"
        bench = Bench(["run", job, "--config", config], Path(folder) / "data", dict(os.environ))
        try:
            bench.wait(lambda: ears.sounds, "the first sound")
            at = _work(bench, foot, ears, cuts)
        finally:
            bench.close()
            ears.close()
        _report(f"{words} words, {gestures}", at, foot, ears)


def _work(bench: Bench, foot: RealFoot, ears: Loudspeaker, cuts: int) -> dict[int, float]:
    at: dict[int, float] = {}
    proven = False
    while len(at) < cuts:
        state: Any = bench.entries()[-1].state
        if phase_of(state.step) is Phase.SET_UP:
            time.sleep(0.7)  # it is not what is measured
        elif not proven:
            time.sleep(QUIET_S + 1)  # then the pedal is believed for lock and guard
            proven = True
        else:
            wait_until(lambda: time.monotonic() - ears.silent_since() > APART_S + 0.1)
        if phase_of(state.step) is Phase.CUT:
            time.sleep(A_LINE_S)
        if state.done not in at and state.done:
            at[state.done] = ears.silent_since()
        foot.press()
    return at


def wait_until(true: Callable[[], object]) -> None:
    while not true():
        time.sleep(0.01)


def _report(name: str, at: dict[int, float], foot: RealFoot, ears: Loudspeaker) -> None:
    first, last = at[WHOLE_CUTS], at[max(at)]
    cuts = max(at) - WHOLE_CUTS
    told = [b - a for a, b in ears.sentences() if first < b <= last]
    made = [press for press in foot.presses if first < press.down < last]
    print(f"| {name} | {sum(told) / cuts:.1f} | {len(made) / cuts:.1f} "
          f"| {_spread([(p.tick or 0) - p.down for p in made])} "
          f"| {_spread([(p.spoke or 0) - p.up for p in made])} |", flush=True)  # fmt: skip


def _spread(seconds: list[float]) -> str:
    ms = sorted(round(1000 * each) for each in seconds)
    p95 = ms[min(len(ms) - 1, round(0.95 * len(ms)))]
    return f"{ms[len(ms) // 2]} / {p95} / {ms[-1]}"


def on_real_sound(cuts: int, ways: tuple[tuple[str, str], ...] = ()) -> None:
    print("| way | s of speech a cut | presses a cut | press down to tick: p50 / p95 / worst, ms "
          "| press up to the next sentence, ms |")  # fmt: skip
    print("|---|---:|---:|---:|---:|")
    with (
        tempfile.TemporaryDirectory() as folder,
        Screen() as screen,
        SoundServer(Path(folder)) as server,
    ):
        os.environ.update(server.added, DISPLAY=screen.display)
        for words, gestures in ways or (("few", "hold"), ("few", "double"), ("whole", "hold")):
            real(server, words, gestures, cuts)


def main(words: list[str]) -> None:
    if words[:1] == ["--real"]:
        ways = tuple((each.split(",")[0], each.split(",")[1]) for each in words[2:])
        on_real_sound(int(words[1]) if words[1:] else 13, ways)
        return
    every = PaceSettings().remind_every
    if words[:1] == ["--every"]:
        every, words = int(words[1]), words[2:]
    print("| job | s a cut, as played | s a cut, sounding | presses a cut | words a cut "
          "| min of speech | presses in all |")  # fmt: skip
    print("|---|---:|---:|---:|---:|---:|---:|")
    for name in words or ["press-collar", "pinion", "count-wheel"]:
        job = programme(JOBS / f"{name}.toml")
        row(f"{name}, five answers", heeding(job, whole_cuts=0, remind_every=0))
        row(f"{name}, three answers", heeding(job, whole_cuts=WHOLE_CUTS, remind_every=every))


if __name__ == "__main__":
    main(sys.argv[1:])
