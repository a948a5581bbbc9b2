"""What a literal person makes of every example job is the part on the drawing, whichever way the
words that are not said are taken."""

from __future__ import annotations

import pytest

from tests.machinist.workshop import JOBS, every_reading, make

WRONG_YET = {}


def marked(name: str) -> object:
    """A job that comes out wrong today turns red here when it is mended: take its line away."""
    wrong = WRONG_YET.get(name)
    marks = [pytest.mark.xfail(reason=wrong, strict=True)] if wrong else []
    return pytest.param(name, marks=marks, id=name)


@pytest.mark.parametrize("name", [marked(path.stem) for path in sorted(JOBS.glob("*.toml"))])
def test_the_example_comes_out_as_drawn(name: str) -> None:
    """Nothing stands where the mate goes, nothing is missing, in all readings of the words."""
    found = {}
    for reading in every_reading():
        made = make(JOBS / f"{name}.toml", reading)
        found[reading] = made.faults
    assert not any(found.values()), found
