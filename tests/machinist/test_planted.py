"""Each planted fault is seen in the finished part, or stops the person who does what is said."""

from __future__ import annotations

import pytest

from tests.machinist.planted import PLANTED, Fault, Twist
from tests.machinist.workshop import JOBS, make


@pytest.mark.parametrize("fault", PLANTED, ids=lambda fault: fault.name)
def test_the_fault_is_seen(fault: Fault) -> None:
    """The words are altered as by a fault in the program: the part must not pass."""
    twist = Twist(fault)
    made = make(JOBS / f"{fault.job}.toml", fault.choices, twist)
    assert twist.done, "the words of this fault are no longer said: give it those of today"
    assert made.faults
