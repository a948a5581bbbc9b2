"""The rows of README and manual, from the one table: `python -m tests.docs.asked`."""

from __future__ import annotations

from pathlib import Path

from assistant.engine.asked import COMMANDS, Act, Command, Shown, Use, everything
from tests.commands import ROOT

BEGIN, END = "<!-- made by tests.docs.asked -->", "<!-- so far -->"
README, MANUAL = ROOT / "README.md", ROOT / "docs" / "manual.md"
HEARING = ROOT / "docs" / "hearing.md"


def tables() -> dict[Path, str]:
    """What stands between the marks of each page."""
    return {README: _all_of_it(), MANUAL: _questions(), HEARING: _awaiting()}


def _all_of_it() -> str:
    lines = ["| you want to | by voice | pedal | key |", "|---|---|---|---|"]
    for what, shown in sorted(everything().items(), key=lambda row: row[0] is Act.LEAVE):
        key = "Enter or space" if what is Act.PRESS else shown.key
        lines.append(f"| {shown.wants} | {_voice(what, shown)} | {shown.pedal} | {key} |")
    return "\n".join(lines)


def _questions() -> str:
    rows = [
        f"| {row.shown.wants} | “{row.phrase}” | {row.shown.key} |"
        for row in COMMANDS.values()
        if row.use is Use.QUESTION and row.shown
    ]
    return "\n".join(["| you want to | voice | key |", "|---|---|---|", *rows])


def _awaiting() -> str:
    waiting = [row for row in COMMANDS.values() if not row.learned and row.shown]
    if not waiting:
        return "The classifier was trained for every phrase."
    named = "; ".join(f"“{row.phrase}” (key {row.shown.key})" for row in waiting if row.shown)
    return (
        f"The classifier was not trained for these, which are heard by their sounds alone: {named}."
    )


def _voice(what: Command | Act, shown: Shown) -> str:
    return f"“{COMMANDS[what].phrase}”" if isinstance(what, Command) else shown.aloud


def filled(page: Path) -> str:
    """The page with its rows as the table has them. Raises ValueError where it has no marks."""
    before, rest = page.read_text("utf-8").split(BEGIN)
    _, after = rest.split(END, 1)
    return f"{before}{BEGIN}\n\n{tables()[page]}\n\n{END}{after}"


if __name__ == "__main__":
    for each in tables():
        each.write_text(filled(each), "utf-8")
