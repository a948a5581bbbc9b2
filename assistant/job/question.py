"""One question about a job: what it asks, what its answer means, and the value that it becomes."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from enum import Enum
from fractions import Fraction
from typing import Any

from assistant.job.units import Unit, millimetres_from_text, shown
from assistant.words.choice import Choice
from assistant.words.language import say
from solver import Millimetres, Refused

Value = str | int | float | bool | list[Any]
Place = tuple[str, str]
"""Table and key, as in the job file; what is only asked stands in the table "?"."""

ASKED = "?"


class Form(Enum):
    """What an answer is read as."""

    WORDS = "words"
    WHOLE = "whole number"
    NUMBER = "number"
    LENGTH = "length"
    ANGLE = "angle"
    CHOICE = "choice"
    FLAG = "yes or no"
    ANGLES = "angles"
    PATTERN = "pattern"
    DEVIATIONS = "deviations"


@dataclass(frozen=True)
class Answers:
    """What was answered so far; `unit` is what a bare number of a length is in."""

    values: Mapping[Place, Value]

    @property
    def unit(self) -> Unit:
        """The lengths that the job is answered in: mm, or in."""
        return "in" if self.values.get(("", "units")) == "in" else "mm"

    def of(self, key: str, table: str = "work") -> Value | None:
        """The answer as it was given; None where there is none yet."""
        return self.values.get((table, key))

    def whole(self, key: str) -> int | None:
        """The answer where it is a whole number, else None."""
        value = self.of(key)
        return value if isinstance(value, int) else None

    def number(self, key: str) -> Fraction | None:
        """The answer where it is a number, exact, else None."""
        value = self.of(key)
        return Fraction(str(value)) if isinstance(value, int | float) else None

    def length(self, key: str, table: str = "work") -> Millimetres | None:
        """In mm; None where it is not given, or with limits: then of its nominal size."""
        value = self.of(key, table)
        if not isinstance(value, str):
            return None
        found = re.match(r"\s*[\d./ ]+?\s*(?:mm|inch|in|thou|\")", value)
        try:
            return millimetres_from_text(found.group(0))[0] if found else None
        except Refused:
            return None

    def shown(self, millimetres: float | Millimetres) -> str:
        """A length in mm, as the job's lengths are written."""
        return shown(millimetres, self.unit)


def _nothing(_: Answers) -> str:
    return ""


def _always(_: Answers) -> bool:
    return True


@dataclass(frozen=True)
class Question:
    """`ask` and `means` are English, said in the language in force. `default` gives the text that
    Enter stands for; "" where there is none. `needed`: the job can't do without an answer. `late`:
    hardly a drawing says it; it is not asked in its turn, and offered with the plan."""

    table: str
    key: str
    ask: str
    means: str
    form: Form
    choices: tuple[Choice, ...] = ()
    default: Callable[[Answers], str] = _nothing
    needed: bool = True
    when: Callable[[Answers], bool] = _always
    late: bool = False

    @property
    def place(self) -> Place:
        """Where the answer stands in the file: table and key."""
        return self.table, self.key


# --- from text to a value of the job file -------------------------------------------------


def value_of(question: Question, text: str, unit: Unit) -> Value:
    """Raises Refused with what would do."""
    return _READERS[question.form](text.strip(), unit)


def _words(text: str, _: str) -> Value:
    return text


def _whole(text: str, _: str) -> Value:
    if not re.fullmatch(r"-?[0-9]{1,9}", text):
        raise Refused(repr(text), say("give a whole number, like 21"))
    return int(text)


def _number(text: str, _: str) -> Value:
    plain = _point(text)
    if not re.fullmatch(r"-?[0-9]{1,9}(\.[0-9]{1,9})?", plain):
        raise Refused(repr(text), say("give a number, like 2.5"))
    return float(plain) if "." in plain else int(plain)


def _point(text: str) -> str:
    """A comma before decimals is a point; elsewhere it stays."""
    return re.sub(r"(?<=\d),(?=\d)", ".", text)


_BARE = re.compile(r"(\d+ \d+/\d+|\d+/\d+|\d*\.?\d+)(?=\s|$)")


def _length(text: str, unit: Unit) -> Value:
    """A bare number gets the unit of the drawing: "24 h11" is "24 mm h11"."""
    plain = _point(text)
    found = _BARE.match(plain)
    following = plain[found.end() :].strip() if found else ""
    if found and not re.match(r"(mm|inch|in|thou|\")", following):
        return f"{found[1]} {unit} {following}".strip()
    return plain


def _angle(text: str, _: str) -> Value:
    plain = _point(text)
    return f"{plain}d" if re.fullmatch(r"\d+", plain) else plain


def _flag(text: str, _: str) -> Value:
    """Yes and no in English and in the language in force; by voice they are one and nought."""
    lower = text.lower()
    if lower in ("y", "yes", "true", "1", say("yes")):
        return True
    if lower in ("n", "no", "false", "0", say("no")):
        return False
    raise Refused(repr(text), say("answer yes or no"))


def _angles(text: str, _: str) -> Value:
    """Separated by blanks; commas and semicolons part them too."""
    return [str(_angle(each, "")) for each in re.split(r"[;,\s]+", text) if each]


_ROW = re.compile(r"\s*(\d+)\s+([^\W\d]+)(?:\s+(\S.*?))?\s*")


def _pattern(text: str, unit: Unit) -> Value:
    """ "10 long 8, 5 middle 6": every tenth line is a long one of 8 mm, every fifth of 6."""
    rows = []
    for part in text.split(";" if ";" in text else ","):
        found = _ROW.fullmatch(part)
        if not found:
            wanted = "10 long 8; 5 middle 6"
            raise Refused(repr(text), say("give it like {wanted}", wanted=wanted))
        row = {"every": int(found[1]), "name": found[2]}
        rows.append({**row, "length": _length(found[3], unit)} if found[3] else row)
    return rows


def _deviations(text: str, unit: Unit) -> Value:
    plain = _point(text)
    return plain if re.search(r"[a-z\"]\s*$", plain) else f"{plain} {unit}"


_READERS: dict[Form, Callable[[str, Unit], Value]] = {
    Form.WORDS: _words,
    Form.WHOLE: _whole,
    Form.NUMBER: _number,
    Form.LENGTH: _length,
    Form.ANGLE: _angle,
    Form.CHOICE: _words,
    Form.FLAG: _flag,
    Form.ANGLES: _angles,
    Form.PATTERN: _pattern,
    Form.DEVIATIONS: _deviations,
}


def shown_value(value: Value) -> str:
    """As a person would write it."""
    if isinstance(value, bool):
        return say("yes") if value else say("no")
    if isinstance(value, list):
        rows = [" ".join(map(str, each.values())) if isinstance(each, dict) else str(each)
                for each in value]  # fmt: skip
        return "; ".join(rows)
    return str(value)
