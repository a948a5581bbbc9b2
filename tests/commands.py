"""Runs the program as a user does: a process of its own, its output and its exit code."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).parents[1]
JOBS = ROOT / "config" / "jobs"
COUNT_WHEEL = JOBS / "count-wheel.toml"
PINION = JOBS / "pinion.toml"
PROGRAM = [sys.executable, "-m", "assistant"]


def uncovered() -> dict[str, str]:
    """The environment for a child that is not to be measured: it may not write what is measured,
    or what it imports is looked at."""
    return {name: text for name, text in os.environ.items() if not name.startswith("COVERAGE_")}


def tallyhand(
    *words: str | Path, given: str = "", env: dict[str, str] | None = None
) -> subprocess.CompletedProcess[str]:
    """The finished process; standard input is `given`."""
    return subprocess.run(
        [*PROGRAM, *map(str, words)],
        input=given,
        capture_output=True,
        text=True,
        check=False,
        timeout=120,
        cwd=ROOT,
        env={**os.environ, **(env or {})},
    )


def within(*words: str | Path) -> int:
    """The exit code of a command run in this process: where only its work is looked at, since
    loading it anew takes longer than that."""
    from assistant.__main__ import main

    return main([*map(str, words)])


def one_line(finished: subprocess.CompletedProcess[str], code: int) -> str:
    """The one line of complaint; asserts the exit code, and that it is no traceback."""
    assert finished.returncode == code, (finished.returncode, finished.stdout, finished.stderr)
    lines = finished.stderr.splitlines()
    assert len(lines) == 1, finished.stderr
    assert "Traceback" not in finished.stderr
    return lines[0]
