"""Several rings: the fewest plate changes, against every order and every choice there is."""

from __future__ import annotations

from itertools import permutations, product

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from assistant.files.places import head_file
from assistant.job.ring_setups import equals, fewest_changes
from solver import Setup, load_head, plan, plan_rings

HEADS = {
    name: load_head(head_file(name)) for name in ("three-plate-40", "two-sided-40", "rotary-90")
}


def changes(setups: tuple[Setup, ...], fitted: str | None) -> int:
    """Counted afresh: each time another plate than the one that is on has to be put on."""
    on, count = fitted, 0
    for setup in setups:
        if setup.plate and on and setup.plate != on:
            count += 1
        on = setup.plate or on
    return count


@settings(deadline=None, max_examples=40)
@given(
    head=st.sampled_from(sorted(HEADS)), rings=st.lists(st.integers(2, 60), min_size=1, max_size=4),
    fitted=st.sampled_from([None, "A", "B"]), free=st.booleans(),
)  # fmt: skip
def test_no_order_and_no_choice_has_fewer_changes(
    head: str, rings: list[int], fitted: str | None, free: bool
) -> None:
    """Brute force over all orders and all set-ups of equal quality finds nothing better."""
    fitted = fitted if fitted in [p.name for p in HEADS[head].plates] else None
    choices = [plan(HEADS[head], divisions=n, fitted=fitted) for n in rings]
    found = fewest_changes(choices, fitted, free)
    orders = permutations(range(len(rings))) if free else [tuple(range(len(rings)))]
    least = min(
        changes(ways, fitted)
        for order in orders
        for ways in product(*(equals(choices[n])[:12] for n in order))
    )
    assert changes(found.setups, fitted) <= least
    assert sum(found.changes) == changes(found.setups, fitted)
    assert sorted(found.order) == list(range(len(rings)))
    for n, setup in zip(found.order, found.setups, strict=True):
        assert setup in equals(choices[n])


@pytest.mark.parametrize("rings", [(100, 8), (21, 49, 27), (17, 21, 19), (100, 36, 49, 7)])
def test_in_the_given_order_as_the_solver_has_it(rings: tuple[int, ...]) -> None:
    """The solver's own ring plan changes plates as often."""
    head = HEADS["three-plate-40"]
    theirs = plan_rings(head, rings)
    ours = fewest_changes([plan(head, divisions=n) for n in rings], free=False)
    assert sum(ring.change for ring in theirs) == sum(ours.changes)


def test_a_better_order_is_taken_and_told() -> None:
    """17, 21, 19 divisions need plates A, B, A: two changes as given, one in a better order."""
    head = HEADS["three-plate-40"]
    choices = [plan(head, divisions=n) for n in (17, 21, 19)]
    assert sum(fewest_changes(choices, free=False).changes) == 2
    best = fewest_changes(choices)
    assert sum(best.changes) == 1
    assert best.order == (0, 2, 1)
