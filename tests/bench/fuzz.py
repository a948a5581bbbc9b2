"""How many hostile inputs each reader was given: run it by hand.

    python -m tests.bench.fuzz [SECONDS] [SEED]

Each target has its share of SECONDS (600). An input is taken, or refused in the program's own
words; any other error ends the run with its traceback. docs/safety.md shows what it prints.
"""

from __future__ import annotations

import random
import sys
import time

from tests.trust.fuzz import TARGETS


def main() -> None:
    seconds = float(sys.argv[1]) if len(sys.argv) > 1 else 600.0
    seed = sys.argv[2] if len(sys.argv) > 2 else "1"
    print("| target | inputs | taken | refused | other errors |")
    print("|---|---:|---:|---:|---:|")
    inputs = 0
    for name, target in TARGETS.items():
        outcomes, end = [0, 0], time.monotonic() + seconds / len(TARGETS)
        for taken in target(random.Random(f"{seed} {name}")):
            outcomes[taken] += 1
            if time.monotonic() > end:
                break
        inputs += sum(outcomes)
        print(f"| {name} | {sum(outcomes):,} | {outcomes[1]:,} | {outcomes[0]:,} | 0 |", flush=True)
    print(f"\n{inputs:,} inputs")


if __name__ == "__main__":
    main()
