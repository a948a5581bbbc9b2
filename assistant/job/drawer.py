"""The person's drawer: cutters, and the plates and change gears that they own.

It is the [drawer] of the settings; every value is checked here, and a fault names its line.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path

from assistant.files import settings
from assistant.job.feeds import CUTTER_MATERIALS
from assistant.job.job_file import JobFaults
from assistant.job.kept import Kept
from assistant.job.owned import ALL, Owned
from assistant.job.part import Cutter
from assistant.job.reader import Faults, Table
from assistant.job.units import MM_PER_INCH, shown
from solver import Millimetres

FORMS = ("gear", "bevel-gear", "side", "saw", "angle", "form", "end", "drill")
_KEYS = ("plates", "gears", "cutter")
_CUTTER = (
    "name", "form", "module", "diametral_pitch", "number", "pressure_angle", "angle", "diameter",
    "width", "left_diameter", "left_width", "teeth", "material", "speed", "chip",
)  # fmt: skip
_GEARS = ("gear", "bevel-gear")
_NEEDS = {"side": "width", "saw": "width", "end": "diameter", "drill": "diameter"}
_MOST_TEETH = 400
_HALVES = 2  # sets of fifteen have numbers between: 5.5


@dataclass(frozen=True, slots=True)
class Drawer:
    """`file` are the settings that it stands in."""

    cutters: tuple[Kept, ...] = ()
    owned: Owned = ALL
    file: Path = Path()

    def cutter(self, name: str) -> Kept | None:
        """By its name; capital letters don't count."""
        return next((each for each in self.cutters if each.name.lower() == name.lower()), None)


EMPTY = Drawer()


def drawer_of(kept: settings.Settings) -> Drawer:
    """The drawer of these settings, checked. Raises JobFaults, a line each."""
    if not kept.drawer.data:
        return Drawer(file=kept.file)
    faults = Faults(kept.drawer.text, str(kept.file))
    top = Table(faults, settings.DRAWER, dict(kept.drawer.data))
    top.strangers(_KEYS)
    found = Drawer(_cutters(top), Owned(_plates(top), _gears(top)), kept.file)
    if faults.found:
        raise JobFaults(faults.in_order())
    return found


def _plates(top: Table) -> tuple[str, ...] | None:
    value = top.data.get("plates")
    if value is None:
        return None
    if not isinstance(value, list) or not value or not all(isinstance(v, str) for v in value):
        top.fault("plates", 'plates: list their names, like ["A", "B"]; leave it out for all')
        return None
    return tuple(value)


def _gears(top: Table) -> tuple[int, ...] | None:
    value = top.data.get("gears")
    if value is None:
        return None
    good = isinstance(value, list) and all(type(v) is int and 2 <= v <= _MOST_TEETH for v in value)
    if not good:
        what = f"gears: list their teeth, 2 to {_MOST_TEETH} each, like [24, 24, 28, 32]"
        top.fault("gears", f"{what}; [] for none")
        return None
    return tuple(sorted(value))


def _cutters(top: Table) -> tuple[Kept, ...]:
    rows = top.data.get("cutter", [])
    if not isinstance(rows, list) or not all(isinstance(row, dict) for row in rows):
        top.fault("cutter", "cutter: write each as a table of its own, [[drawer.cutter]]")
        return ()
    tables = [Table(top.faults, f"{top.name}.cutter[{n}]", row) for n, row in enumerate(rows, 1)]
    found: dict[str, Kept] = {}
    for table in tables:
        kept = _kept(table)
        if kept.name and kept.name.lower() in found:
            table.fault("name", f"name {kept.name!r} is there twice: give each cutter its own")
        found[kept.name.lower()] = kept
    return tuple(found.values())


def _kept(table: Table) -> Kept:
    table.strangers(_CUTTER)
    form = table.choice("form", FORMS)
    size = _NEEDS.get(form, "")
    if size and not (table.has(size) or table.has(f"left_{size}")):
        table.fault(size, f"{size} is missing: a cutter of form {form} needs it")
    if form == "angle" and not table.has("angle"):
        table.fault("angle", 'angle is missing: write what is stamped on it, like "60d"')
    is_gear = form in _GEARS and table.data.get("form") == form
    pitch = table.one_of("module", "diametral_pitch") if is_gear else ""
    return Kept(
        form=form,
        cutter=_cutter(table),
        module=_module(table, pitch) if pitch else None,
        by_dp=pitch == "diametral_pitch",
        number=_number(table) if is_gear else None,
        pressure_degrees=table.degrees("pressure_angle") if table.has("pressure_angle") else None,
        angle_degrees=table.degrees("angle") if table.has("angle") else None,
    )


def _module(table: Table, pitch: str) -> Millimetres:
    value = table.number(pitch, 0.1, 100)
    return Millimetres(value if pitch == "module" else MM_PER_INCH / value)


def _number(table: Table) -> Fraction | None:
    """Of a set of eight, or of fifteen with the halves between; None: not given."""
    if not table.has("number"):
        return None
    value = table.number("number", 1, 8)
    if (value * _HALVES).denominator != 1:
        table.fault("number", f"number = {float(value):g}: 1 to 8, or a half between, like 5.5")
    return value


def _cutter(table: Table) -> Cutter:
    return Cutter(
        name=table.words("name"),
        diameter=_left(table, "diameter"),
        width=_left(table, "width"),
        teeth=table.whole("teeth", 1, 200) if table.has("teeth") else None,
        material=table.choice("material", tuple(CUTTER_MATERIALS), "hss"),
        speed=table.number("speed", 1, 1000) if table.has("speed") else None,
        chip=table.number("chip", 0.001, 2) if table.has("chip") else None,
    )


def _left(table: Table, key: str) -> Millimetres | None:
    """What sharpening left of a size, else the size as it was new."""
    new, left = table.maybe_length(key), table.maybe_length(f"left_{key}")
    if new is not None and left is not None and left > new:
        unit = table.faults.systems[-1]
        table.fault(
            f"left_{key}",
            f"left_{key} {shown(left, unit)} is more than {key} {shown(new, unit)}: "
            "sharpening only takes off; measure again",
        )
    return left or new
