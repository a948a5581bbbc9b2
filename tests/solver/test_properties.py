"""For any head and request: nothing exact is missed, every claim is true, the order is stable."""

from __future__ import annotations

import json
from fractions import Fraction
from itertools import pairwise

from hypothesis import given, settings
from hypothesis import strategies as st

from solver import Head, Setup, each_position, error_statement, plan, positions
from solver.compound import compound
from solver.differential import MOST_SPACES, every_setup
from solver.request import divisions_request
from tests.lanes import length
from tests.solver import brute_force
from tests.solver.strategies import (
    angles,
    divisions,
    divisions_for,
    geared_heads,
    heads,
    pinned_heads,
)
from tests.solver.strategies import positions as position_lists


def visited(head: Head, setup: Setup) -> list[Fraction]:
    return list(positions(head, setup))


@given(heads(), divisions)
def test_simple_ways_are_all_found(head: Head, n: int) -> None:
    """Direct and plain set-ups are exactly those that trying every hole finds."""
    setups = plan(head, divisions=n)
    direct = {
        (s.circle, s.moves[0].direct_holes) for s in setups if s.method == "direct" and s.circle
    }
    assert direct == brute_force.direct(head, Fraction(1, n))
    plain = {
        (s.plate, s.circle, s.moves[0].turns, s.moves[0].holes)
        for s in setups
        if s.method == "plain" and s.plate and s.every == 1
    }
    tried = brute_force.plain(head, Fraction(1, n))
    if any(holes for *_, holes in tried):
        assert plain == tried
    else:  # whole turns: any hole of a plate is as good as any other, so one is named
        assert {name for name, *_ in plain} == {name for name, *_ in tried}
        assert plain <= tried


@given(pinned_heads, st.data())
def test_two_circles_are_all_found(head: Head, data: st.DataObject) -> None:
    """Pairs are those of brute force, less those where one circle alone would do."""
    n = data.draw(divisions_for(head))
    found = {
        (c.plate, c.circle, c.plate_circle)
        for c in compound(head, divisions_request(n))
        if c.every == 1
    }
    alone = {(name, circle) for name, circle, *_ in brute_force.plain(head, Fraction(1, n))}
    tried = {
        (name, crank, other)
        for name, crank, other in brute_force.compound(head, Fraction(1, n))
        if (name, crank) not in alone and (name, other) not in alone
    }
    assert found == tried


@given(geared_heads, divisions, st.integers(1, 5))
def test_every_train_is_found(head: Head, n: int, every: int) -> None:
    """Geared set-ups are those that trying every gear on every shaft finds."""
    found = set()
    for c in every_setup(head, divisions_request(n), every):
        assert c.gearing is not None
        move = c.moves()[0]
        drivers, driven = sorted(c.gearing.drivers), sorted(c.gearing.driven)
        found.add(
            (
                c.plate,
                c.circle,
                move.turns,
                move.holes,
                tuple(drivers),
                tuple(driven),
                c.gearing.plate,
            )
        )
    tried = {
        way
        for way in brute_force.differential(head, Fraction(every, n))
        if len(way[4]) * 2 + _idlers(head, len(way[4]), way[6]) <= len(head.change_gears)
    }
    assert found == tried


def _idlers(head: Head, pairs: int, way: str) -> int:
    """The fewest idlers, at least one between two single gears unless none is the head's rule."""
    shafts_with = head.idlers_for_with
    choices = [i for i in range(3) if ((i + pairs - 1) % 2 == shafts_with % 2) == (way == "with")]
    if pairs == 1 and way == "with":
        return shafts_with
    return choices[0] if pairs == 2 or shafts_with != 1 else 2


@settings(max_examples=length(60, 1000))
@given(heads(), st.data())
def test_nothing_exact_is_missed(head: Head, data: st.DataObject) -> None:
    """The first set-up is exact whenever brute force finds any exact way at all."""
    n = data.draw(divisions_for(head))
    spares = len(head.change_gears)
    enough = head._replace(change_gears=head.change_gears if spares >= 6 else ())
    first = plan(enough, divisions=n)[0]
    assert first.exact == brute_force.any_exact(enough, n, MOST_SPACES)


@given(heads(), divisions)
def test_every_claim_is_true(head: Head, n: int) -> None:
    """Positions recomputed from the moves are off by what the set-up says, no more, no less."""
    for setup in plan(head, divisions=n):
        places = visited(head, setup)
        assert len(places) == n
        off = [abs(p - Fraction(k * setup.every, n)) for k, p in enumerate(places, start=1)]
        assert max(off) == setup.worst_error
        assert setup.exact == (setup.worst_error == 0)
        if setup.exact:
            assert {p % 1 for p in places} == {Fraction(k, n) for k in range(n)}


@given(heads(), divisions)
def test_nearest_is_the_nearest(head: Head, n: int) -> None:
    """Where nothing is exact, the first set-up has the least error that rounding can have."""
    first = plan(head, divisions=n)[0]
    if first.method != "nearest" or not head.plates:
        return
    targets = [Fraction(k, n) for k in range(1, n + 1)]
    errors = {
        key: brute_force.rounding_error(targets, grid)
        for key, grid in brute_force.grids(head).items()
    }
    if head.handwheel:
        dial = 21600 / head.handwheel.division_minutes
        errors["dial", ()] = brute_force.rounding_error(targets, dial)
    assert first.worst_error == min(error for error in errors.values() if error)


@given(heads(), position_lists)
def test_listed_angles(head: Head, wanted: list[Fraction]) -> None:
    """Any rising list is visited in order and closed, each position as near as claimed."""
    for setup in plan(head, positions=wanted):
        places = visited(head, setup)
        assert len(places) == len(wanted) + 1
        off = [abs(p - w) for p, w in zip(places, [*wanted, Fraction(1)], strict=True)]
        assert max(off) == setup.worst_error


@given(heads(), position_lists)
def test_listed_angles_have_the_least_error_of_any_one_circle(
    head: Head, wanted: list[Fraction]
) -> None:
    """No circle, and no pair of circles, comes nearer to the list than the first set-up."""
    first = plan(head, positions=wanted)[0]
    for grid in brute_force.grids(head).values():
        assert first.worst_error <= brute_force.rounding_error([*wanted, Fraction(1)], grid)


@given(heads(), angles)
def test_one_angle(head: Head, angle: Fraction) -> None:
    """An angle is one move, as near as claimed, and no circle or pair is nearer."""
    for setup in plan(head, angle=angle):
        (place,) = visited(head, setup)
        assert abs(place - angle) == setup.worst_error
    best = plan(head, angle=angle)[0].worst_error
    for grid in brute_force.grids(head).values():
        assert best <= brute_force.rounding_error([angle], grid)


@given(heads(), divisions, st.randoms())
def test_ranking_is_stable(head: Head, n: int, chance: object) -> None:
    """The order of plates and gears in the file changes nothing but names that tie."""
    plates, gears = list(head.plates), list(head.change_gears)
    chance.shuffle(plates)  # type: ignore[attr-defined]
    chance.shuffle(gears)  # type: ignore[attr-defined]
    shuffled = head._replace(plates=tuple(plates), change_gears=tuple(gears))
    ranks = [_rank(s) for s in plan(head, divisions=n)]
    assert ranks == [_rank(s) for s in plan(shuffled, divisions=n)]
    assert plan(head, divisions=n) == plan(head, divisions=n)


def _rank(setup: Setup) -> tuple[object, ...]:
    trains = (setup.gearing.drivers, setup.gearing.driven) if setup.gearing else None
    return (setup.method, setup.exact, setup.circle, setup.worst_error, trains)


@given(heads(), divisions)
def test_exact_comes_first_then_the_error(head: Head, n: int) -> None:
    """Exact before inexact: those by cost, to a quarter of a minute; the others by error."""
    setups = plan(head, divisions=n)
    assert [s.exact for s in setups] == sorted((s.exact for s in setups), reverse=True)
    costs = [s.reckoning.cost for s in setups if s.exact and s.reckoning]
    assert all(b > a - Fraction(1, 4) for a, b in pairwise(costs))
    errors = [s.worst_error for s in setups if not s.exact]
    assert errors == sorted(errors)


@given(heads(), divisions, st.integers(1, 4))
def test_fewer_are_the_first_of_all(head: Head, n: int, most: int) -> None:
    """Asking for a few gives the same first ones as asking for all."""
    assert plan(head, divisions=n, most=most) == plan(head, divisions=n)[:most]


@given(heads(), divisions)
def test_records_bring_everything_back(head: Head, n: int) -> None:
    """A set-up written as JSON and read again is the same set-up."""
    for setup in plan(head, divisions=n, most=4):
        assert Setup.from_record(json.loads(json.dumps(setup.to_record()))) == setup


@given(heads(), position_lists)
def test_error_statement_holds_position_by_position(head: Head, wanted: list[Fraction]) -> None:
    """The worst of the statement is the worst of the positions, and so is the worst space."""
    setup = plan(head, positions=wanted)[0]
    errors = [p.error for p in each_position(head, setup, positions=wanted)]
    statement = error_statement(head, setup, positions=wanted)
    assert statement.worst == max(map(abs, errors))
    spaces = [b - a for a, b in zip([Fraction(0), *errors], errors, strict=False)]
    assert statement.adjacent == max(map(abs, spaces))
    assert sum(spaces) == errors[-1]
