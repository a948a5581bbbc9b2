"""Every table that differs from the true one in a single entry."""

from __future__ import annotations

import inspect
from collections.abc import Iterator
from dataclasses import dataclass, field, replace

from assistant.engine import state as s
from assistant.engine.phases import Intent, Step
from assistant.engine.transitions import TABLE, Row, Transitions

Key = tuple[Step, Intent]

_FUNCTIONS = [
    function
    for name, function in inspect.getmembers(s, inspect.isfunction)
    if function.__module__ == s.__name__ and not name.startswith("_")
]
CONDITIONS = [f for f in _FUNCTIONS if inspect.signature(f).return_annotation == "bool"]
CHANGES = [f for f in _FUNCTIONS if inspect.signature(f).return_annotation == "State"]


@dataclass(frozen=True)
class Mutant:
    """One entry changed: `kind` is the sort of change, `what` says it in words."""

    key: Key
    kind: str
    what: str
    rows: tuple[Row, ...] = field(repr=False)  # what stands at the key

    def table(self) -> Transitions:
        return {**TABLE, self.key: self.rows}


def mutants() -> Iterator[Mutant]:
    for key, rows in TABLE.items():
        for n, row in enumerate(rows):
            for kind, what, put in _changed(row):
                yield Mutant(key, kind, f"row {n}: {what}", (*rows[:n], *put, *rows[n + 1 :]))
        for n in range(len(rows) - 1):
            exchanged = (*rows[:n], rows[n + 1], rows[n], *rows[n + 2 :])
            yield Mutant(key, "exchanged", f"rows {n} and {n + 1}", exchanged)
        if rows[-1].when is not s.always:
            yield from _added(key, rows)
    for step in Step:
        for intent in Intent:
            if (step, intent) not in TABLE:
                yield from _added((step, intent), ())


def _changed(row: Row) -> Iterator[tuple[str, str, tuple[Row, ...]]]:
    yield "removed", "removed", ()
    for step in Step:
        if step is not row.to:
            yield "to", f"to {step}", (replace(row, to=step),)
    for change in CHANGES:
        if change is not row.do:
            yield "do", f"do {change.__name__}", (replace(row, do=change),)
    for condition in CONDITIONS:
        if condition is not row.when:
            yield "when", f"when {condition.__name__}", (replace(row, when=condition),)


def _added(key: Key, rows: tuple[Row, ...]) -> Iterator[Mutant]:
    """A row where the table has none: behind the others, so that it takes what they refuse."""
    for step in Step:
        for change in CHANGES:
            extra = Row(step, change)
            yield Mutant(key, "added", f"to {step}, do {change.__name__}", (*rows, extra))
