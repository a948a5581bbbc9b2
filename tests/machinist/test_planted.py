"""Each planted fault is seen in the finished part, or stops the person who does what is said."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.machinist.craft import Fault
from tests.machinist.planted import PLANTED, Twist, written
from tests.machinist.workshop import make


@pytest.mark.parametrize("fault", PLANTED, ids=lambda fault: fault.name)
def test_the_fault_is_seen(fault: Fault, tmp_path: Path) -> None:
    """The words are altered as by a fault in the program: the part must not pass."""
    twist = Twist(fault)
    job = tmp_path / f"{fault.job}.toml"
    job.write_text(written(fault), "utf-8")
    made = make(job, fault.choices, twist)
    assert twist.done, "the words of this fault are no longer said: give it those of today"
    assert made.faults and fault.seen in " ".join(made.faults)
