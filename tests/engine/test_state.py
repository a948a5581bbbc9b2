"""A state read back is the one written or is refused; only the last pass leaves stock to cut."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import pytest

from assistant.phases import Step
from assistant.state import State, left_to_cut
from tests.engine.jobs import MEASURED, programme


@pytest.mark.parametrize(
    ("field", "value"),
    [("pace", 7), ("lost", 7), ("no_such_field", 1), ("step", None)],
)
def test_a_record_that_is_no_state_is_refused(field: str, value: object) -> None:
    """A journal that was written on by something else never ends in a traceback."""
    record = {**State().to_record(), field: value}
    with pytest.raises(ValueError):
        State.from_record(record)


def test_a_record_without_its_step_is_refused() -> None:
    record = State().to_record()
    del record["step"]
    with pytest.raises(ValueError, match="does not fit"):
        State.from_record(record)


def test_only_the_last_pass_leaves_stock_to_cut_again() -> None:
    """In an earlier pass the next one takes off what is left: cutting again would be too deep."""
    job = programme(6, passes=2, **MEASURED)
    first = State(step=Step.READ_BACK, done=2, settled=1, place=1, size="19")
    assert left_to_cut(job, first) == 0
    assert left_to_cut(job, replace(first, pass_number=2)) == Fraction(1, 2)
    assert left_to_cut(job, replace(first, pass_number=2, size="")) == 0
