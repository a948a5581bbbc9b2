"""Flutes: the old books' rules, and uneven spaces that set no two edges opposite."""

from __future__ import annotations

import re
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
    step = flutes.spindle_grid(here.head)
    assert all((place / step).denominator == 1 for place in places)
    assert max(spaces) - min(spaces) <= Fraction(spread, 360) + 3 * step
    assert max(spaces) > min(spaces)


def test_the_reamer_is_indexed_exactly() -> None:
    """The uneven angles are ones that the head reaches without error."""
    part = Flutes("reamer", 8, Fraction(30), Fraction(3), lands="unequal").work_out(shop())
    places = [cut.at for cut in part.rounds[0].cuts]
    assert plan(shop().head, positions=places)[0].exact


def _advice(**more: Fraction) -> tuple[Flutes, str]:
    work = Flutes("reamer", **{"flutes": 4, "diameter": Fraction("18.7"), "depth": Fraction(2),
                               "angle_degrees": Fraction(0), **more})  # type: ignore[arg-type]  # fmt: skip
    return work, " ".join(answers(work.work_out(shop())))


@settings(deadline=None, max_examples=40, derandomize=True)
@given(
    flutes=st.integers(3, 8), depth=st.integers(8, 25), rake=st.sampled_from([0, 5, 10]),
    angle=st.sampled_from([0, 50, 60, 70]),
)  # fmt: skip
def test_an_advised_cutter_does_what_is_promised(
    flutes: int, depth: int, rake: int, angle: int
) -> None:
    """Whoever takes the cutter that is advised is told of no unequal lands any more; and no cutter
    is advised that is there already (what advice is)."""
    given = {
        "flutes": flutes, "depth": Fraction(depth, 10),
        "rake_degrees": Fraction(rake), "angle_degrees": Fraction(angle),
    }  # fmt: skip
    _, told = _advice(**given)  # type: ignore[arg-type]
    advised = re.search(r'cutter_angle = "(\d+)d"', told)
    if advised:
        assert int(advised[1]) != angle
        _, then = _advice(**{**given, "angle_degrees": Fraction(advised[1])})  # type: ignore[arg-type]
        assert "lands" not in then


def test_no_cutter_is_advised_where_none_evens_the_lands() -> None:
    """The mouth of a flute of four would have to change more than any angle makes it."""
    _, told = _advice(angle_degrees=Fraction(70), spread=Fraction(20, 360))
    assert "lands" in told and "cutter_angle" not in told and 'lands = "unequal"' in told
    _, told = _advice(flutes=6, diameter=Fraction(32), depth=Fraction(4))  # type: ignore[arg-type]
    assert "cutter_angle" in told


def test_a_hook_that_the_depth_runs_past_is_refused() -> None:
    """A face at R sin(rake) from the axis comes no nearer to it than that (geometry)."""
    work, _ = _advice(rake_degrees=Fraction(30), depth=Fraction(6), angle_degrees=Fraction(70))
    part = work.work_out(shop())
    assert [found.key for found in part.refusals] == ["rake"]
