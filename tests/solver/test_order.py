"""The order of set-ups, class by class: what a practised person would put first.

The classes are the trade's own (common practice): two counts a cut are two chances to slip, a
plate that comes back leaves slack, a train that steps up is stiff.
"""

from __future__ import annotations

import re
import tomllib
from fractions import Fraction
from functools import cache
from itertools import pairwise
from math import prod
from pathlib import Path

import pytest

from solver import Refused, Setup, plan, tolerance_from_text
from solver.cost import costs_from_file, usual_costs
from solver.differential import every_setup
from solver.request import divisions_request
from tests.solver.heads import head, shipped
from tests.trust.rates import Rates

GEARED = shipped("three-plate-40-geared")
PINNED = shipped("two-sided-40")
PLAIN = shipped("three-plate-40")
TABLE = Path("config/order.toml")


@cache
def firsts(name: str, tolerance: str = "0") -> dict[int, Setup]:
    allowed = tolerance_from_text(tolerance)
    on = shipped(name)
    return {n: plan(on, divisions=n, most=1, tolerance=allowed)[0] for n in range(2, 401)}


def ratio(setup: Setup) -> Fraction:
    """How far the gears step up: turns of the plate for one of the spindle."""
    gearing = setup.gearing
    return Fraction(prod(gearing.drivers), prod(gearing.driven)) if gearing else Fraction(0)


def goes_back(setup: Setup) -> bool:
    return any(move.plate_holes < 0 for move in setup.moves)


def counted(setup: Setup) -> int:
    return sum(m.times * (m.holes + abs(m.plate_holes)) for m in setup.moves)


@cache
def trains(n: int) -> tuple[tuple[int, Fraction], ...]:
    """Gears and step-up of every train on every circle, from the search that leaves none out."""
    found = every_setup(GEARED, divisions_request(n))
    gears = {c.gearing for c in found if c.gearing and not c.fouls}
    return tuple(
        (2 * len(each.drivers), Fraction(prod(each.drivers), prod(each.driven))) for each in gears
    )


@pytest.mark.parametrize("tolerance", ["0", "30"])
def test_no_two_counts_where_a_simple_train_is_there(tolerance: str) -> None:
    """Machinists take a differential by a simple train before two circles (common practice)."""
    for n, setup in firsts("three-plate-40-geared", tolerance).items():
        if any(gears == 2 for gears, _ in trains(n)):
            assert not any(move.plate_circle for move in setup.moves), n


def test_the_order_is_the_reckoning() -> None:
    """Exact ways stand by their cost, to a quarter of a minute; none is dearer than the next."""
    for on in (GEARED, PINNED, PLAIN, shipped("rotary-90")):
        for n in (2, 24, 51, 69, 96, 127, 250, 361):
            costs = [s.reckoning.cost for s in plan(on, divisions=n) if s.exact and s.reckoning]
            assert all(b >= a - Fraction(1, 4) for a, b in pairwise(costs))


def test_no_plate_that_comes_back_where_forward_counts_no_more() -> None:
    """Of two-circle ways that count as few holes, one that only goes forward leads."""
    tried = 0
    for n in range(51, 401):
        ways = [s for s in plan(PINNED, divisions=n) if s.method == "compound"]
        if ways and goes_back(ways[0]):
            forward = [s for s in ways if not goes_back(s) and counted(s) <= counted(ways[0])]
            assert not forward, n
        tried += bool(ways)
    assert tried > 50


def test_no_step_up_over_two_where_a_lower_train_of_as_few_gears_is() -> None:
    """119 divisions by 25 to 7 is stiff in the hand; 1 to 3 is there as well."""
    for n, setup in firsts("three-plate-40-geared").items():
        if setup.gearing and setup.every == 1 and ratio(setup) > 2:
            gears = 2 * len(setup.gearing.drivers)
            assert min(up for many, up in trains(n) if many <= gears) > 2, n
    assert ratio(firsts("three-plate-40-geared")[119]) < 1


def test_a_simple_train_before_a_compound_one_that_steps_no_less() -> None:
    """Two gears before four, unless the two step up by more than two to one."""
    for n, setup in firsts("three-plate-40-geared").items():
        if setup.gearing and setup.every == 1 and len(setup.gearing.drivers) == 2:
            assert all(up > 2 for gears, up in trains(n) if gears == 2), n


def test_two_circles_are_changed_over_where_that_is_lighter() -> None:
    """67 on 47 and 49: neither way round of the chosen pair has less to count and take up."""
    for n in (67, 83, 97, 127, 268):
        best = plan(PINNED, divisions=n, most=1)[0]
        crank, back = best.circle, next(m.plate_circle for m in best.moves if m.plate_circle)
        other = _the_other_way(n, int(back), int(crank or 0))
        assert best.reckoning
        assert best.reckoning.cost <= other + Fraction(1, 4), n


def _the_other_way(n: int, crank: int, back: int) -> Fraction:
    from solver.cost import reckoning
    from solver.nearest import nearest_two

    found = next(
        c
        for c in nearest_two(PINNED, divisions_request(n))
        if (c.circle, c.plate_circle) == (crank, back)
    )
    return reckoning(found, usual_costs(), None, True).cost


def test_exact_leads_within_the_tolerance_where_it_costs_no_more() -> None:
    """127 to 30 arc-seconds: the simple train of the handbooks leads two circles."""
    first = firsts("three-plate-40-geared", "30")[127]
    assert (first.exact, first.gearing.drivers if first.gearing else ()) == (True, (56,))


@pytest.mark.parametrize("n", [5, 10, 20, 40])
def test_whole_turns_keep_the_plate_that_is_on(n: int) -> None:
    """Any plate will do: the one on the head is named, and the record says so."""
    for plate in "ABC":
        first = next(s for s in plan(PLAIN, divisions=n, fitted=plate) if s.method == "plain")
        assert (first.plate, first.any_plate) == (plate, True)
        assert first.to_record()["any_plate"] is True
    assert not plan(PLAIN, divisions=21)[0].any_plate


def test_a_plate_change_may_cost_more_than_a_second_count() -> None:
    """One angle, with the other plate on: two circles of it before four minutes of screws."""
    on = head(40, ((15, 16), (240,)), drive="pinned")
    asked = {"angle": Fraction(11, 9600), "fitted": "plate 1"}  # 11/240 of a turn of the crank
    ways = plan(on, **asked)
    assert ways[0].method == "compound"
    plain = next(s for s in ways if s.method == "plain")
    assert re.search(r"[\d.]+ minutes more, plate plate 2 would have to be put on", plain.why)
    assert plan(on, **asked, most=1)[0] == ways[0]


def test_slips_are_those_of_the_virtual_bench() -> None:
    """The table's chances and the bench's rates are one figure each."""
    table = tomllib.loads(TABLE.read_text("utf-8"))["slip"]
    rates = Rates()
    for figure, rate in (
        ("miscounted_turn", rates.miscount_turn),
        ("missed_hole", rates.miss_hole_with_arms),
        ("counted_wrong", rates.miss_hole_counted),
        ("misread_dial", rates.misread),
        ("slack_forgotten", rates.omit_alone),
        ("wrong_train", rates.omit_alone),
    ):
        assert table[figure][0] == rate, figure


def test_every_figure_has_its_source() -> None:
    """Each is a number with "judged" or "bench" and why beside it."""
    table = tomllib.loads(TABLE.read_text("utf-8"))
    for section in ("set_up", "move", "slip", "blank"):
        for name, (value, source) in table[section].items():
            assert value > 0, name
            assert source.split(":")[0] in ("judged", "bench"), name


def test_what_a_person_prefers_changes_the_order() -> None:
    """A method by its name comes first; a figure changes what everything is reckoned at."""
    assert plan(GEARED, divisions=51)[0].method == "differential"
    assert plan(GEARED, divisions=51, prefer=["compound"])[0].method == "compound"
    assert plan(GEARED, divisions=51, prefer=["compound"], most=1)[0].why.endswith("you prefer it")
    cheap = plan(GEARED, divisions=51, prefer=["blank=0", "two_gears=60", "four_gears=60"])
    assert cheap[0].method == "compound"
    dear = plan(GEARED, divisions=51, prefer=["blank=240"])[0]
    assert dear.reckoning
    assert dear.reckoning.blank == 240
    # A plain way is not taken for granted where the figures are one's own.
    odd = plan(GEARED, divisions=21, prefer=["arms=1000", "two_gears=0.1"], most=1)[0]
    assert odd == plan(GEARED, divisions=21, prefer=["arms=1000", "two_gears=0.1"])[0]


@pytest.mark.parametrize(
    ("prefer", "says"),
    [
        ("gears", "write a method"),
        ("patience=3", "no figure of the order"),
        ("blank=-1", "no number"),
        ("missed_hole=2", "a chance, from 0 to 1"),
        ("blank=", "no number"),
    ],
)
def test_a_preference_that_makes_no_sense_is_refused(prefer: str, says: str) -> None:
    """One line with the cure."""
    with pytest.raises(Refused, match=says):
        plan(GEARED, divisions=51, prefer=[prefer])


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("", "KeyError 'set_up'"),
        ("[set_up", "Error"),
        (TABLE.read_text("utf-8").replace("worm_out = [1,", "worm_out = [-1,"), "worm_out -1"),
        (TABLE.read_text("utf-8").replace('arms = [1.5, "', 'arms = ["'), "arms judged"),
    ],
)
def test_a_faulty_table_is_refused(tmp_path: Path, text: str, says: str) -> None:
    """The file, what is wrong, and the cure, in one line."""
    file = tmp_path / "order.toml"
    file.write_text(text, "utf-8")
    with pytest.raises(Refused) as refused:
        costs_from_file(str(file))
    assert says in str(refused.value)
    assert "give a table like config/order.toml" in str(refused.value)


def test_the_reckoning_adds_up() -> None:
    """51 by 40 into 32's simple train, added by hand from the table's figures."""
    first = plan(GEARED, divisions=51)[0]
    assert first.gearing
    assert first.reckoning
    idlers = first.gearing.idlers
    move = first.moves[0]
    once = 2 + 10 + 1.5 + 1.5 * idlers
    moves = 51 * (2 + move.turns + move.holes / (move.circle or 1) + 1.5) / 60
    slips = 51 * 0.001 * 0.19 + 0.003 + (51 * 0.003 * 0.008 if move.turns else 0)
    assert ratio(first) <= 1
    assert float(first.reckoning.minutes) == pytest.approx(once + moves, abs=0.01)
    assert float(first.reckoning.slips) == pytest.approx(slips, rel=1e-6)
