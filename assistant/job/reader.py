"""Reads the values of one table of a job file; every fault is kept, with its line and cure."""

from __future__ import annotations

import difflib
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from fractions import Fraction
from typing import Any, TypeVar

from assistant.files.toml_lines import line_of
from assistant.job.limits import Limits
from assistant.job.tolerances import deviations_from_text, limits_from_text
from assistant.job.units import CURE, NO_TURN, Unit, millimetres_from_text
from solver import Degrees, Millimetres, Refused, Turns, angle_from_text, in_degrees

_Choice = TypeVar("_Choice", bound=str)

MOST_CUTS = 100_000
LONGEST_WORDS = 200


class Fault(str):
    """A fault as it is told, "FILE line N: what: cure"; `what` is the same without its place."""

    line: int
    what: str

    def __new__(cls, where: str, line: int, what: str) -> Fault:
        """`line` counts from 1."""
        made = super().__new__(cls, f"{where} line {line}: {what}")
        made.line, made.what = line, what
        return made


@dataclass
class Faults:
    """The faults of one file, each "FILE line N: what: cure"; `systems` are the units met."""

    text: str
    where: str
    found: list[Fault] = field(default_factory=list)
    systems: list[Unit] = field(default_factory=list)
    places: dict[str, tuple[str, str]] = field(default_factory=dict)  # table and key of each

    def add(self, table: str, key: str, what: str) -> None:
        """A fault at a key of a table, told once."""
        entry = self.at(table, key, what)
        if entry not in self.found:
            self.found.append(entry)
            self.places[entry] = (table, key.partition(".")[0])

    def at(self, table: str, key: str, what: str) -> Fault:
        """The fault's line, without keeping it."""
        line = line_of(self.text, table, key.partition(".")[0])
        return Fault(self.where, line, what)

    def in_order(self) -> list[Fault]:
        """The faults by their lines."""
        return sorted(self.found, key=lambda fault: fault.line)


def unspeakable(text: str) -> str:
    """Why the text can't be shown or spoken, with the cure, or ""."""
    if len(text) > LONGEST_WORDS:
        return f"has {len(text)} letters: give at most {LONGEST_WORDS}"
    strange = next((letter for letter in text if not letter.isprintable()), "")
    return f"holds {strange!a}, which can't be shown: leave it out" if strange else ""


def meant(word: str, known: Iterable[str]) -> str:
    """A question for the known name that is close to the word; empty where none is."""
    near = difflib.get_close_matches(word, known, 1)
    return f"did you mean {near[0]}?" if near else ""


@dataclass
class Table:
    """One table: `name` as in the file ("work", "ring[2]"), "" for the top of the file.

    Each reading method keeps a fault for a value that can't be and hands back a stand-in,
    so that one look finds every fault.
    """

    faults: Faults
    name: str
    data: dict[str, Any]

    def fault(self, key: str, what: str) -> None:
        """A fault at a key of this table."""
        self.faults.add(self.name, key, what)

    def strangers(self, known: Iterable[str]) -> None:
        """A fault for every key that is not known here."""
        names = sorted(known)
        for key in self.data:
            if key not in names:
                cure = meant(key, names) or f"known here: {', '.join(names)}"
                self.fault(key, f"unknown key {key!r}: {cure}")

    def has(self, key: str) -> bool:
        """The key stands in the file."""
        return key in self.data

    def one_of(self, *keys: str) -> str:
        """The one key of these that is given; a fault for none or several."""
        given = [key for key in keys if key in self.data]
        if len(given) == 1:
            return given[0]
        if given:
            self.fault(given[1], f"{' and '.join(given)}: give one of them")
        else:
            self.fault(keys[0], f"{' or '.join(keys)} is missing: give one of them")
        return ""

    def whole(self, key: str, least: int, most: int, default: int | None = None) -> int:
        """A whole number from least to most; where it is none a fault is noted, and a number that
        can be worked with is given.
        """
        value = self.data.get(key, default)
        if value is None:
            self.fault(key, f"{key} is missing: give a whole number, {least} to {most}")
        elif isinstance(value, bool) or not isinstance(value, int):
            self.fault(key, f"{key} = {value!r}: give a whole number, {least} to {most}")
        elif not least <= value <= most:
            self.fault(key, f"{key} = {value}: it must be {least} to {most}")
        else:
            return value
        return least

    def words(self, key: str, default: str | None = None) -> str:
        """Text of one line, at most `LONGEST_WORDS` letters: it is shown and spoken."""
        value = self.data.get(key, default)
        if not isinstance(value, str) or not (value.strip() or value == default):
            what = "is missing" if value is None else f"= {value!r}"
            self.fault(key, f"{key} {what}: give it as text in quotes")
            return ""
        if (why := unspeakable(value.strip())) and value != default:
            self.fault(key, f"{key} {why}")
            return ""
        return value.strip()

    def choice(
        self, key: str, choices: Sequence[_Choice], default: _Choice | None = None
    ) -> _Choice:
        """One of these words; where it is none a fault is noted, and the first is given."""
        value = self.data.get(key, default)
        if value in choices:
            return choices[choices.index(value)]
        what = "is missing" if value is None else f"= {value!r}"
        self.fault(key, f"{key} {what}: use {' or '.join(choices)}")
        return choices[0]

    def flag(self, key: str, default: bool = False) -> bool:
        """True or false; where it is neither a fault is noted, and the default is given."""
        value = self.data.get(key, default)
        if not isinstance(value, bool):
            self.fault(key, f"{key} = {value!r}: write true or false")
            return default
        return value

    def length(self, key: str, default: Millimetres | None = None) -> Millimetres:
        """A length in mm; its system is noted, for the numbers given back."""
        found = self.maybe_length(key)
        if found is None and default is None and key not in self.data:
            self.fault(key, f"{key} is missing: {CURE}")
        return found or default or Millimetres(Fraction(1))

    def maybe_length(self, key: str) -> Millimetres | None:
        """A length in mm, or None where it is not given."""
        value = self.data.get(key)
        if value is None:
            return None
        if not isinstance(value, str):
            self.fault(key, f"{key} = {value!r}: {CURE}, in quotes")
            return None
        try:
            found, system = millimetres_from_text(value)
        except Refused as error:
            self.fault(key, f"{key} {error}")
            return None
        self.faults.systems.append(system)
        return found

    def limited(self, key: str) -> tuple[Millimetres, Limits | None]:
        """A size that is measured in the session, mm, and its limits where it states any: then
        the size is the middle between them."""
        value = self.data.get(key)
        if not isinstance(value, str):
            return self.length(key), None
        try:
            limits, size, system = limits_from_text(value)
        except Refused as error:
            self.fault(key, f"{key} {error}")
            return Millimetres(Fraction(1)), None
        self.faults.systems.append(system)
        return size, limits

    def deviations(self, key: str) -> tuple[Millimetres, Millimetres] | None:
        """The lower and the upper deviation, mm, of a size that is worked out; None: no limits."""
        value = self.data.get(key)
        if value is None:
            return None
        try:
            return deviations_from_text(str(value))
        except Refused as error:
            self.fault(key, f"{key} {error}")
            return None

    def degrees(self, key: str, default: Degrees | None = None) -> Degrees:
        """An angle in degrees, 0 or more."""
        if default is not None and self.data.get(key) is None:
            return default
        return in_degrees(self.turns(key))

    def turns(self, key: str, default: Turns | None = None) -> Turns:
        """The same in turns; 0 where it is at fault."""
        value = self.data.get(key)
        if value is None:
            if default is None:
                self.fault(key, f'{key} is missing: write it as text, like "8d50m"')
            return default or NO_TURN
        return self.angle(key, value) or NO_TURN

    def angle(self, key: str, value: Any) -> Turns | None:
        """An angle in turns, from the value of `key` or a part of it."""
        if isinstance(value, bool) or not isinstance(value, str | int):
            self.fault(key, f'angle {value!r}: write it as text, like "8d50m"')
            return None
        try:
            return angle_from_text(str(value))
        except Refused as error:
            self.fault(key, str(error))
            return None

    def number(self, key: str, least: float, most: float, default: str | None = None) -> Fraction:
        """A number that may have decimals, exact as it is written."""
        value = self.data.get(key, None if default is None else float(default))
        if value is None:
            self.fault(key, f"{key} is missing: give a number, {least:g} to {most:g}")
        elif isinstance(value, bool) or not isinstance(value, int | float):
            self.fault(key, f"{key} = {value!r}: give a number, {least:g} to {most:g}")
        elif not least <= value <= most:
            self.fault(key, f"{key} = {value}: it must be {least:g} to {most:g}")
        else:
            return Fraction(str(value))
        return Fraction(str(least))

    def rows(self, key: str) -> list[dict[str, Any]]:
        """A list of inline tables."""
        value = self.data.get(key, [])
        if isinstance(value, list) and all(isinstance(each, dict) for each in value):
            return value
        self.fault(key, f'{key}: give a list of tables, like [{{ every = 10, name = "long" }}]')
        return []
