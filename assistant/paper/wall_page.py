"""A page for the wall beside the machine, made from the head's own file."""

from __future__ import annotations

from collections.abc import Iterator

from assistant.paper import html_page
from assistant.paper.table_rows import table_cells
from solver import Head, Plate, Turns, degrees_text, in_turns, plan

_LAST = 60
_HABITS = (
    "Turn the crank one way only. Gone past the hole? Back half a turn, and come up to it again.",
    "Arms: left arm against the pin, the wanted SPACES between the arms, lock them.",
    "Swing the arms on at once after every move, before anything else.",
    "Lock the spindle, guard closed, hands clear: then cut. Lock off before the next move.",
)
_WARNING = (
    "This sheet sees nothing and stops nothing. The machine's manual, local codes and trained "
    "supervision come first; know where the stop button is."
)


def wall_page(head: Head) -> str:
    """The head at a glance: its figures, what one hole is worth, divisions to 60, the habits."""
    parts = [html_page.paragraph(text) for text in _facts(head)]
    if head.plates:
        parts += [html_page.part_heading("One hole on each circle turns the work by"), _holes(head)]
    parts += [html_page.part_heading(f"Divisions to {_LAST} that one count does"), _divisions(head)]
    parts += [html_page.part_heading("Every move")]
    parts += [html_page.paragraph(text) for text in _HABITS]
    parts += [html_page.paragraph(_WARNING, "warn")]
    return html_page.whole_page(f"{head.name}", parts, "wall")


def _facts(head: Head) -> Iterator[str]:
    if head.describe:
        yield head.describe
    turn = degrees_text(Turns(1 / head.worm_ratio))
    yield f"{head.worm_ratio} turns of the crank to one of the work: one turn is {turn}."
    for circle in head.direct_circle:
        divisions = ", ".join(str(n) for n in range(2, circle + 1) if circle % n == 0)
        yield f"Direct plate of {circle} holes, worm out of mesh: {divisions} divisions."
    if head.handwheel:
        step = degrees_text(in_turns(head.handwheel.division_minutes))
        yield f"The handwheel reads degrees and minutes of the work, down to {step}."


def _holes(head: Head) -> str:
    return html_page.plain_table(
        ("Plate", "Circle: angle of one hole"), [(p.name, _angles(p, head)) for p in head.plates]
    )


def _angles(plate: Plate, head: Head) -> str:
    return " · ".join(f"{c}: {degrees_text(Turns(1 / head.worm_ratio / c))}" for c in plate.circles)


def _divisions(head: Head) -> str:
    rows = []
    for divisions in range(2, _LAST + 1):
        setup = plan(head, divisions=divisions, most=1)[0]
        if setup.method in ("direct", "plain"):
            number, method, plate, move, arms, *_ = table_cells(divisions, setup)
            rows.append((number, method, plate, move, arms))
    return html_page.plain_table(("Divisions", "Method", "Plate", "Move", "Arms"), rows)
