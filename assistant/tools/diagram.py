"""Makes docs/session.md from the transition table: `python -m assistant.tools.diagram FILE`."""

from __future__ import annotations

import sys
from pathlib import Path

from assistant.engine.asked import Use, used_as
from assistant.engine.phases import ANSWERS, Intent, Step, phase_of
from assistant.engine.phrases import PHRASES
from assistant.engine.transitions import TABLE, Row

# Drawn as arrows; the rest is in the table below the drawing, to keep the drawing readable.
_DRAWN = (Intent.CONFIRM, Intent.OVERSHOT, Intent.GO_BACK)
_ASKED = ", ".join(command.value.replace("-", " ") for command in used_as(Use.QUESTION))
_HEAD = f"""# The session, step by step

Made from the transition table in `assistant/engine/transitions.py`; a test holds the two together.

A step is one question to the person. An event that has no row in the table, or none whose
condition holds, is refused: it changes nothing and gets an answer. At every step the
questions ({_ASKED}) and a note are answered in
place. Pause, lost count and a restart of the program are in the table only. A spoken phrase
that answers lock or guard counts only while the shop is quiet enough to trust the ear; pedal
and key always do.

Every programme has one step at the lock. Rows go to *lock*; where the head is driven in the cut,
*leave-off* stands in its place.
"""

_IN_ITS_PLACE = (
    f'"{Step.LOCK.value}" -> "{Step.LEAVE_OFF.value}" '
    '[label="in its place,\\nwhere the head is driven", style=dotted, dir=none];'
)


def page() -> str:
    """The whole page."""
    return "\n".join([_HEAD, *_drawing(), "", *_questions(), "", *_rows(), ""])


def _drawing() -> list[str]:
    words = "The steps as boxes, and arrows for the answers, an overshoot and going back"
    return [f"![{words}](pictures/session.svg)"]


def dot() -> str:
    """The drawing as Graphviz reads it; docs/pictures/session.svg is made from this."""
    lines = [
        "digraph session {",
        "  graph [rankdir=TB, nodesep=0.3, ranksep=0.45];",
        '  node [shape=box, style="rounded,filled", fillcolor="#f2efe6", fontname="DejaVu Sans"];',
        '  edge [fontname="DejaVu Sans", fontsize=10, arrowsize=0.7];',
    ]
    for (step, intent), rows in TABLE.items():
        if intent in _DRAWN and Step.PAUSED is not step:
            lines += [f"  {_arrow(step, intent, row)}" for row in rows]
    return "\n".join([*lines, f"  {_IN_ITS_PLACE}", "}"]) + "\n"


def _arrow(step: Step, intent: Intent, row: Row) -> str:
    look = "" if intent is Intent.CONFIRM else ", style=dashed"
    label = f"{intent.value}{_condition(row)}".replace(" [", "\\n[")
    return f'"{step.value}" -> "{row.to.value}" [label="{label}"{look}];'


def _condition(row: Row) -> str:
    name = row.when.__name__
    return "" if name == "always" else f" [{name.replace('_', ' ')}]"


def _questions() -> list[str]:
    lines = [
        "## What answers each step",
        "",
        "One press of the pedal, or the phrase:",
        "",
        "| step | phase | phrase |",
        "|---|---|---|",
    ]
    for step in Step:
        said = f"“{PHRASES[ANSWERS[step]][0]}”" if step in ANSWERS else "nothing more is asked"
        lines.append(f"| {step.value} | {phase_of(step).value} | {said} |")
    return lines


def _rows() -> list[str]:
    lines = [
        "## The table",
        "",
        "| step | on | if | goes to | and |",
        "|---|---|---|---|---|",
    ]
    for (step, intent), rows in TABLE.items():
        for row in rows:
            condition = _condition(row).strip(" []") or "–"
            change = row.do.__name__.replace("_", " ")
            to = row.to.value
            lines.append(f"| {step.value} | {intent.value} | {condition} | {to} | {change} |")
    return lines


if __name__ == "__main__":
    Path(sys.argv[1]).write_text(page(), "utf-8")
