"""How long `tallyhand plan` takes from the shell, beside `python -c pass`: run it by hand.

    python tests/bench/startup.py [RUNS]

Modules are compiled first, as an installer leaves them. The two take turns, so that a busy
machine slows both; the medians and their ratio are printed.
"""

from __future__ import annotations

import os
import statistics
import subprocess
import sys
import sysconfig
import time
from pathlib import Path

COMMAND = Path(sysconfig.get_path("scripts")) / "tallyhand"
PLAN = [str(COMMAND), "plan", "--head", "three-plate-40", "--divisions", "21"]
PASS = [sys.executable, "-c", "pass"]

ENVIRONMENT = {k: v for k, v in os.environ.items() if k != "PYTHONDONTWRITEBYTECODE"}


def timed(command: list[str]) -> float:
    start = time.perf_counter()
    subprocess.run(command, check=True, stdout=subprocess.DEVNULL, env=ENVIRONMENT)
    return time.perf_counter() - start


def main() -> None:
    runs = int(sys.argv[1]) if len(sys.argv) > 1 else 60
    timed(PLAN)  # compiles what is not compiled yet
    pairs = [(timed(PASS), timed(PLAN)) for _ in range(runs)]
    bare, plan = (statistics.median(times) * 1000 for times in zip(*pairs, strict=True))
    print(f"python -c pass  {bare:6.1f} ms")
    print(f"tallyhand plan  {plan:6.1f} ms   {plan / bare:.2f} times (median of {runs})")


if __name__ == "__main__":
    main()
