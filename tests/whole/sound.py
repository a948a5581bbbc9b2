"""Virtual sound for the tests: a PulseAudio daemon of our own with a microphone and a speaker.

Two null sinks: what is played into `mic_feed` is what the program's microphone hears, and
what the program says is recorded from `speaker`. Nothing of the machine's own sound is
touched; it works as root, without a sound card.

    with SoundServer(tmp_path) as sound:
        subprocess.Popen([...], env=sound.env)
        sound.say("spindle locked")
        with sound.recording(tmp_path / "out.wav"): ...
"""

from __future__ import annotations

import array
import contextlib
import os
import random
import shutil
import signal
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from types import TracebackType

NEEDED = ("pulseaudio", "pactl", "paplay", "parec", "pacat", "espeak-ng")
_ALSA = """</usr/share/alsa/alsa.conf>
pcm.!default { type pulse
               hint { show on
                      description "Default (PulseAudio)" } }
ctl.!default { type pulse }
"""


def missing() -> str:
    """Which of the programs needed are not there; empty when the tests can run."""
    return ", ".join(name for name in NEEDED if shutil.which(name) is None)


class SoundServer:
    """Starts, breaks and mends a sound server. `env` is for the programs that shall use it."""

    def __init__(self, folder: Path, room_tone: bool = True) -> None:
        self.folder = folder
        self._room_tone = room_tone
        self._daemon: subprocess.Popen[bytes] | None = None
        self._tone: subprocess.Popen[bytes] | None = None
        runtime = folder / "xdg"
        for made in (folder / "home", runtime):
            made.mkdir(parents=True, exist_ok=True)
            made.chmod(0o700)
        self._pulse = runtime / "pulse"
        alsa = folder / "asound.conf"
        alsa.write_text(_ALSA)
        self.added = {
            "XDG_RUNTIME_DIR": str(runtime),
            "PULSE_RUNTIME_PATH": str(self._pulse),
            "PULSE_STATE_PATH": str(folder / "home" / "pulse-state"),
            "PULSE_SERVER": f"unix:{self._pulse / 'native'}",
            "ALSA_CONFIG_PATH": str(alsa),
        }
        self.env = {**os.environ, **self.added}

    def __enter__(self) -> SoundServer:
        self.start()
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        tb: TracebackType | None,
    ) -> None:
        self.stop()

    def start(self) -> None:
        """Bring the server up with its two sinks. Raises RuntimeError when it does not come."""
        # A killed daemon leaves its socket behind.
        shutil.rmtree(self._pulse, ignore_errors=True)
        self._pulse.mkdir(mode=0o700)
        with (self.folder / "pulse.log").open("ab") as log:
            # No pid file: the zombie of a killed daemon would keep the next from starting.
            self._daemon = subprocess.Popen(
                ["pulseaudio", "-n", "--daemonize=no", "--use-pid-file=no", "--exit-idle-time=-1",
                 "--realtime=no", "--high-priority=no", "--log-target=stderr", "--log-level=notice",
                 "--load=module-native-protocol-unix auth-anonymous=1"],
                env=self.env, stdin=subprocess.DEVNULL, stdout=log, stderr=log,
            )  # fmt: skip
        wait_for(self._answers, "the sound server")
        self.plug_speaker()
        self.plug_microphone()

    def _answers(self) -> bool:
        return self._pactl("info", check=False) is not None

    def plug_microphone(self) -> None:
        self._sink("mic_feed", 16000, 1)
        self._pactl("set-default-source", "mic_feed.monitor")
        if self._room_tone:
            self._start_room_tone()

    def plug_headset(self) -> None:
        """In the microphone's place: two channels at 44100, what is played on the left only."""
        self._sink("mic_feed", 44100, 2)
        self._pactl("set-sink-volume", "mic_feed", "100%", "0%")
        self._pactl("set-default-source", "mic_feed.monitor")
        if self._room_tone:
            self._start_room_tone()

    def plug_speaker(self) -> None:
        self._sink("speaker", 48000, 2)
        self._pactl("set-default-sink", "speaker")
        # While the speaker was away the default was mic_feed: what played there moves with it.
        if self._tone is not None:
            self._start_room_tone()

    def unplug(self, sink: str) -> None:
        """Take `mic_feed` or `speaker` away, as when its plug is pulled."""
        for line in (self._pactl("list", "short", "modules") or "").splitlines():
            if f"sink_name={sink} " in line:
                self._pactl("unload-module", line.split()[0])

    def stand_still(self, sink: str, still: bool) -> None:
        """Let `mic_feed` or `speaker` take and give nothing, while it is still there."""
        self._pactl("suspend-sink", sink, str(int(still)))

    def mute_microphone(self, muted: bool) -> None:
        self._pactl("set-source-mute", "mic_feed.monitor", str(int(muted)))

    def freeze(self) -> None:
        """The server stops answering, with every connection open."""
        assert self._daemon is not None
        self._daemon.send_signal(signal.SIGSTOP)

    def thaw(self) -> None:
        assert self._daemon is not None
        self._daemon.send_signal(signal.SIGCONT)

    def stop(self) -> None:
        """Kill the server."""
        for process in (self._tone, self._daemon):
            if process is not None and process.poll() is None:
                process.kill()
                process.wait()
        self._tone = self._daemon = None

    def play(self, wav: Path) -> None:
        """Play a file into the microphone; returns when it has been played."""
        subprocess.run(["paplay", "--device=mic_feed", str(wav)], env=self.env, check=True)

    def say(self, text: str, voice: str = "flite:slt") -> None:
        """Speak into the microphone with a synthetic voice."""
        self.play(speech(text, voice, self.folder))

    @contextlib.contextmanager
    def recording(self, wav: Path, source: str = "speaker.monitor") -> Iterator[Path]:
        """Record what the speaker plays (or another source) as 16 kHz mono."""
        recorder = subprocess.Popen(
            ["parec", f"--device={source}", "--file-format=wav", "--rate=16000", "--channels=1",
             "--format=s16le", "--latency-msec=20", str(wav)], env=self.env,
        )  # fmt: skip
        wait_for(lambda: wav.exists() and wav.stat().st_size > 44, "the recorder")
        try:
            yield wav
        finally:
            recorder.send_signal(signal.SIGINT)
            recorder.wait(60)

    def _sink(self, name: str, rate: int, channels: int) -> None:
        # Without norewinds the first seconds of a recording are missing.
        self._pactl(
            "load-module", "module-null-sink", f"sink_name={name}", f"rate={rate}",
            f"channels={channels}", "norewinds=1",
        )  # fmt: skip

    def _start_room_tone(self) -> None:
        """A real microphone never gives pure zeros: play faint noise (-66 dB) all the time."""
        raw = self.folder / "room.raw"
        if not raw.exists():
            dice = random.Random(1)
            raw.write_bytes(
                array.array("h", (round(dice.gauss(0, 16)) for _ in range(160000))).tobytes()
            )
        if self._tone is not None and self._tone.poll() is None:
            self._tone.kill()
        self._tone = subprocess.Popen(
            [sys.executable, "-c", _POUR, str(raw)], env=self.env, stderr=subprocess.DEVNULL
        )

    def _pactl(self, *words: str, check: bool = True) -> str | None:
        done = subprocess.run(
            ["pactl", *words], env=self.env, capture_output=True, text=True, check=False, timeout=60
        )
        if done.returncode and check:
            raise RuntimeError(f"pactl {' '.join(words)}: {done.stderr.strip()}")
        return None if done.returncode else done.stdout


_POUR = """
import subprocess, sys
data = open(sys.argv[1], "rb").read()
out = subprocess.Popen(["pacat", "--device=mic_feed", "--raw", "--rate=16000", "--channels=1",
    "--format=s16le", "--latency-msec=200"], stdin=subprocess.PIPE)
try:
    while out.poll() is None:
        out.stdin.write(data)
except BrokenPipeError:
    pass
"""


def wait_for(true: Callable[[], object], what: str, seconds: float = 60) -> None:
    """Wait until `true()` holds. Raises RuntimeError when it does not within `seconds`."""
    end = time.monotonic() + seconds
    while not true():
        if time.monotonic() > end:
            raise RuntimeError(f"{what} did not come within {seconds:g} s")
        time.sleep(0.02)


def recorded_on(wav: Path, seconds: float) -> None:
    """Wait until a recording has gone on for so long; a busy machine is behind its clock."""
    wanted = wav.stat().st_size + seconds * 32000  # 16 kHz, 16 bits
    wait_for(lambda: wav.stat().st_size >= wanted, "the rest of the recording", 60)


def speech(text: str, voice: str, folder: Path) -> Path:
    """`text` as a WAV file in `folder`. Voices: "espeak:en-us+f3", "flite:slt", "festival"."""
    name = f"{voice}-{text}".replace(" ", "_").replace(":", "_").replace("+", "_")
    wav = folder / f"{name[:120]}.wav"
    if wav.exists():
        return wav
    engine, _, which = voice.partition(":")
    command = {
        "espeak": ["espeak-ng", "-v", which or "en-us", "-s", "150", "-w", str(wav), text],
        "flite": ["flite", "-voice", which or "slt", "-t", text, "-o", str(wav)],
        "festival": ["text2wave", "-o", str(wav)],
    }[engine]
    subprocess.run(command, input=text.encode(), check=True, stderr=subprocess.DEVNULL)
    return wav
