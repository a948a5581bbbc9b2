"""What a literal person makes of every example job is the part on the drawing, whichever way the
words that are not said are taken."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.lanes import drawn
from tests.machinist.drawings import DrawnJob
from tests.machinist.workshop import JOBS, every_reading, in_inches, make

NAMES = sorted(path.stem for path in JOBS.glob("*.toml"))
WRONG_YET = {}


def marked(name: str) -> object:
    """A job that comes out wrong today turns red here when it is mended: take its line away."""
    wrong = WRONG_YET.get(name)
    marks = [pytest.mark.xfail(reason=wrong, strict=True)] if wrong else []
    return pytest.param(name, marks=marks, id=name)


def _kind(name: str) -> str:
    return DrawnJob(JOBS / f"{name}.toml").kind


@pytest.mark.parametrize("name", [marked(name) for name in NAMES])
def test_the_example_comes_out_as_drawn(name: str) -> None:
    """Nothing stands where the mate goes, nothing is missing, in all readings of the words."""
    found = {}
    for reading in every_reading():
        made = make(JOBS / f"{name}.toml", reading)
        found[reading] = made.faults
    assert not any(found.values()), found


@pytest.mark.parametrize("name", drawn(NAMES, 3, sort=_kind))
def test_slack_of_the_cross_slide_spoils_nothing(name: str) -> None:
    """What is said takes it up, or never turns the screw back."""
    reading = every_reading(slack=0.3)[sum(map(ord, name)) % 4]
    made = make(JOBS / f"{name}.toml", reading)
    assert not made.faults, reading


@pytest.mark.parametrize("name", drawn(NAMES, 3, sort=_kind))
def test_the_example_in_inches_comes_out_as_drawn(name: str, tmp_path: Path) -> None:
    """The same part with every length in inches: said in thou and inches, cut the same."""
    path = tmp_path / f"{name}.toml"
    path.write_text(in_inches((JOBS / f"{name}.toml").read_text("utf-8")), "utf-8")
    reading = every_reading()[sum(map(ord, name)) % 4]
    made = make(path, reading)
    assert "millimetre" not in " ".join(made.person.heard)
    assert not made.faults


@pytest.mark.parametrize("name", drawn(NAMES, 3, sort=_kind))
def test_the_second_part_of_a_batch_comes_out_as_drawn(name: str, tmp_path: Path) -> None:
    """By the short set-up between two parts alone, on a blank that nothing was touched on; also
    where the part before ended with another cutter, another plate, another place of the table."""
    text = (JOBS / f"{name}.toml").read_text("utf-8")
    if "batch = " not in text:
        text = text.replace("\n[", "\nbatch = 2\n[", 1)
    path = tmp_path / f"{name}.toml"
    path.write_text(text, "utf-8")
    reading = every_reading()[sum(map(ord, name)) % 4]
    made = make(path, reading)
    assert not made.faults, reading
    assert made.person.parts >= 2
