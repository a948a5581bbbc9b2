"""Where the plate turns with the work, the pin comes back to another hole of it.

A person checks it who keeps the marks on the plate apart from the spindle. Once the work is round
the crank has gone R turns in space and the plate g of its own, so over the plate R - g: what the
trade checks a differential by, N = (R - g) / m (common practice; the rest is geometry).
"""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.machinist.test_any_size import job
from tests.machinist.workshop import Choices, make


def made(folder: Path, head: str, batch: str = "", **work: object) -> list[str]:
    """What was heard in making it; whatever is told of pin and mark is held against the plate."""
    path = folder / "job.toml"
    text = job("spur-gear", "module = 2", **work).replace("three-plate-40", head)
    path.write_text(batch + text, "utf-8")
    done = make(path, Choices(side=1, sense=1))
    assert not done.faults, done.faults
    return done.person.heard


@pytest.mark.parametrize(
    ("teeth", "told"),
    [(53, "nineteen holes past the mark"), (59, "past the mark"), (61, "short of the mark")],
)
def test_the_pin_of_a_geared_plate_is_told_where_it_comes_back(
    teeth: int, told: str, tmp_path: Path
) -> None:
    heard = made(tmp_path, "three-plate-40-geared", teeth=teeth, passes=2)
    rounds = [words for words in heard if words.startswith("All the way round")]
    assert len(rounds) == 2
    assert all(told in words and "first hole" not in words for words in rounds)


def test_so_it_is_where_the_plate_is_turned_against_the_back_pin(tmp_path: Path) -> None:
    heard = made(tmp_path, "two-sided-40", teeth=69, passes=2)
    assert "twenty-three holes past the mark" in "".join(heard)


def test_the_next_blank_begins_at_a_mark_of_its_own(tmp_path: Path) -> None:
    heard = made(tmp_path, "three-plate-40-geared", "batch = 2\n", teeth=53)
    assert "Mark that hole, and wipe off every other mark." in "".join(heard)


def test_a_plate_that_stands_still_keeps_its_mark(tmp_path: Path) -> None:
    """27 teeth want 13 holes on 27 after each turn: 27 moves are 40 turns of the crank."""
    heard = "".join(made(tmp_path, "three-plate-40-geared", teeth=27, passes=2))
    assert "The pin should be in its first hole." in heard
    assert "wipe off" not in heard
