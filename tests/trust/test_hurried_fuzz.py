"""The same targets as `tests.bench.fuzz`, a few thousand inputs each."""

from __future__ import annotations

import random
from itertools import islice

import pytest

from tests.trust.fuzz import TARGETS

INPUTS = {"journal reader": 300, "job reader": 500, "head reader": 1000}


@pytest.mark.parametrize("name", TARGETS)
def test_hostile_input_is_taken_or_refused(name: str) -> None:
    """Never anything else: some of each, and no other error."""
    outcomes = list(islice(TARGETS[name](random.Random(name)), INPUTS.get(name, 3000)))
    assert 0 < sum(outcomes) < len(outcomes)
