"""Run as a process: the taught pedals, their events as JSON lines. SECONDS PEDAL_FILE"""

from __future__ import annotations

import json
import sys
import time
from pathlib import Path

from assistant.bench.open_devices import make_pedals
from assistant.devices.pedal.binding import SECOND, read_binding
from assistant.devices.pedal.gestures import Manner
from assistant.engine.events import Event, to_record


def main() -> None:
    def say(record: dict[str, object]) -> None:
        print(json.dumps(record), flush=True)

    def post(event: Event) -> None:
        say(to_record(event))

    binding = read_binding(Path(sys.argv[2]))
    assert binding is not None
    other = read_binding(Path(sys.argv[2]), SECOND)
    second = (other, Manner.SECOND) if other else None
    pedals = make_pedals(binding, second, lambda: say({"kind": "down"}), "double")
    for pedal in pedals:
        pedal.start(post)
    if binding.source == "x":  # the recording of keys begins in a thread
        while not getattr(pedals[0], "_listens", True):
            time.sleep(0.05)
        time.sleep(0.5)
        say({"kind": "ready"})
    time.sleep(float(sys.argv[1]))
    for pedal in pedals:
        pedal.close()


if __name__ == "__main__":
    main()
