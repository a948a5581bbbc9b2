"""Flutes: the old books' rules, and uneven spaces that set no two edges opposite."""

from __future__ import annotations

from fractions import Fraction
from itertools import accumulate

from hypothesis import given, settings
from hypothesis import strategies as st

from assistant.job.kinds import flutes
from assistant.job.kinds.flutes import Flutes
from assistant.job.units import MM_PER_INCH
from solver import plan
from tests.work.shops import answers, shop


def test_stock_taps_have_four_flutes() -> None:
    """Taps up to 2 1/2 in: 4 flutes; 6 holes of the 24-hole plate, 10 crank turns at 40 to 1
    (Shop Practice vol. 1, Milling Flutes)."""
    part = Flutes("tap", 4, Fraction(5, 2) * MM_PER_INCH, Fraction(8)).work_out(shop())
    assert not answers(part)
    assert [cut.at for cut in part.rounds[0].cuts] == [Fraction(n, 4) for n in range(4)]
    setups = plan(shop().head, divisions=4)
    direct = next(setup for setup in setups if setup.method == "direct")
    crank = next(setup for setup in setups if setup.method == "plain")
    assert (direct.moves[0].direct_holes, direct.moves[0].direct_circle) == (6, 24)
    assert (crank.moves[0].turns, crank.moves[0].holes) == (10, 0)


def test_another_number_is_questioned_not_refused() -> None:
    """Spiral-fluted small taps often have 3 (the same book): so 3 is only asked about."""
    part = Flutes("tap", 3, Fraction(12), Fraction(2)).work_out(shop())
    assert not part.refusals
    assert any("four by custom" in text for text in answers(part))


def test_land_of_a_hand_tap() -> None:
    """A quarter of the diameter, with a convex half-round cutter (the same, Forms of Flutes).

    The stored page garbles the list of cutters below it: no list is taken from there.
    """
    assert flutes.tap_land(Fraction(20)) == 5


@settings(deadline=None)
@given(
    count=st.sampled_from([2, 4, 6, 8, 10, 12]), spread=st.integers(1, 8),
    head=st.sampled_from(
        ["three-plate-40", "two-sided-40", "rotary-90", "rotary-60-handwheel"]
    ),
)  # fmt: skip
def test_no_two_edges_of_a_reamer_pair(count: int, spread: int, head: str) -> None:
    """Even numbers unevenly spaced, no edge straight opposite another (J. Rose, fig. 1085-1086);
    the spaces come to one turn exactly, on holes that the head has."""
    here = shop(head)
    work = Flutes("reamer", count, Fraction(30), Fraction(3), spread=Fraction(spread, 360))
    spaces = flutes.spaces_of(work, here.head)
    assert sum(spaces) == 1 and len(spaces) == count
    places = [Fraction(0), *accumulate(spaces)][:-1]
    halves = {(place + Fraction(1, 2)) % 1 for place in places}
    assert not halves & set(places)
    step = flutes.grid(here.head)
    assert all((place / step).denominator == 1 for place in places)
    assert max(spaces) - min(spaces) <= Fraction(spread, 360) + 3 * step
    assert max(spaces) > min(spaces)


def test_the_reamer_is_indexed_exactly() -> None:
    """The uneven angles are ones that the head reaches without error."""
    part = Flutes("reamer", 8, Fraction(30), Fraction(3)).work_out(shop())
    places = [cut.at for cut in part.rounds[0].cuts]
    assert plan(shop().head, positions=places)[0].exact
