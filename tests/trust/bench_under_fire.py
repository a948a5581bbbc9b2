"""The running program with real devices that can be broken: sound server, X server, terminal,
browser. What the session made of it is read from its journal, as an outside observer would."""

from __future__ import annotations

import fcntl
import os
import pty
import re
import select
import signal
import subprocess
import termios
import threading
import time
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

from assistant.devices.pedal.binding import KeyBinding, pedal_file, write_binding
from assistant.engine.events import Device, DeviceLost, DeviceReturned
from assistant.engine.phases import Phase, Step, phase_of
from assistant.engine.state import State
from assistant.journal.writing import Entry, journals, read_journal
from tests.commands import PROGRAM, ROOT
from tests.page.browser import CHROMIUM, FLAGS
from tests.whole.person import until_rested
from tests.whole.screen import Screen
from tests.whole.sound import SoundServer, wait_for

SETTLED_S = 2.5
PEDAL = KeyBinding("x", "f9", 65478)
JOB = """title = "Square of the press screw"
head = "three-plate-40"
[work]
kind = "polygon"
sides = 4
across_flats = "20 mm"
bar = "28 mm"
passes = 2
finish = "0.25 mm"
"""
SETTINGS = """
[speech]
words_per_minute = 200
[ear]
kind = "grammar"
[pedal]
kind = "x"
[screen]
kind = "full"
"""


class Terminal:
    """The window: a pseudo-terminal that is the program's own. It can be stopped and closed."""

    def __init__(self) -> None:
        self.master, self.slave = pty.openpty()
        termios.tcsetwinsize(self.slave, (50, 120))
        self.text = ""
        self._open = True
        self._thread = threading.Thread(target=self._take, daemon=True)
        self._thread.start()

    def _take(self) -> None:
        while self._open:
            if select.select([self.master], [], [], 0.1)[0]:
                try:
                    self.text += os.read(self.master, 65536).decode("utf-8", "replace")
                except OSError:
                    return

    def close(self) -> None:
        if self._open:
            self._open = False
            self._thread.join()
            os.close(self.master)

    def press(self, key: str) -> None:
        os.write(self.master, key.encode())


class Browser:
    """A window with the bench page: a group of processes."""

    def __init__(self, folder: Path, address: str) -> None:
        assert CHROMIUM
        self._folder, self._address, self._count = folder, address, 0
        self.open()

    def open(self) -> None:
        self._count += 1
        profile = f"--user-data-dir={self._folder}/browser-{self._count}"
        self._process = subprocess.Popen(
            [CHROMIUM, "--headless=new", *FLAGS, profile, self._address],
            start_new_session=True,
            stdin=subprocess.DEVNULL,
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
        )

    def connected(self) -> bool:
        """Its connection to the program stands."""
        port = int(re.search(r":(\d+)/", self._address)[1])  # type: ignore[index]
        established = Path("/proc/net/tcp").read_text("ascii").splitlines()[1:]
        return any(
            f":{port:04X}" in line.split()[2] and line.split()[3] == "01" for line in established
        )

    def send(self, number: signal.Signals) -> None:
        os.killpg(self._process.pid, number)

    def close(self) -> None:
        if self._process.poll() is None:
            self.send(signal.SIGKILL)
            self._process.wait()


class Fire:
    """Everything together, and what can be done to it."""

    def __init__(self, folder: Path) -> None:
        self.folder, self.data = folder, folder / "data"
        self.sound = SoundServer(folder / "sound")
        self.screen, self.terminal = Screen(), Terminal()
        self.browser: Browser = None  # type: ignore[assignment]  # until `with`
        self.process: subprocess.Popen[bytes] = None  # type: ignore[assignment]

    def __enter__(self) -> Fire:
        try:
            self._open()
        except BaseException:
            self.__exit__()
            raise
        return self

    def _open(self) -> None:
        self.sound_up()
        self.screen.start()
        self._start()
        wait_for(lambda: "Bench page: " in self.terminal.text, "the program", 60)
        found = re.search(r"Bench page: (\S+)", self.terminal.text)
        assert found
        self.browser = Browser(self.folder, found[1])
        wait_for(lambda: self.step is Step.SET_UP, "the session", 60)

    def sound_up(self) -> None:
        """The sound server with a second device of each kind beside those in use."""
        self.sound.start()
        for spare in ("spare_mic", "spare_speaker"):
            self.sound._sink(spare, 16000, 1)
        self.sound._pactl("set-default-source", "mic_feed.monitor")
        self.sound._pactl("set-default-sink", "speaker")

    def _start(self) -> None:
        config, job = self.folder / "tallyhand.toml", self.folder / "job.toml"
        config.write_text(SETTINGS)
        job.write_text(JOB)
        write_binding(pedal_file(config), PEDAL)
        slave = self.terminal.slave
        self.process = subprocess.Popen(
            [*PROGRAM, "run", str(job), "--config", str(config), "--data", str(self.data),
             "--port", "0"],
            stdin=slave, stdout=slave, stderr=slave, cwd=ROOT, start_new_session=True,
            preexec_fn=lambda: fcntl.ioctl(0, termios.TIOCSCTTY, 0),  # noqa: PLW1509
            env={**self.sound.env, "DISPLAY": self.screen.display, "TERM": "xterm"},
        )  # fmt: skip
        os.close(slave)

    def settle(self) -> None:
        """Until every device is in use, and it is known where the sound goes."""
        wait_for(lambda: self.stream("source-output"), "the microphone", 60)
        wait_for(lambda: self.stream("sink-input"), "the speaker", 60)
        wait_for(self.browser.connected, "the page", 60)
        time.sleep(SETTLED_S)

    def stream(self, kind: str) -> str:
        """The number of the program's own stream on the sound server, "" where it has none."""
        listed = self.sound._pactl("list", f"{kind}s") or ""
        for block in listed.split("\n\n"):
            if "#" in block and f'process.id = "{self.process.pid}"' in block:
                return block.split("#", 1)[1].split()[0]
        return ""

    def __exit__(self, *_: object) -> None:
        if self.process is not None and self.process.poll() is None:
            self.process.kill()
            self.process.wait()
        if self.browser is not None:
            self.browser.close()
        self.screen.stop()
        self.sound.stop()
        self.terminal.close()

    # --- the session, from outside

    def entries(self) -> list[Entry]:
        found = journals(self.data)
        return read_journal(found[-1]).entries if found else []

    @property
    def state(self) -> State:
        entries = self.entries()
        return entries[-1].state if entries else State()

    @property
    def step(self) -> Step | None:
        entries = self.entries()
        return entries[-1].state.step if entries else None

    @property
    def standing(self) -> State:
        """What a device's coming and going must never touch."""
        state = self.state
        return replace(state, said="", lost=())

    def answer(self, how: Callable[[], None], seconds: float = 90) -> None:
        """Answer what is asked until the job has moved on; too soon is asked again."""
        before, end = self.standing, time.monotonic() + seconds
        while self.standing == before:
            last = [entry.event for entry in self.entries()[-6:]]
            assert time.monotonic() < end, f"no answer was taken at {before.step}: {last}"
            how()
            # A press too soon begins the question anew; the longest takes so long to be said.
            moved = time.monotonic() + 9
            while time.monotonic() < moved and self.standing == before:
                time.sleep(0.05)

    def by_key(self) -> None:
        self.terminal.press("\r")

    def by_foot(self) -> None:
        if phase_of(self.step or Step.SET_UP) in (Phase.LOCK, Phase.GUARD):
            time.sleep(until_rested(self.entries()))
        self.screen.press("F9", 100)

    def go_to(self, step: Step) -> None:
        """On to the next question of this kind."""
        if step in _BY_KEY and self.step is not step:
            self.answer(lambda: self.terminal.press(_BY_KEY[step]))
        while self.step is not step:
            self.answer(self.by_key)

    # --- what is told

    def lost(self, device: Device, since: float, seconds: float = 60) -> float:
        """Seconds until the loss stood in the journal, by the program's own time."""
        return self._told(DeviceLost, device, since, seconds)

    def returned(self, device: Device, since: float, seconds: float = 60) -> float:
        return self._told(DeviceReturned, device, since, seconds)

    def _told(self, kind: type, device: Device, since: float, seconds: float) -> float:
        end = time.monotonic() + seconds
        while time.monotonic() < end:
            for entry in reversed(self.entries()):
                event = entry.event
                if entry.at < since:
                    break
                if isinstance(event, kind) and event.device is device:  # type: ignore[attr-defined]
                    return entry.at - since
            assert self.process.poll() is None, self.terminal.text[-2000:]
            time.sleep(0.05)
        raise AssertionError(f"{kind.__name__} {device} was not told: {self.state.lost}")


_BY_KEY = {Step.PAUSED: "p", Step.CHECK_POSITION: "x"}
