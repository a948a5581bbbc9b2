"""Keeps the sound libraries from writing over the person's screen."""

from __future__ import annotations

import ctypes
import ctypes.util
import os
import sys
import tempfile
from typing import Any

_kept: list[Any] = []


def still_alsa() -> None:
    """ALSA prints a page of complaints for every device that is not there: drop them."""
    os.environ.setdefault("JACK_NO_START_SERVER", "1")
    if _kept or not sys.platform.startswith("linux"):
        return
    _silence("libasound.so.2", "snd_lib_error_set_handler")
    for what in ("jack_set_error_function", "jack_set_info_function"):
        _silence("libjack.so.0", what)


def _silence(library: str, setter: str) -> None:
    kind = ctypes.CFUNCTYPE(None, ctypes.c_char_p)
    handler = kind(lambda text: None)
    try:
        getattr(ctypes.CDLL(library), setter)(handler)
    except (OSError, AttributeError):
        return
    # The library goes on calling it: it must not be collected.
    _kept.append(handler)


class StderrAside:
    """While it is on, what is written to standard error is kept until the screen is free.

    PortAudio complains there in C whenever a device goes; those lines are dropped.
    """

    def __init__(self) -> None:
        self._real = os.dup(2)
        self._kept = tempfile.TemporaryFile()  # noqa: SIM115 - open as long as the screen is
        os.dup2(self._kept.fileno(), 2)

    def close(self) -> None:
        """Put standard error back, and hand on what was written to it."""
        os.dup2(self._real, 2)
        os.close(self._real)
        self._kept.seek(0)
        with self._kept as kept:
            for line in kept:
                if not line.startswith((b"Expression '", b"ALSA lib")):
                    os.write(2, line)
