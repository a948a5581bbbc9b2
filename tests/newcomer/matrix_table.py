"""The matrix as docs/install.md shows it, from what its runs have kept in matrix.json.

`python -m tests.newcomer.matrix_table` writes it there. What no run has done says so.
"""

from __future__ import annotations

import json
from typing import Any

from tests.commands import ROOT
from tests.newcomer.matrix import RESULTS, STEPS

PAGE = ROOT / "docs" / "install.md"
BEGIN, END = "<!-- made by tests.newcomer.matrix_table -->", "<!-- so far -->"
SYSTEMS = {
    "bookworm": "Debian 12, root",
    "bookworm:plain": "Debian 12, plain user",
    "trixie": "Debian 13, root",
    "trixie:plain": "Debian 13, plain user",
    "forky": "Debian testing, root",
    "forky:plain": "Debian testing, plain user",
    "trixie-arm64": "Debian 13, 64-bit ARM under qemu, root",
}
# Both stand on reading alone, but for what the tests simulate of the first.
READ = ("Windows", "macOS")
SIMULATED = ("plan", "rehearse", "sheet, page", "doctor", "doctor --where")
BY_TESTS = "keys, pipes, folders, training's time"
TESTED = "bookworm"  # the system that the tests run on
Rows = dict[str, dict[str, Any]]


def table(rows: Rows) -> str:
    """A row for each step, a column for each system."""
    lines = [
        _line("step", [*SYSTEMS.values(), *READ]),
        _line("---", ["---"] * (len(SYSTEMS) + len(READ))),
        _line("Python", [*(_about(rows, each, "python") for each in SYSTEMS), "–", "–"]),
        _line("day", [*(_about(rows, each, "day") for each in SYSTEMS), "–", "–"]),
    ]
    for step in STEPS:
        cells = [_cell(rows, each, step.name) for each in SYSTEMS]
        windows = "simulated" if step.name in SIMULATED else "only read"
        lines.append(_line(step.name, [*cells, windows, "only read"]))
    cells = ["run, by the tests" if each == TESTED else "not run" for each in SYSTEMS]
    lines.append(_line(BY_TESTS, [*cells, "simulated", "only read"]))
    return "\n".join(lines)


def _line(first: str, cells: list[str]) -> str:
    return f"| {first} | {' | '.join(cells)} |"


def _about(rows: Rows, system: str, key: str) -> str:
    return str(rows[system][key]) if system in rows else "not run"


def _cell(rows: Rows, system: str, step: str) -> str:
    done = rows.get(system, {}).get("steps", {}).get(step)
    if done is None:
        return "not run"
    return f"run, {done['seconds']} s" if done["well"] else f"**failed**, {done['seconds']} s"


def with_table(page: str, rows: Rows) -> str:
    """The page with this table between its marks."""
    before, _, rest = page.partition(BEGIN)
    _, _, after = rest.partition(END)
    return f"{before}{BEGIN}\n\n{table(rows)}\n\n{END}{after}"


def results() -> Rows:
    found: Rows = json.loads(RESULTS.read_text("utf-8"))
    return found


if __name__ == "__main__":
    PAGE.write_text(with_table(PAGE.read_text("utf-8"), results()), "utf-8")
