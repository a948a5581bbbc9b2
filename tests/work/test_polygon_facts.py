"""Polygons against printed examples, geometry's own rules, and shapely."""

from __future__ import annotations

from fractions import Fraction
from math import cos, pi, sqrt

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from shapely.geometry import Polygon as Area
from shapely.ops import unary_union

from assistant.job.kinds import polygon
from assistant.job.kinds.polygon import Polygon
from assistant.job.part import Passes
from assistant.job.units import MM_PER_INCH
from tests.work.shops import answers, shop

INCH = float(MM_PER_INCH)


def made(sides: int, across: str, bar: str, **more: object) -> Polygon:
    return Polygon(sides, Fraction(across), Fraction(bar), **more)  # type: ignore[arg-type]


def test_across_corners_of_hexagon_and_square() -> None:
    """1.154701 d and 1.4142 d (an engineering reference page on hexagons and squares, eq. 1, 2)."""
    assert polygon.sharp_bar(6, Fraction(1)) == pytest.approx(1.154701, abs=5e-7)
    assert polygon.sharp_bar(4, Fraction(1)) == pytest.approx(1.4142, abs=5e-5)


def test_a_square_from_a_round_bar() -> None:
    """From .984 in bar: side .696, flat .144 deep (a workshop thread; it came out .695 x .697)."""
    side = polygon.largest_sharp(4, Fraction("0.984"))
    assert side == pytest.approx(0.696, abs=5e-4)
    work = Polygon(4, Fraction("0.696"), Fraction("0.984"))
    assert float(polygon.depth(work)) == pytest.approx(0.144, abs=5e-4)


def test_an_octagon() -> None:
    """Across flats 2.250: side .93198 (a mathematics answer; .46599 x 2, in full .931981)."""
    assert polygon.flat_width(made(8, "2.250", "3")) == pytest.approx(0.931981, abs=5e-7)


def test_a_hexagon_by_its_corners() -> None:
    """Across flats = corner radius x sqrt(3) (a mathematics answer)."""
    assert polygon.largest_sharp(6, Fraction(2)) == pytest.approx(sqrt(3))


@pytest.mark.parametrize(
    ("sides", "part"),
    [(3, 0.5), (4, 0.70711), (5, 0.80902), (6, 0.86603), (8, 0.92388)],
)
def test_flat_to_centre(sides: int, part: float) -> None:
    """D/2 cos(180/n) to the flat, D/2 (1 - cos(180/n)) deep (geometry; memory). With an odd
    number no flat is opposite: it is gauged from the flat to the far bar surface."""
    bar = Fraction(40)
    work = Polygon(sides, Fraction(polygon.largest_sharp(sides, bar)), bar)
    assert float(work.across_flats) / 2 == pytest.approx(20 * part, abs=2e-4)
    assert float(polygon.depth(work)) == pytest.approx(20 * (1 - part), abs=2e-4)
    if sides % 2:
        assert float(polygon.gauge(work)) == pytest.approx(20 * part + 20, abs=3e-4)
    else:
        assert polygon.gauge(work) == work.across_flats


@settings(deadline=None)
@given(sides=st.integers(3, 24), bar=st.fractions(10, 100), share=st.fractions("0.4", "0.99"))
def test_the_drawing_is_the_polygon(sides: int, bar: Fraction, share: Fraction) -> None:
    """Bar less cuts, by shapely: flats as far from the axis as wanted, corners as said."""
    work = Polygon(sides, bar * share, bar)
    assume(polygon.depth(work) > Fraction(1, 10))
    drawing = polygon.polygon_drawing(work)
    left = Area(drawing.shapes[0].points).difference(
        unary_union([Area(shape.points).buffer(0) for shape in drawing.shapes[1:]])
    )
    if left.geom_type == "MultiPolygon":  # slivers from arcs drawn as chords
        left = max(left.geoms, key=lambda piece: piece.area)
    near = left.exterior.distance(Area(drawing.shapes[0].points).centroid)
    assert near == pytest.approx(float(work.across_flats) / 2, rel=2e-3)
    far = max((x * x + y * y) ** 0.5 for x, y in left.exterior.coords)
    assert 2 * far == pytest.approx(polygon.across_corners(work), rel=5e-3)


@settings(deadline=None)
@given(sides=st.integers(2, 40), passes=st.integers(1, 4),
       order=st.sampled_from(["auto", "round"]))  # fmt: skip
def test_every_flat_is_cut_once(sides: int, passes: int, order: str) -> None:
    """Whatever the order, no flat is left out or cut twice, and the first is the first."""
    work = made(sides, "20", "22", order=order, passes=Passes(passes))
    flats = polygon.in_order(work)
    assert sorted(flats) == list(range(sides)) and flats[0] == 0
    if polygon.opposite_first(work):
        assert flats[1] == sides // 2


def test_depths_of_passes_reach_the_flat() -> None:
    """Roughing passes share what the finish leaves; the last one is the whole depth."""
    part = made(6, "19", "22", passes=Passes(3, Fraction("0.3"))).work_out(shop())
    depths = [each.depth for each in part.passes]
    assert depths == [Fraction("0.6"), Fraction("1.2"), Fraction("1.5")]


@settings(deadline=None)
@given(sides=st.integers(3, 15), bar=st.fractions(10, 60), share=st.fractions("0.5", "0.95"))
def test_a_measurement_leads_to_the_size(sides: int, bar: Fraction, share: Fraction) -> None:
    """Cut the depth that is left after any honest size, and the target comes out."""
    work = Polygon(sides, bar * share, bar, passes=Passes(2))
    part = work.work_out(shop())
    assume(not part.refusals)
    for each in part.measurements:
        size = each.expected + each.doubt / 3
        left = each.left(size, "mm").depth
        assert size - each.per_depth * left == each.target or left == 0


def test_too_small_a_bar_names_the_bar_and_the_size() -> None:
    """Refusals hold the number that would do."""
    (text,) = answers(made(6, "24", "26", corners="sharp").work_out(shop()))
    assert "27.713 mm or more" in text and "22.517 mm or less" in text
    assert 24 / cos(pi / 6) == pytest.approx(27.713, abs=5e-4)


def test_an_odd_polygon_is_gauged_to_what_is_really_opposite() -> None:
    """To the bar's skin while that stands, to the corner where the flats have taken it."""
    stands = made(5, "36", "40")
    assert polygon.gauge(stands) == 18 + 20
    taken = made(5, "30", "40")
    assert float(polygon.gauge(taken)) == pytest.approx(15 + 15 / cos(pi / 5), abs=1e-6)
    rough, finish = made(5, "36", "40", passes=Passes(2)).work_out(shop()).measurements
    assert rough.before == finish.before == 40
    # A corner that the first pass cut is as far off as its touch was: nothing is measured over it.
    (only,) = made(5, "30", "40", passes=Passes(2)).work_out(shop()).measurements
    assert only.before == 40
