"""One ring of a job of several, looked at as a work of its own: its questions apply, its drawing
and its plan are shown. The other rings stay as they are.
"""

from __future__ import annotations

from dataclasses import dataclass

from assistant.job.question import Place, Value

Values = dict[Place, Value]
_OF_ALL = (("", "order"),)
"""What a job of a single work does not have."""


def ring_names(values: Values) -> list[str]:
    """What each ring is called: its own name, else its number, from 1."""
    tables = list(dict.fromkeys(table for table, _ in values if table.startswith("ring[")))
    return [str(values.get((table, "name"), n)) for n, table in enumerate(tables, 1)]


@dataclass(frozen=True, slots=True)
class OneRing:
    """The ring of that number, from 1."""

    number: int

    @property
    def table(self) -> str:
        """As the reader of job files calls it."""
        return f"ring[{self.number}]"

    def apart(self, values: Values) -> tuple[Values, Values]:
        """What its questions are about, under "work"; and all the rest."""
        mine = {self.seen(place): value for place, value in values.items() if self._mine(place)}
        rest = {place: value for place, value in values.items() if not self._mine(place)}
        return mine, rest

    def _mine(self, place: Place) -> bool:
        table, key = place
        if table.startswith("ring["):
            return table == self.table and key != "name"
        return place not in _OF_ALL

    def seen(self, place: Place) -> Place:
        """A place of the file as the questions name it."""
        return ("work", place[1]) if place[0] == self.table else place

    def home(self, place: Place) -> Place:
        """A place of the questions as the file has it."""
        return (self.table, place[1]) if place[0] == "work" else place
