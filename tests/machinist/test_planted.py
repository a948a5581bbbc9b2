"""Each planted fault is seen in the finished part, or stops the person who does what is said."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.kinds import crafts
from tests.lanes import drawn
from tests.machinist.craft import Fault
from tests.machinist.drawings import DrawnJob
from tests.machinist.planted import PLANTED, Twist, written
from tests.machinist.workshop import JOBS, make


def test_something_is_planted_in_every_kind() -> None:
    """A judge that lets everything pass would be seen: angles alone are judged as divisions are."""
    planted = {DrawnJob(JOBS / f"{fault.job}.toml").kind for fault in PLANTED}
    assert planted == set(crafts()) - {"angles"}


@pytest.mark.parametrize(
    "fault", drawn(PLANTED, 4, lambda fault: fault.name, lambda fault: fault.job)
)
def test_the_fault_is_seen(fault: Fault, tmp_path: Path) -> None:
    """The words are altered as by a fault in the program: the part must not pass."""
    twist = Twist(fault)
    job = tmp_path / f"{fault.job}.toml"
    job.write_text(written(fault), "utf-8")
    made = make(job, fault.choices, twist)
    assert twist.done, "the words of this fault are no longer said: give it those of today"
    assert made.faults and fault.seen in " ".join(made.faults)
