"""Line patterns of scales: which line is long, which is numbered, and how each is called."""

from __future__ import annotations

from dataclasses import dataclass, replace
from fractions import Fraction

from assistant.job.kinds import ask
from assistant.job.part import Cut, Findings
from assistant.job.question import Form, Question
from assistant.job.reader import Table
from assistant.job.units import Unit, said, shown
from assistant.words.language import mark, number, say
from assistant.words.spoken import capital
from solver import Millimetres, Turns

# Names that jobs give their lines; one of the user's own is called as it is written.
NAMES = (mark("long"), mark("middle"), mark("short"), mark("plain"))
KEYS = (
    "pattern", "line_name", "line_length", "number_every", "number_from", "number_step",
    "line_width", "depth",
)  # fmt: skip

_USUAL = Millimetres(Fraction(1, 10))  # mm, width of a line from a sharp V cutter (common practice)


@dataclass(frozen=True, slots=True)
class Grade:
    """Every so many lines one of this name and length (mm; None: set by eye)."""

    every: int
    name: str
    length: Millimetres | None


@dataclass(frozen=True, slots=True)
class Pattern:
    """`grades`, the rarest first, end with the one for all other lines."""

    grades: tuple[Grade, ...]
    number_every: int = 0
    number_from: int = 0
    number_step: int = 1
    line_width: Millimetres = _USUAL
    depth: Millimetres | None = None

    def grade(self, line: int) -> Grade:
        """The longest grade that this line, counted from 0, belongs to."""
        return next(each for each in self.grades if line % each.every == 0)

    def label(self, line: int) -> str:
        """ "long line, stamp thirty"."""
        name, stamp = say(self.grade(line).name), self.stamp(line)
        if not stamp:
            return say("{name} line", name=name)
        return say("{name} line, stamp {number}", name=name, number=number(int(stamp)))

    def stamped(self, line: int) -> str:
        """ "stamp thirty": what is stamped at this line, as it is called; "" where nothing is."""
        stamp = self.stamp(line)
        return say("stamp {number}", number=number(int(stamp))) if stamp else ""

    def stop(self, line: int) -> str:
        """ "long line": what the stop is set for, where the lines are not all alike."""
        if len(self.grades) == 1:
            return ""
        return say("{name} line", name=say(self.grade(line).name))

    def cut(self, line: int, at: Turns) -> Cut:
        """The cut of this line, `at` turns of the spindle from the first."""
        return Cut(at, self.label(line), self.stamp(line), self.stop(line), self.stamped(line))

    def longer(self, by: Fraction) -> Pattern:
        """The same with every length so many times as long."""
        grades = tuple(
            replace(each, length=Millimetres(each.length * by)) if each.length else each
            for each in self.grades
        )
        return replace(self, grades=grades)

    def stamp(self, line: int) -> str:
        """The number that is stamped at this line; "" where none is."""
        if not self.number_every or line % self.number_every:
            return ""
        return str(self.number_from + line // self.number_every * self.number_step)

    @property
    def longest(self) -> Millimetres | None:
        """The length of the longest line in mm; None where none was given."""
        return max((each.length for each in self.grades if each.length), default=None)


def read(table: Table) -> Pattern:
    """The grades of the table from the rarest to the plain one, and what is stamped; each fault
    goes into the table's list.
    """
    every = table.whole("number_every", 1, 10_000) if table.has("number_every") else 0
    rows = [_grade(table, row) for row in table.rows("pattern")]
    name = table.words("line_name", "short" if rows else "plain")
    last = Grade(1, name, table.maybe_length("line_length"))
    return Pattern(
        grades=(*sorted(rows, key=lambda grade: -grade.every), last),
        number_every=every,
        number_from=table.whole("number_from", 0, 100_000, 0),
        number_step=table.whole("number_step", 1, 100_000, every or 1),
        line_width=table.length("line_width", _USUAL),
        depth=table.maybe_length("depth"),
    )


def _grade(table: Table, row: dict[str, object]) -> Grade:
    inner = Table(table.faults, table.name, {f"pattern.{key}": row[key] for key in row})
    for key in row:
        if key not in ("every", "name", "length"):
            known = "every, length, name"
            table.fault("pattern", f"unknown key {key!r} in pattern: known here: {known}")
    return Grade(
        inner.whole("pattern.every", 2, 10_000),
        inner.words("pattern.name"),
        inner.maybe_length("pattern.length"),
    )


def check_pattern(pattern: Pattern, lines: int, closed: bool, found: Findings) -> None:
    """Grades that don't come out even, and lengths the wrong way round."""
    for grade in pattern.grades[:-1]:
        if grade.every >= lines:
            found.warn("pattern", f"every {grade.every} lines: there are only {lines}")
        elif closed and lines % grade.every:
            found.warn(
                "pattern",
                f"every {grade.every} does not come out even in {lines} lines: "
                "the last space of the pattern is short",
            )
    lengths = [grade.length for grade in pattern.grades if grade.length]
    if lengths != sorted(lengths, reverse=True):
        found.warn("pattern", "a rarer line is shorter than a commoner one: look again")


def spacing(pattern: Pattern, space: float, cure: str, key: str, f: Findings, unit: Unit) -> None:
    """Lines that would run together; `space` in mm from line to line."""
    width = float(pattern.line_width)
    if space < 2 * width:
        f.refuse(
            key,
            f"{shown(space, unit)} from line to line, and each line is {shown(width, unit)} wide: "
            f"they run together: {cure}",
        )
    elif space < 4 * width:
        f.warn(key, f"only {shown(space, unit)} from line to line: hard to read")


def lengths_said(pattern: Pattern, unit: Unit) -> str:
    """How long each kind of line is, for the ear."""
    if len(pattern.grades) == 1:
        only = pattern.grades[0].length
        if only is None:
            return say("every line alike")
        return say("every line {length} long", length=said(only, unit))
    return ", ".join(_grades_said(pattern, unit))


def _grades_said(pattern: Pattern, unit: Unit) -> list[str]:
    return [_grade_said(grade, unit) for grade in pattern.grades]


def _grade_said(grade: Grade, unit: Unit) -> str:
    name = say(grade.name)
    line = say("{name} line", name=name)
    if grade.length:
        line = say("{name} line {length}", name=name, length=said(grade.length, unit))
    if grade.every > 1:
        return say("every {n} a {line}", n=number(grade.every), line=line)
    return say("all others a {line}", line=line)


def stops_said(pattern: Pattern, unit: Unit) -> str:
    """A sentence for each: a hand that sets a stop wants one length at a time."""
    several = _grades_said(pattern, unit) if len(pattern.grades) > 1 else []
    lengths = ". ".join(map(capital, several or [lengths_said(pattern, unit)]))
    return say("Set stops for the lengths. {lengths}.", lengths=lengths)


def depth_said(pattern: Pattern, unit: Unit) -> str:
    """How deep a line is, for the ear; "" where the job does not tell."""
    if pattern.depth is None:
        return ""
    return say("Line depth {depth} from the first touch.", depth=said(pattern.depth, unit))


def lengths_shown(pattern: Pattern, unit: Unit) -> str:
    """Every grade with its length, in the job's lengths."""
    if len(pattern.grades) == 1:
        only = pattern.grades[0].length
        return shown(only, unit) if only else "all alike"
    parts = []
    for grade in pattern.grades:
        length = f" {shown(grade.length, unit)}" if grade.length else ""
        where = f"every {grade.every}" if grade.every > 1 else "others"
        parts.append(f"{where}: {grade.name}{length}")
    return ", ".join(parts)


QUESTIONS = (
    Question(
        "work", "pattern", mark("Which lines are longer?"),
        mark("Like 10 long 8; 5 middle 6 for every tenth and every fifth. Enter: none."),
        Form.PATTERN, needed=False,
    ),
    ask.length(
        "line_length", mark("How long are all other lines?"), mark("Enter: by eye."), needed=False
    ),
    Question(
        "work", "number_every", mark("Every how many lines is a number stamped?"),
        mark("Enter: none."), Form.WHOLE, needed=False,
    ),
    ask.length("depth", mark("How deep are the lines?"), mark("Enter: by eye."), needed=False),
)  # fmt: skip
