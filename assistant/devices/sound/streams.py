"""The one owner of PortAudio: opens streams, watches them, and brings lost ones back.

Every call into PortAudio is made by one thread here, for three reasons. The list of devices
is frozen when the library starts, so that a replugged device shows only after a restart of
the library, and that restart silently kills every open stream, the healthy ones too. A
stream closed while another thread is in it can crash the process. And a frozen device gives
no error at all: only the time of the last callback tells.
"""

from __future__ import annotations

import contextlib
import importlib
import os
import threading
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Any

from assistant.devices import stderr_guard
from assistant.devices.sound.routing import ask_routes
from assistant.errors import Unusable
from assistant.files.packages_here import (
    SOUND,
    not_here,
    to_install,
    to_install_python,
    without_numpy,
)

LATENCY_S = 0.1
"""Shorter breaks up when the machine is busy."""
STALL_S = 1.0
"""No callback for this long: the device is frozen."""
FIRST_CALL_S = 3.0
"""How long a stream just opened may take to its first callback."""
PROVEN_S = 1.5
"""How long a stream that was lost must run before it is back. A device that stands still takes
one buffer all the same: without this it would come and go for ever."""
RETRY_S, MOST_RETRY_S = 0.25, 4.0
RESTART_S = 1.0
"""The least time from one restart of PortAudio to the next."""
FLUSH_S = 0.15
"""A buffer is dropped within this time, or what comes next is not held back for it."""
TICK_S = 0.1
PLACES_S = 1.2
"""With the answer of the sound server, a stream that was moved is noticed within two seconds."""
CLOSE_S = 1.0


class NoSuchDevice(Unusable):
    """None of the devices that are there has the name."""


class NoSoundError(Unusable):
    """Sound can't be used on this machine at all."""


@dataclass(frozen=True, slots=True)
class Format:
    """What a stream was opened with: samples a second, channels; samples are 16 bit."""

    rate: int
    channels: int


@dataclass(frozen=True, slots=True)
class StreamUse:
    """What a stream is for.

    `callback` gets the buffer (to read or to fill) in PortAudio's own thread and must not
    block. `opened` is told the format before the first callback; `lost` why there is no
    sound; `returned` when there is again; these may come from two threads, one at a time.
    `idle`: a short break would not be noticed.
    """

    callback: Callable[[Any], None]
    opened: Callable[[Format], None]
    lost: Callable[[str], None]
    returned: Callable[[], None]
    idle: Callable[[], bool]


class KeptStream:
    """A stream that shall stay open: what is wanted of it, and what became of it.

    `name` is a part of the device's name, "" for the system's own choice; `rate` in samples
    a second is a wish.
    """

    def __init__(self, output: bool, name: str, rate: int, use: StreamUse) -> None:
        self.output = output
        self.name = name
        self.rate = rate
        self.use = use
        self._lock = threading.Lock()
        self.is_lost = False
        self.stream: Any = None
        self.place = ""  # where the sound server has put the stream
        self.flush_since = 0.0  # what is buffered shall go, asked for at this time; 0: no
        self.broken = False  # the stream is of no use any more
        self.unknown = False  # the list of devices may be out of date: opening failed
        self.settled = False  # it is known where the stream has been put
        self.next_try = 0.0
        self._backoff = RETRY_S
        self._busy_since: float | None = None  # inside PortAudio, to open or to flush
        self._waits_since = 0.0  # for the next callback
        self._runs_since = 0.0  # from the first callback
        self._patience = FIRST_CALL_S
        self._finished = False

    def dropping(self) -> bool:
        """What is buffered is about to go. Not for long, if the owner has other things to do."""
        return time.monotonic() - self.flush_since < FLUSH_S

    def called(self, buffer: Any) -> None:
        """What PortAudio calls."""
        self._waits_since = time.monotonic()
        if self._patience != STALL_S:
            self._patience, self._runs_since = STALL_S, self._waits_since
        self.use.callback(buffer)

    def finished(self) -> None:
        """What PortAudio calls when the stream has stopped, whoever stopped it."""
        self._finished = True

    @contextlib.contextmanager
    def inside(self) -> Iterator[None]:
        """Around calls into PortAudio that start the stream, and may never come back."""
        self._busy_since = time.monotonic()
        try:
            yield
            self._finished = False
            self._patience = FIRST_CALL_S
            self._waits_since = time.monotonic()
        finally:
            self._busy_since = None

    def is_open(self, stream: Any, format_: Format) -> None:
        """A stream of that format is there: faults of the one before are forgotten."""
        self.broken = self.settled = False
        self.flush_since = 0.0
        self.stream = stream
        self.use.opened(format_)

    def watch(self) -> None:
        """See whether the stream still runs. Makes no call into PortAudio."""
        now = time.monotonic()
        if self._busy_since is not None:
            if now - self._busy_since > FIRST_CALL_S:
                self.fails("the sound system does not answer")
        elif self.stream is None or self.broken:
            return
        elif self._finished:
            self.fails("the device is gone")
        elif now - self._waits_since > self._patience:
            self.fails("the device has stopped answering")
        elif self._patience == STALL_S and self.settled and self._proven(now):
            self._works()

    def _proven(self, now: float) -> bool:
        return not self.is_lost or now - self._runs_since > PROVEN_S

    def fails(self, why: str) -> None:
        """There is no sound, for this reason."""
        with self._lock:
            self.broken = True
            self.next_try = time.monotonic() + self._backoff
            self._backoff = min(2 * self._backoff, MOST_RETRY_S)
            was_lost, self.is_lost = self.is_lost, True
            if not was_lost:
                self.use.lost(why)

    def _works(self) -> None:
        with self._lock:
            self._backoff = RETRY_S
            was_lost, self.is_lost = self.is_lost, False
            if was_lost:
                self.use.returned()


class Sound:
    """Owns PortAudio for as long as it lives. Raises NoSoundError where the library is missing."""

    def __init__(self) -> None:
        self._sd = load_sounddevice()
        self._lines: list[KeptStream] = []
        self._leaving: list[KeptStream] = []
        self._wake = threading.Event()
        self._closing = threading.Event()
        self._last_restart = time.monotonic()
        self._threads = [
            threading.Thread(target=work, name=work.__name__, daemon=True)
            for work in (self._run, self._watch, self._watch_places)
        ]
        for thread in self._threads:
            thread.start()

    def keep_open(self, line: KeptStream) -> None:
        """Open this line, and again whenever it is lost. Returns at once."""
        self._lines.append(line)
        self._wake.set()

    def let_go(self, line: KeptStream) -> None:
        """Close this line for good; waits a little for it."""
        self._leaving.append(line)
        self._wake.set()
        end = time.monotonic() + CLOSE_S
        while line in self._leaving and time.monotonic() < end:
            time.sleep(0.005)

    def drop_buffered(self, line: KeptStream) -> None:
        """Throw away what is written but not yet heard. Any thread; returns at once."""
        line.flush_since = time.monotonic()
        self._wake.set()

    def close(self) -> None:
        """Close everything. A frozen device is left behind rather than waited for."""
        self._closing.set()
        self._wake.set()
        self._threads[0].join(CLOSE_S)

    # --- the owner's thread: the only one that calls PortAudio

    def _run(self) -> None:
        while not self._closing.is_set():
            self._wake.wait(TICK_S)
            self._wake.clear()
            for line in list(self._lines):
                with self._or_lost(line):
                    self._look_after(line)
            self._part()
        for line in self._lines:
            self._shut(line)

    def _look_after(self, line: KeptStream) -> None:
        if line.stream is None:
            if time.monotonic() >= line.next_try:
                self._try_to_open(line)
        elif line.broken:
            self._shut(line)
        elif line.flush_since:
            self._flush(line)

    def _flush(self, line: KeptStream) -> None:
        try:
            with line.inside():
                line.stream.abort()
                line.flush_since = 0.0
                line.stream.start()
        except Exception as error:
            line.fails(_words(error))

    def _part(self) -> None:
        for line in list(self._leaving):
            self._shut(line)
            if line in self._lines:
                self._lines.remove(line)
            self._leaving.remove(line)

    def _shut(self, line: KeptStream) -> None:
        stream, line.stream = line.stream, None
        if stream is not None:
            with contextlib.suppress(Exception):
                stream.abort(ignore_errors=True)
                stream.close(ignore_errors=True)

    def _try_to_open(self, line: KeptStream) -> None:
        if line.unknown and self._may_restart():
            self._restart()
        try:
            with line.inside():
                stream, format_ = self._open(line)
                line.is_open(stream, format_)
                stream.start()
        except Exception as error:
            line.unknown = True
            line.fails(_words(error))
            self._shut(line)
            return
        line.unknown = False
        self._settle(line)

    def _may_restart(self) -> bool:
        others = (line for line in self._lines if line.stream is not None)
        rested = time.monotonic() - self._last_restart > RESTART_S
        return rested and all(line.use.idle() for line in others)

    def _restart(self) -> None:
        """Make PortAudio look for devices anew; streams that were open are opened again."""
        for line in self._lines:
            self._shut(line)
        with _begun_anew:
            with contextlib.suppress(Exception):
                self._sd._terminate()
            with contextlib.suppress(Exception):
                self._sd._initialize()
        self._last_restart = time.monotonic()

    def _open(self, line: KeptStream) -> tuple[Any, Format]:
        device = find(self._sd, line.output, line.name)
        kind = "output" if line.output else "input"
        own = round(self._sd.query_devices(device, kind)["default_samplerate"])
        make = self._sd.RawOutputStream if line.output else self._sd.RawInputStream
        failure: Exception | None = None
        for rate, channels in ((line.rate, 1), (own, 1), (own, 2)):
            try:
                stream = make(
                    samplerate=rate, channels=channels, dtype="int16", device=device,
                    latency=LATENCY_S, blocksize=0 if line.output else rate // 50,
                    callback=lambda buffer, frames, when, status: line.called(buffer),
                    finished_callback=line.finished,
                )  # fmt: skip
            except Exception as error:
                failure = failure or error
            else:
                return stream, Format(rate, channels)
        assert failure is not None
        raise failure

    def _settle(self, line: KeptStream) -> None:
        """Note where the sound server has put the stream."""
        routes = ask_routes(os.getpid())
        line.place = routes.of(line.output) if routes else ""
        if line.is_lost and any(_echo(line, other) for other in self._lines):
            # It would hear, or be, nothing but our own voice.
            line.fails("only our own sound is left there")
        line.settled = True

    # --- the watching threads: no call into PortAudio, so that nothing can hold them up

    def _watch(self) -> None:
        while not self._closing.wait(TICK_S):
            for line in list(self._lines):
                with self._or_lost(line):
                    line.watch()

    def _watch_places(self) -> None:
        """A sound server may move a stream to another device without a word."""
        while not self._closing.wait(PLACES_S):
            before = {line: line.stream for line in list(self._lines)}
            routes = ask_routes(os.getpid())
            for line, stream in before.items():
                now = routes.of(line.output) if routes else ""
                line.place = line.place or now  # it could not be asked at the opening
                moved = now and now != line.place
                if moved and stream is line.stream and not line.broken:
                    line.fails(f"the sound server moved it from {line.place} to {now}")

    @contextlib.contextmanager
    def _or_lost(self, line: KeptStream) -> Iterator[None]:
        """Around what a thread does for a line: what breaks there is that line's loss, told and
        tried again, and the thread goes on for the others."""
        try:
            yield
        except Exception as error:
            line.fails(_words(error))


def _echo(one: KeptStream, other: KeptStream) -> bool:
    """One of the two is the recording of the other."""
    sink, source = (one, other) if one.output else (other, one)
    both = sink.output and not source.output and sink.place
    return bool(both) and source.place == f"{sink.place}.monitor"


def load_sounddevice() -> Any:
    """The sounddevice module. Raises NoSoundError with the cure where it can't be had."""
    stderr_guard.still_alsa()
    if lacking := without_numpy():
        what, cure = lacking
        raise NoSoundError(f"no sound: {what}", cure)
    try:
        sd = importlib.import_module("sounddevice")
    except ImportError as error:
        raise NoSoundError(
            f"no sound: {not_here(error)}", to_install_python("sounddevice")
        ) from error
    except OSError as error:
        raise NoSoundError(
            f"no sound: {_words(error)}", f"install PortAudio: {to_install(SOUND)}"
        ) from error
    import atexit

    # Its own goodbye waits for ever on a frozen device.
    with contextlib.suppress(AttributeError):
        atexit.unregister(sd._exit_handler)
    return sd


def find(sd: Any, output: bool, name: str) -> int | None:
    """The device whose name holds `name`; None for the system's own choice.

    Raises NoSuchDevice, naming those that are there, when none does.
    """
    if not name:
        return None
    have = sound_devices(sd, output)
    for index, full in have.items():
        if name.lower() in full.lower():
            return index
    there = ", ".join(have.values()) or "none"
    raise NoSuchDevice(f"none is named {name!r}", f"there are: {there}")


# PortAudio knows nothing while it begins anew: whoever asks then waits.
_begun_anew = threading.RLock()
ANEW_S = 20.0


def sound_devices(sd: Any, output: bool) -> dict[int, str]:
    """The devices that can play (or record), by index."""
    channels = "max_output_channels" if output else "max_input_channels"
    held = _begun_anew.acquire(timeout=ANEW_S)  # a device that is frozen may hold it for ever
    try:
        return {i: d["name"] for i, d in enumerate(sd.query_devices()) if d[channels] > 0}
    finally:
        if held:
            _begun_anew.release()


def _words(error: Exception) -> str:
    """PortAudio's message without its tail of codes."""
    first = str(error.args[0]) if error.args else str(error)
    if first.startswith("Error querying device -1"):
        return "no device is there"
    return " ".join(first.split()) or type(error).__name__
