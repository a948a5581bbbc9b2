"""Where the sound server has put our streams: asked of PulseAudio (or what speaks like it)."""

from __future__ import annotations

import json
import shutil
import subprocess
from dataclasses import dataclass
from typing import Any


@dataclass(frozen=True, slots=True)
class Places:
    """The names of the sink that our sound goes to and of the source that we hear; "" if none."""

    sink: str
    source: str

    def of(self, output: bool) -> str:
        """The name of the sink, or of the source where nothing is played."""
        return self.sink if output else self.source


def ask_places(process: int) -> Places | None:
    """Where the streams of a process are; None where no sound server can be asked."""
    if shutil.which("pactl") is None:
        return None
    try:
        sink = _place("sink", process)
        source = _place("source", process)
    except (OSError, subprocess.SubprocessError, ValueError, KeyError, TypeError):
        return None
    return Places(sink, source)


def _place(kind: str, process: int) -> str:
    """The name of the sink (source) of the first stream of this process."""
    streams = "sink-inputs" if kind == "sink" else "source-outputs"
    for stream in _listed(streams):
        if stream["properties"].get("application.process.id") == str(process):
            for device in _listed(f"{kind}s"):
                if device["index"] == stream[kind]:
                    return str(device["name"])
    return ""


def _listed(what: str) -> list[dict[str, Any]]:
    words = ["pactl", "--format=json", "list", what]
    done = subprocess.run(words, capture_output=True, check=True, timeout=1)
    found: list[dict[str, Any]] = json.loads(done.stdout)
    return found
