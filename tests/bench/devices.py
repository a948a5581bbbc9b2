"""Measures the devices and prints the figures: it judges nothing.

    python -m tests.bench.devices [ROUNDS]
    python -m tests.bench.devices --agree     # what a second ear for lock and guard costs
    python -m tests.bench.devices --session [SECONDS]   # the whole program, waiting and listening

Virtual sound, a virtual screen and real key events; times in milliseconds. What the sound
server adds between its sink and a real loudspeaker is not in them.
"""

from __future__ import annotations

import array
import os
import statistics
import subprocess
import sys
import tempfile
import threading
import time
from collections.abc import Callable
from pathlib import Path

import numpy as np

from tests.commands import ROOT
from tests.devices.told import Told
from tests.whole.person import Bench, Hearing
from tests.whole.screen import Screen
from tests.whole.sound import SoundServer, speech, wait_for

LOUD = 300
LONG = "This is a long sentence that goes on and on so that it can be interrupted at any time. " * 4


class Ears:
    """Follows a source block by block: when did it last become loud, or silent?"""

    def __init__(self, server: SoundServer, source: str = "speaker.monitor") -> None:
        self._recorder = subprocess.Popen(
            ["parec", f"--device={source}", "--raw", "--rate=48000", "--channels=1",
             "--format=s16le", "--latency-msec=2"], env=server.env, stdout=subprocess.PIPE,
        )  # fmt: skip
        self.loud_at = 0.0
        self.begun_at = 0.0
        threading.Thread(target=self._follow, daemon=True).start()

    def _follow(self) -> None:
        assert self._recorder.stdout
        while block := self._recorder.stdout.read(192):
            now = time.monotonic()
            samples = array.array("h", block[: len(block) & ~1])
            if samples and max(map(abs, samples)) > LOUD:
                if now - self.loud_at > 0.2:
                    self.begun_at = now
                self.loud_at = now

    def close(self) -> None:
        self._recorder.kill()
        self._recorder.wait()


def show(what: str, seconds: list[float]) -> None:
    ms = sorted(1000 * s for s in seconds)
    p95 = ms[min(len(ms) - 1, round(0.95 * len(ms)))]
    print(
        f"{what:<34} median {statistics.median(ms):7.1f} ms   p95 {p95:7.1f} ms   "
        f"max {ms[-1]:7.1f} ms   n {len(ms)}",
        flush=True,
    )


def speech_and_pedal(server: SoundServer, screen: Screen, rounds: int) -> None:
    """Say to first sound; pedal to silence; pedal to tone."""
    from assistant.devices.pedal.binding import KeyBinding
    from assistant.devices.pedal.x11 import XPedal
    from assistant.devices.sound.streams import Sound
    from assistant.devices.speech.announcer import VoiceAnnouncer
    from assistant.devices.speech.synth import choose_synth
    from assistant.engine.events import PedalUsed, Tone
    from assistant.files.settings import Settings

    settings = Settings(server.folder / "none.toml")
    sound, told, ears = Sound(), Told(), Ears(server)
    synth = choose_synth(settings.speech)
    assert synth is not None
    announcer = VoiceAnnouncer(sound, synth, settings, told, lambda tone: None)
    downs: list[float] = []

    def down() -> None:
        announcer.hush()
        downs.append(time.monotonic())

    pedal = XPedal(KeyBinding("x", "f9", 65478), down)
    pedal.start(told)
    time.sleep(1.5)
    new, kept, silent, hushed, toned = [], [], [], [], []
    for n in range(rounds):
        new.append(_first_sound(ears, lambda n=n: announcer.say(f"Cut number {n}.")))
        wait_for(lambda: not announcer.busy(), "silence")
        kept.append(_first_sound(ears, lambda n=n: announcer.say(f"Cut number {n}.")))
        wait_for(lambda: not announcer.busy(), "silence")
        _first_sound(ears, lambda: announcer.say(LONG))
        time.sleep(0.7)
        pressed = time.monotonic()
        screen.key_down("F9")
        time.sleep(0.12)
        screen.key_up("F9")
        told.wait(PedalUsed)
        silent.append(ears.loud_at - pressed)
        hushed.append(ears.loud_at - downs[-1])
        toned.append(_first_sound(ears, lambda: announcer.signal(Tone.ACCEPTED)))
        time.sleep(0.6)
    show("say to first sound, new sentence", new)
    show("say to first sound, kept sentence", kept)
    show("key press (xdotool) to silence", silent)
    show("hush to silence", [max(0.0, s) for s in hushed])
    show("signal to tone", toned)
    print("(a press is told 380 ms after its release; pedal to tone is that and the last line)")
    pedal.close()
    announcer.close()
    sound.close()
    ears.close()


def _first_sound(ears: Ears, act: Callable[[], None]) -> float:
    time.sleep(0.4)
    began = time.monotonic()
    act()
    wait_for(lambda: ears.begun_at > began, "sound")
    return ears.begun_at - began


def hearing(server: SoundServer, kind: str, rounds: int) -> None:
    """End of speech to the answer, live; memory and idle load of the listening process."""
    program = subprocess.Popen(
        [sys.executable, "-m", "tests.bench.devices", "--listen", kind],
        env=server.env, stdout=subprocess.PIPE, text=True,
    )  # fmt: skip
    ears = Ears(server, "mic_feed.monitor")
    assert program.stdout
    answers: list[tuple[float, bool]] = []

    def follow() -> None:
        assert program.stdout
        answers.extend((time.monotonic(), line.startswith("True")) for line in program.stdout)

    threading.Thread(target=follow, daemon=True).start()
    time.sleep(6)
    before, began = _cpu(program.pid), time.monotonic()
    time.sleep(10)
    idle = (_cpu(program.pid) - before) / (time.monotonic() - began)
    after: list[float] = []
    taken = 0
    for n in range(rounds):
        text = ("spindle locked", "guard closed", "cut done", "how many left")[n % 4]
        answers.clear()
        server.play(speech(text, "flite:slt", server.folder))
        time.sleep(1.5)
        if answers:
            after.append(answers[0][0] - ears.loud_at)
            taken += answers[0][1]
    if after:
        show(f"end of speech to answer, {kind}", after)
    print(f"    taken {taken} of {rounds}; memory {_memory(program.pid):.0f} MB; "
          f"idle {100 * idle:.1f} % of a core")  # fmt: skip
    program.kill()
    program.wait()
    ears.close()


def listen(kind: str) -> None:
    """The listening process: microphone and ear, a line for each utterance."""
    from assistant.devices.sound.streams import Sound
    from assistant.engine.events import Event, PhraseHeard
    from assistant.files.settings import EarSettings, Settings
    from assistant.hearing.listener import Hearing

    def post(event: Event) -> None:
        if isinstance(event, PhraseHeard):
            print(event.accepted, event.heard, flush=True)

    Hearing(Sound(), Settings(Path("none"), ear=EarSettings(kind=kind)), lambda: False).start(post)
    threading.Event().wait()


def false_accepts(kind: str, minutes: int) -> None:
    """How often the ear takes machine noise for a phrase, nobody speaking."""
    from assistant.files.settings import EarSettings
    from assistant.hearing.opening import open_hearer
    from tests.devices.test_ears import _shop

    hearer = open_hearer(EarSettings(kind=kind))
    heard = [h for second in range(60 * minutes) for h in hearer.feed(_shop(second))]
    taken = [h.text for h in heard if h.accepted]
    print(f"{minutes} minutes of shop noise, {kind}: {len(heard)} utterances, taken: {taken}")


def _cpu(pid: int) -> float:
    fields = Path(f"/proc/{pid}/stat").read_text().rsplit(")", 1)[1].split()
    return (int(fields[11]) + int(fields[12])) / os.sysconf("SC_CLK_TCK")


def _memory(pid: int) -> float:
    status = Path(f"/proc/{pid}/status").read_text()
    return int(status.split("VmRSS:")[1].split()[0]) / 1024


def session(server: SoundServer, seconds: float) -> None:
    """Processor time and memory of `tallyhand run` with its page, while it waits for an answer
    beside a quiet room, and while somebody talks."""
    with tempfile.TemporaryDirectory() as folder:
        config = Path(folder) / "tallyhand.toml"
        config.write_text('[ear]\nkind = "trained"\n[page]\nport = 0\n')
        job = ROOT / "config" / "jobs" / "pinion.toml"
        bench = Bench(["run", job, "--config", config], Path(folder) / "data", server.env)
        ears = Hearing(server)
        try:
            ears.wait_for_new_sound(60)
            ears.wait_for_quiet(3)
            idle = _used(bench.process.pid, seconds, lambda: time.sleep(seconds))
            talk = _used(bench.process.pid, seconds, lambda: _talk(server, seconds))
            for what, (share, memory) in (("waiting", idle), ("talk beside it", talk)):
                print(
                    f"whole session, trained ear, {what}: {share:.1f} % of a core, {memory:.0f} MB"
                )
        finally:
            ears.close()
            bench.close()


def agree() -> None:
    """Lock and guard phrases by five voices, with one ear and with two that must agree."""
    from assistant.files.settings import EarSettings
    from assistant.hearing.opening import open_hearer
    from assistant.hearing.training.noises import shop
    from assistant.hearing.waves import mix, read_sound, to_pcm

    with tempfile.TemporaryDirectory() as folder:
        clips = [
            read_sound(speech(text, voice, Path(folder)))
            for text in ("spindle locked", "guard closed")
            for voice in ("flite:slt", "flite:rms", "flite:awb", "flite:kal", "festival")
        ]
    edge = np.zeros(12800, np.float32)
    for ratio in (40.0, 20.0, 10.0):
        for both in (False, True):
            taken, seconds = 0, []
            for seed in range(3):
                for n, clip in enumerate(clips):
                    sound = np.concatenate([edge, clip, edge])
                    noise = shop(np.random.default_rng([seed, n]), len(sound))
                    pcm = to_pcm(np.float32(0.5) * mix(sound, noise, ratio))
                    hearer = open_hearer(EarSettings(kind="trained", agree=both))
                    heard = hearer.feed(pcm) + hearer.finish()
                    taken += any(each.accepted for each in heard)
                    seconds += [each.answered_after_s for each in heard if each.accepted]
            ears = "two ears" if both else "one ear"
            show(f"shop {ratio:g} dB, {ears}: {taken} of {3 * len(clips)} taken, answered", seconds)


def _used(pid: int, seconds: float, meanwhile: Callable[[], None]) -> tuple[float, float]:
    before, began = _cpu(pid), time.monotonic()
    meanwhile()
    return 100 * (_cpu(pid) - before) / (time.monotonic() - began), _memory(pid)


def _talk(server: SoundServer, seconds: float) -> None:
    end = time.monotonic() + seconds
    while time.monotonic() < end:
        server.say("the order for the second wheel came in this morning", "flite:awb")


def main() -> None:
    if sys.argv[1:2] == ["--agree"]:
        agree()
        return
    if sys.argv[1:2] == ["--session"]:
        with tempfile.TemporaryDirectory() as folder, SoundServer(Path(folder)) as server:
            session(server, float(sys.argv[2]) if sys.argv[2:] else 60)
        return
    if sys.argv[1:2] == ["--listen"]:
        listen(sys.argv[2])
        return
    rounds = int(sys.argv[1]) if sys.argv[1:] else 12
    with (
        tempfile.TemporaryDirectory() as folder,
        Screen() as screen,
        SoundServer(Path(folder)) as server,
    ):
        os.environ.update(server.added, DISPLAY=screen.display)
        speech_and_pedal(server, screen, rounds)
        for kind in ("grammar", "trained"):
            hearing(server, kind, rounds)
    for kind in ("grammar", "trained"):
        false_accepts(kind, 5)
    print(f"load of the machine meanwhile: {os.getloadavg()[0]:.1f} on {os.cpu_count()} cores")


if __name__ == "__main__":
    main()
