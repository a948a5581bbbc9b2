"""Turns, degrees, minutes of arc and millimetres: the types refuse one for another."""

from __future__ import annotations

import sys
from pathlib import Path

import pytest
from mypy import api

from tests.commands import ROOT

RIGHT = """
from fractions import Fraction
from assistant.job.compiler import places_of
from assistant.job.kinds.bolt_circle import BoltCircle
from assistant.job.kinds.clutch import Clutch
from assistant.job.kinds.flutes import spacings
from assistant.job.kinds.gear_teeth import Tooth
from assistant.job.kinds.graduations import Graduations, line_space, reading
from assistant.job.measuring import Measurement
from assistant.job.part import Cut, Part
from assistant.job.programme import Programme
from assistant.job.reader import Table
from assistant.job.units import angle_shown, millimetres_from_text, said, shown
from assistant.words.moves import arc_words
from solver import (
    Degrees, Handwheel, Head, Setup, Turns, angle_from_text, arc, degrees_text, in_arc_minutes,
    in_degrees, off_at, plan, radius_from_text,
)

def look(
    head: Head, programme: Programme, dial: Handwheel, size: Measurement, table: Table, part: Part,
    work: Graduations, setup: Setup,
) -> None:
    angle = angle_from_text("8d50m")
    degrees_text(angle)
    plan(head, angle=angle)
    arc(angle, radius_from_text("35 mm"))
    arc_words(in_arc_minutes(programme.positions[0]))
    off_at(head, programme.positions[0])
    scale: Degrees = in_degrees(angle)
    head._replace(scale_degrees=scale)
    inches, unit = millimetres_from_text("3/8 in")
    size.answer(inches, unit)
    Tooth(inches, pressure_degrees=scale)
    Cut(table.turns("first"), deeper=inches)
    angle_shown(in_degrees(work.over)) + degrees_text(line_space(work))
    BoltCircle(6, inches, inches, first=table.turns("first", angle))
    spacings(6, angle, line_space(work))
    plan(head, positions=places_of(part), tolerance=setup.worst_error)
    said(inches, programme.unit) + shown(radius_from_text("3/8 in").mm, unit)
    {wrong}
"""
WRONG = {
    "degrees for turns": "plan(head, angle=in_degrees(angle))",
    "a bare number for turns": "degrees_text(Fraction(8))",
    "degrees at a radius": "arc(head.scale_degrees, radius_from_text('35 mm'))",
    "turns for minutes of arc": "arc_words(programme.positions[0])",
    "minutes of arc for turns": "off_at(head, dial.division_minutes)",
    "turns for the degree scale": "head._replace(scale_degrees=angle)",
    "degrees doubled": "degrees_text(in_degrees(angle))",
    "a bare number for millimetres": "size.answer(Fraction(24), unit)",
    "a length in its own unit": "shown(radius_from_text('3/8 in').value, unit)",
    "turns for millimetres": "said(angle, unit)",
    "millimetres for turns": "degrees_text(inches)",
    "degrees as a size": "size.remaining(scale)",
    "a unit that is none": "shown(inches, 'cm')",
    "thou for the system": "said(inches, 'thou')",
    "turns for a pressure angle": "Tooth(inches, pressure_degrees=angle)",
    "a size for a place": "off_at(head, inches)",
    "degrees for the place of a cut": "Cut(table.degrees('first'))",
    "a bare number for the place of a cut": "Cut(Fraction(1, 6))",
    "turns shown as degrees": "angle_shown(work.over)",
    "degrees for where a circle begins": "BoltCircle(6, inches, inches, first=scale)",
    "degrees for what a scale goes over": "Graduations(9, work.pattern, over=scale)",
    "degrees for a clutch's clearance": "Clutch(3, inches, inches, inches, inches, scale)",
    "degrees for the spread of flutes": "spacings(6, scale, angle)",
    "a size for a spread": "spacings(6, inches, angle)",
    "degrees doubled where a vernier reads": "degrees_text(in_degrees(reading(work)))",
    "degrees for a list of places": "plan(head, positions=[scale])",
    "seconds for a tolerance": "plan(head, divisions=7, tolerance=Fraction(30))",
    "an error for minutes of arc": "arc_words(setup.worst_error)",
    "turns for the default of degrees": "table.degrees('first', angle)",
    "a place for the tilt of a head": "head._replace(tilt_degrees=(angle, angle))",
}


def judged(tmp_path: Path, statement: str) -> str:
    """What the type checker says of one statement more, with the settings of the project."""
    file = tmp_path / "mixed_up.py"
    file.write_text(RIGHT.replace("{wrong}", statement), "utf-8")
    depth = sys.getrecursionlimit()
    try:
        told, broken, _ = api.run(
            [str(file), "--config-file", str(ROOT / "pyproject.toml"), "--no-error-summary"]
        )
    finally:
        # The checker raises it for its whole process: later tests would nest deeper than a user's.
        sys.setrecursionlimit(depth)
    assert not broken, broken
    return told


@pytest.mark.slow(20)
def test_each_mixed_up_call_is_refused(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """One unit in the place of another is found before anything runs; the right ones pass."""
    monkeypatch.chdir(ROOT)
    every = "\n    ".join(WRONG.values())
    told = judged(tmp_path, every)
    first = RIGHT[: RIGHT.index("{wrong}")].count("\n") + 1
    for n, (what, statement) in enumerate(WRONG.items()):
        assert f"mixed_up.py:{first + n}: error:" in told, (what, statement, told)
    assert told.count("error:") == len(WRONG)
