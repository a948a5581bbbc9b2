"""Every so many spaces, then those between: each place once, all moves alike, the part as drawn."""

from __future__ import annotations

from fractions import Fraction
from math import gcd
from pathlib import Path

import pytest

from assistant.job.compiler import head_of, programme_of, setups_of, stages_of
from assistant.job.job_file import JobFaults, job_from_text
from assistant.job.programme import Programme
from tests.commands import JOBS
from tests.machinist.workshop import every_reading, make

PINION = (JOBS / "elevator-pinion.toml").read_text("utf-8")


def text(every: int, base: str = PINION, key: str = "teeth = 21") -> str:
    return base.replace(key, f"{key}\nevery = {every}", 1)


def worked_out(job_text: str) -> Programme:
    job = job_from_text(job_text, str(JOBS / "x.toml"))
    head = head_of(job)
    return programme_of(job, head, setups_of(job, head)[0])


@pytest.mark.parametrize("every", [n for n in range(2, 21) if gcd(n, 21) == 1])
def test_every_place_once_with_moves_that_are_all_alike(every: int) -> None:
    """A step without a common divisor meets all 21 places before it comes back (number theory);
    the crank goes 40 times the step in all, and the arms stay as they are set."""
    programme = worked_out(text(every))
    places = programme.positions[:-1]
    assert list(places) == [Fraction(n * every % 21, 21) for n in range(21)]
    assert len(set(programme.moves)) == 1 and programme.arms_used
    turned = sum(move.turns + Fraction(move.holes, move.circle or 1) for move in programme.moves)
    assert turned == 40 * every
    assert programme.positions[-1] == 0


def test_the_order_is_told(tmp_path: Path) -> None:
    """At the end of the set-up, where the cuts come next; not where cuts follow one another."""
    told = "The cuts come four spaces apart, four times round: the heat does not add up."
    assert worked_out(text(4)).checklist[-1] == told
    assert told not in worked_out(PINION).checklist


def test_a_literal_person_makes_the_same_gear(tmp_path: Path) -> None:
    """Teeth, roots and the size over them, in every reading of the words."""
    path = tmp_path / "pinion.toml"
    path.write_text(text(4), "utf-8")
    for reading in every_reading():
        assert not make(path, reading).faults


@pytest.mark.parametrize(
    ("job", "says"),
    [
        (text(7), "21 has the divisor 7 with it, so that some would never be met: give 5 or 8"),
        (text(22), "give less than the 21 cuts"),
        (text(0), "every = 0: it must be 1 to 100"),
        (
            text(3, (JOBS / "bung-reamer.toml").read_text("utf-8"), "flutes = 6"),
            "for cuts at equal spaces all the way round",
        ),
    ],
)
def test_what_can_not_be_is_refused_with_what_can(job: str, says: str) -> None:
    """With its line, and the nearest steps that meet every place."""
    with pytest.raises(JobFaults) as fault:
        worked = job_from_text(job, str(JOBS / "x.toml"))
        stages_of(worked, head_of(worked))
    assert says in str(fault.value)
    assert " line " in str(fault.value)
