"""Where the pin is looked at from the marked hole: no two looks lie far apart."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise

import pytest

from assistant.engine import marked_hole
from assistant.engine.marked_hole import LONGEST, NEAR, look_is_due
from assistant.job.programme import Programme
from tests.engine.jobs import programme
from tests.trust.study import job


def looked_at(made: Programme) -> dict[int, int]:
    """Each place with a look, and the holes from the mark there, counted round the circle."""
    circle = made.moves[0].circle
    assert circle
    found, hole = {}, 0
    for place, move in enumerate(made.moves[:-1], 1):
        hole = (hole + move.holes) % circle
        past = hole if 2 * hole <= circle else hole - circle
        if look_is_due(made, place, past):
            found[place] = past
    return found


JOBS = [job("pinion"), job("count-wheel"), programme(9), programme(60)]


@pytest.mark.parametrize("made", JOBS, ids=lambda made: f"{made.title} {made.cuts}")
def test_so_many_cuts_lie_between_two_looks_at_the_most(made: Programme) -> None:
    places = [0, *looked_at(made), made.cuts]
    assert max(b - a for a, b in pairwise(places)) <= LONGEST + 1


def test_where_the_mark_is_near_it_is_always_looked_at() -> None:
    """Nineteen holes on twenty-one are two back at each cut: near at four of its twenty moves."""
    found = looked_at(job("pinion"))
    assert {place for place, past in found.items() if abs(past) <= NEAR} == {1, 10, 11, 20}


def test_holes_are_counted_only_where_the_next_is_not_near(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(marked_hole, "LONGEST", 1)
    assert set(range(1, 21)) - set(looked_at(job("pinion"))) == {9, 19}


def test_who_answers_aloud_hears_the_mark_at_every_cut() -> None:
    made = job("pinion")
    aloud = replace(made, answers=replace(made.answers, lock_and_guard="voice"))
    assert set(looked_at(aloud)) == set(range(1, 21)) > set(looked_at(made))
