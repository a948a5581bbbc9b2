"""Heads from TOML: checked in full, every fault with its line and its cure."""

from __future__ import annotations

import tomllib
from fractions import Fraction
from typing import Any

from solver.model import (
    MINUTES_PER_TURN,
    ArcMinutes,
    Degrees,
    Handwheel,
    Head,
    HeadErrors,
    Plate,
    Refused,
)

DRIVES = ("fixed", "pinned", "geared", "block")
FORMAT = 1
"""The newest form of head files that is read here; a file without the key is of the first."""
_MOST_GEARS = 48
_MOST_LETTERS = 8000  # in a line of the file
_MOST = 100_000  # holes, teeth, ratio: beyond this a figure is a slip of the pen

_KEYS = {
    "": (
        "name", "describe", "worm_ratio", "direct_circle", "plate_drive", "tilt_degrees",
        "scale_degrees", "change_gears", "idlers_for_with", "plate", "handwheel", "errors",
        "format",
    ),
    "plate": ("name", "circles", "radii_mm"),
    "handwheel": ("division_minutes",),
    "errors": (
        "worm_arcsec", "plate_arcsec", "direct_arcsec", "worm_wave", "wheel_waves", "known_within",
    ),
}  # fmt: skip


def load_head(path: object) -> Head:
    """The head that the file at `path` describes. Raises Refused, also when it can't be read."""
    try:
        with open(str(path), encoding="utf-8") as file:  # noqa: PTH123 (pathlib costs start time)
            text = file.read()
    except (OSError, UnicodeDecodeError) as error:
        what = getattr(error, "strerror", None) or "this is no text file"
        raise Refused(f"{path}: {what}", "give the path of a head file") from error
    return parse_head(text, str(path))


def parse_head(text: str, where: str = "head") -> Head:
    """The head that TOML `text` describes; `where` names the text in faults. Raises Refused."""
    try:
        # Numbers with a point stay exact: they go from their text straight to a Fraction.
        _check_size(where, text)
        data = tomllib.loads(text, parse_float=_exact)
    except ValueError as error:
        raise Refused(_syntax_fault(where, text, error), "mend that line") from error
    except RecursionError as error:
        place = f"{where} line {_most_brackets(text)}"
        what = f"{place}: brackets within brackets without end"
        raise Refused(what, "close each one, or take them out") from error
    _check_format((where, text), data.get("format", FORMAT))
    return _head(_Section((where, text), "", data, 0))


def _most_brackets(text: str) -> int:
    """The line that opens the most of them: the reader names none where it gives up."""
    opened = [line.count("[") + line.count("{") for line in text.splitlines()]
    return opened.index(max(opened)) + 1


_LONGEST_NUMBER = 40  # letters
_MOST_EXPONENT = 99


def _check_size(where: str, text: str) -> None:
    """A key of thousands of parts takes the parser hours: no line of a head is that long."""
    for n, line in enumerate(text.splitlines(), 1):
        if len(line) > _MOST_LETTERS:
            what = f"{len(line)} letters in a line"
            cure = f"{_MOST_LETTERS} at the most"
            raise Refused(f"{where} line {n}: {what}", cure)


def _exact(text: str) -> Fraction:
    """A number of the file. Raises ValueError for one that no memory holds: 1e999999999."""
    exponent = text.lower().partition("e")[2].replace("_", "") or "0"
    if len(text) > _LONGEST_NUMBER or abs(int(exponent)) > _MOST_EXPONENT:
        raise ValueError(f"{text[:_LONGEST_NUMBER]} is no number for a head")
    return Fraction(text)


def _check_format(source: tuple[str, str], given: object) -> None:
    """Before any other key is looked at: in a newer file they may mean something else."""
    top = _Section(source, "", {}, 0)
    if type(given) is not int or given < 1:
        cure = f"write format = {FORMAT}, or leave it out"
        raise top.fault("format", f"format {_shown(given)}", cure)
    if given > FORMAT:
        newer = f"format {given}: written for a newer tallyhand, this one reads up to {FORMAT}"
        cure = "update tallyhand (the file is left as it is)"
        raise top.fault("format", newer, cure, "; ")


def _head(top: _Section) -> Head:
    block = _drive(top) == "block"
    if block:
        top.data.setdefault("worm_ratio", 1)
    plates = _plates(top)
    handwheel = _handwheel(top)
    direct = top.whole_list("direct_circle", "a circle has 2 or more holes")
    if block and (plates or handwheel or len(direct) != 1):
        what = "a block has faces and nothing else"
        raise top.fault("direct_circle", what, "direct_circle = [6] for six of them")
    if not (plates or handwheel or direct):
        raise top.fault("name", "no plate, no handwheel, no direct circle", "add a [[plate]]")
    return Head(
        name=top.text("name"),
        describe=top.text("describe", ""),
        worm_ratio=top.ratio("worm_ratio"),
        direct_circle=direct,
        plate_drive=_drive(top),
        tilt_degrees=_tilt(top),
        scale_degrees=Degrees(top.number("scale_degrees", Fraction(0))),
        change_gears=_gears(top),
        idlers_for_with=_idlers(top),
        plates=plates,
        handwheel=handwheel,
        errors=_errors(top),
    )


def _gears(top: _Section) -> tuple[int, ...]:
    found = top.whole_list("change_gears", "a gear has 2 or more teeth", twice=True)
    if len(found) > _MOST_GEARS:
        # Every pair of pairs is tried: their number grows with the fourth power.
        what = f"{len(found)} change gears: {_MOST_GEARS} at the most"
        raise top.fault("change_gears", what, "leave out what you never use", "; ")
    return found


def _drive(top: _Section) -> str:
    drive = top.text("plate_drive", "fixed")
    if drive not in DRIVES:
        cure = f"it is {', '.join(DRIVES[:-1])} or {DRIVES[-1]}"
        raise top.fault("plate_drive", f"plate_drive {drive!r}", cure)
    return drive


def _tilt(top: _Section) -> tuple[Degrees, Degrees]:
    ends = top.data.get("tilt_degrees", [0, 0])
    tilt = [_number(end) for end in ends] if isinstance(ends, list) else []
    if len(tilt) != 2 or tilt[0] is None or tilt[1] is None:
        raise top.fault("tilt_degrees", "tilt_degrees", "give the two ends, like [-10, 90]")
    if tilt[0] > tilt[1]:
        raise top.fault("tilt_degrees", "tilt_degrees: the lower end comes first", "swap them")
    return Degrees(tilt[0]), Degrees(tilt[1])


def _idlers(top: _Section) -> int:
    idlers = top.data.get("idlers_for_with", 1)
    if isinstance(idlers, bool) or idlers not in (0, 1, 2):
        raise top.fault("idlers_for_with", f"idlers_for_with {_shown(idlers)}", "it is 0, 1 or 2")
    return int(idlers)


def _plates(top: _Section) -> tuple[Plate, ...]:
    tables = top.data.get("plate", [])
    if not isinstance(tables, list) or not all(isinstance(table, dict) for table in tables):
        raise top.fault("plate", "plate", "write each one under its own [[plate]]")
    plates: list[Plate] = []
    for nth, data in enumerate(tables):
        table = top.section("plate", data, nth)
        plate = _plate(table)
        if plate.name in [other.name for other in plates]:
            raise table.fault("name", f"plate {plate.name!r} twice", "give each its own name")
        plates.append(plate)
    return tuple(plates)


def _plate(table: _Section) -> Plate:
    name = table.text("name")
    circles = table.whole_list("circles", "a circle has 2 or more holes")
    if not circles:
        raise table.fault("circles", f"plate {name!r} has no circles", "add circles = [15, 16]")
    radii = _radii(table, circles)
    if not radii:
        return Plate(name, tuple(sorted(circles)))
    pairs = sorted(zip(circles, radii, strict=True))
    return Plate(name, tuple(hole for hole, _ in pairs), tuple(radius for _, radius in pairs))


def _radii(table: _Section, circles: tuple[int, ...]) -> tuple[Fraction, ...]:
    """The radii of the circles in the order in which they are written; empty: not given."""
    given = table.data.get("radii_mm", [])
    found = [_number(each) for each in given] if isinstance(given, list) else [None]
    radii = tuple(each for each in found if each is not None and 0 < each <= _MOST)
    if len(radii) < len(found):
        cure = "list the circles' radii in mm, each over 0, like [38, 43.5]"
        raise table.fault("radii_mm", "radii_mm", cure)
    if radii and len(radii) != len(circles):
        counted = f"{len(radii)} radii for {len(circles)} circles"
        raise table.fault("radii_mm", counted, "give one for each circle, in the same order")
    if len(set(radii)) < len(radii):
        what = "radii_mm: two circles can't lie on one another"
        raise table.fault("radii_mm", what, "measure them again")
    return radii


def _handwheel(top: _Section) -> Handwheel | None:
    table = top.table("handwheel")
    if table is None:
        return None
    division = table.number("division_minutes", least=Fraction(1, 600))
    turn = MINUTES_PER_TURN / top.ratio("worm_ratio")
    # A dial whose last division is cut short has no line where the next turn begins.
    if turn % division:
        what = f"division_minutes {division}: one turn is {turn} minutes, no whole number of them"
        raise table.fault("division_minutes", what, "check it, and worm_ratio")
    return Handwheel(ArcMinutes(division))


def _errors(top: _Section) -> HeadErrors:
    table = top.table("errors")
    if table is None:
        return HeadErrors()
    bounds = ("worm_arcsec", "plate_arcsec", "direct_arcsec", "known_within")
    stated = {key: table.number(key) for key in bounds if key in table.data}
    worm, wheel = table.waves("worm_wave", 1), table.waves("wheel_waves", 2)
    if bool(worm) != bool(wheel):
        what, cure = (
            "worm_wave and wheel_waves go together",
            "take both from tallyhand setup errors",
        )
        raise table.fault("worm_wave" if worm else "wheel_waves", what, cure)
    return HeadErrors(**stated, worm_wave=worm, wheel_waves=wheel)


class _Section:
    """One table of the file: takes checked values out, and knows the line each stands on."""

    def __init__(self, source: tuple[str, str], name: str, data: dict[str, Any], nth: int) -> None:
        self.where, self.source = source
        self.name, self.data, self.nth = name, data, nth
        for key in data:
            if key not in _KEYS[name]:
                raise self.fault(key, f"unknown key {key!r}", _near(key, _KEYS[name]))

    def section(self, name: str, data: dict[str, Any], nth: int = 0) -> _Section:
        return _Section((self.where, self.source), name, data, nth)

    def fault(self, key: str, what: str, cure: str, between: str = ": ") -> Refused:
        return Refused(f"{self.where} line {self.line(key)}: {what}", cure, between)

    def line(self, key: str) -> int:
        """Where `key` stands in this table; where the table starts if it doesn't."""
        here, seen, start = "", 0 if self.name else 1, 1
        for n, line in enumerate(self.source.splitlines(), 1):
            bare = line.strip()
            if bare.startswith("["):
                here = bare.split("#")[0].strip(" []\t\"'")
                seen += here == self.name
                start = n if here == self.name and seen == self.nth + 1 else start
                if here == key and not self.name:
                    return n
            inside = here == self.name and seen == self.nth + 1
            if inside and "=" in bare and bare.split("=")[0].strip(" \t\"'") == key:
                return n
        return start

    def table(self, key: str) -> _Section | None:
        data = self.data.get(key)
        if data is not None and not isinstance(data, dict):
            raise self.fault(key, f"{key} is a table", f"write [{key}] on its own line")
        return None if data is None else self.section(key, data)

    def text(self, key: str, default: str | None = None) -> str:
        value = self.data.get(key, default)
        if value is None:
            raise self.fault(key, f"{key} is missing", f'add {key} = "..."')
        if not isinstance(value, str) or not (value.strip() or default is not None):
            raise self.fault(key, f"{key} {_shown(value)}", 'write words in "quotes"')
        odd = next((letter for letter in value if not letter.isprintable()), "")
        if odd:
            # It is printed as it stands, and some of these steer a terminal.
            raise self.fault(key, f"{key} holds {odd!r}, which can't be shown", "leave it out")
        return value

    def number(
        self, key: str, default: Fraction | None = None, least: Fraction = Fraction(0)
    ) -> Fraction:
        if key not in self.data and default is not None:
            return default
        if key not in self.data:
            raise self.fault(key, f"{key} is missing", f"add {key} = 40, with your figure")
        given = _shown(self.data[key])
        value = _number(self.data[key])
        if value is None:
            raise self.fault(key, f"{key} {given} is no number", 'write 40, 40.5 or "81/2"')
        if not least <= value <= _MOST:
            raise self.fault(key, f"{key} {given}", f"it lies between {least} and {_MOST}")
        return value

    def ratio(self, key: str) -> Fraction:
        """A number, or "40:1" as a head is stamped."""
        given = self.data.get(key)
        if isinstance(given, str) and (bare := given.removesuffix("1").rstrip()).endswith(":"):
            self.data[key] = bare.removesuffix(":").rstrip()
        return self.number(key, least=Fraction(1, 100))

    def waves(self, key: str, count: int) -> tuple[Fraction, ...]:
        """Cosine and sine of each wave, arc-seconds, either sign; empty where not given."""
        given = self.data.get(key, [])
        kinds = (int, Fraction)
        good = isinstance(given, list) and all(type(each) in kinds for each in given)
        if key in self.data and not (
            good and len(given) == 2 * count and all(abs(each) <= _MOST for each in given)
        ):
            cure = f"list {2 * count} figures in arc-seconds, cosine and sine by turns"
            raise self.fault(key, key, cure)
        return tuple(Fraction(each) for each in given)

    def whole_list(self, key: str, cure: str, twice: bool = False) -> tuple[int, ...]:
        values = self.data.get(key, [])
        if not isinstance(values, list):
            raise self.fault(key, f"{key} {_shown(values)}", "write a list, like [15, 16]")
        what = key.removesuffix("s").replace("_", " ")
        for value in values:
            if isinstance(value, bool) or not isinstance(value, int):
                raise self.fault(key, f"{what} {_shown(value)} is no whole number", cure)
            if not 2 <= value <= _MOST:
                problem = cure if value < 2 else f"at most {_MOST}"
                raise self.fault(key, f"{what} {value}", problem)
            if not twice and values.count(value) > 1:
                raise self.fault(key, f"{what} {value} is listed twice", "once is enough")
        return tuple(values)


def _number(value: object) -> Fraction | None:
    if isinstance(value, int | Fraction) and not isinstance(value, bool):
        return Fraction(value)
    if not isinstance(value, str):
        return None
    from solver.text import number_from_text

    try:
        return number_from_text(value)
    except Refused:
        return None


def _near(key: str, known: tuple[str, ...]) -> str:
    from difflib import get_close_matches

    near = get_close_matches(key, known, 1)
    return f"did you mean {near[0]}?" if near else f"known here are {', '.join(known)}"


def _syntax_fault(where: str, text: str, error: ValueError) -> str:
    import re

    place = re.search(r"line (\d+)", str(error))
    odd = re.search(r"=[^#\n]*\b(nan|inf)\b", text)  # TOML allows these, arithmetic does not
    last = odd.start() if odd else len(text.rstrip())
    line = int(place.group(1)) if place else text.count("\n", 0, last) + 1
    what = re.sub(r"\s*\(at [^)]*\)", "", str(error))
    return f"{where} line {line}: not TOML: {what}"


def _shown(value: object) -> str:
    text = str(value) if isinstance(value, Fraction) else repr(value)
    return text if len(text) <= 40 else text[:40] + "..."
