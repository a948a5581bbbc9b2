"""Run as a process: the taught pedal, its events as JSON lines. SECONDS PEDAL_FILE"""

from __future__ import annotations

import json
import sys
import time
from pathlib import Path

from assistant.bench.open_devices import make_pedal
from assistant.devices.pedal.binding import read_taught
from assistant.engine.events import Event, to_record


def main() -> None:
    def say(record: dict[str, object]) -> None:
        print(json.dumps(record), flush=True)

    def post(event: Event) -> None:
        say(to_record(event))

    taught = read_taught(Path(sys.argv[2]))
    assert taught is not None
    pedal = make_pedal(taught, lambda: say({"kind": "down"}))
    pedal.start(post)
    if taught.source == "x":  # the recording of keys begins in a thread
        while not getattr(pedal, "_listens", True):
            time.sleep(0.05)
        time.sleep(0.5)
        say({"kind": "ready"})
    time.sleep(float(sys.argv[1]))
    pedal.close()


if __name__ == "__main__":
    main()
