"""Splines, clutches, ratchets, keyways and bolt circles against shapely, which knows no rule
of the trade: it only lays the cuts over the part that is wanted."""

from __future__ import annotations

import re
from dataclasses import replace
from fractions import Fraction
from itertools import combinations
from math import cos, hypot, pi, radians, sin

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from shapely import affinity, intersection
from shapely.geometry import Polygon, box
from shapely.ops import unary_union

from assistant.job.kinds import bolt_circle, clutch, keyways, ratchet, splines
from assistant.job.kinds.bolt_circle import BoltCircle
from assistant.job.kinds.clutch import Clutch
from assistant.job.kinds.keyways import Keyways
from assistant.job.kinds.ratchet import Ratchet
from assistant.job.kinds.splines import Splines
from assistant.job.part import Cutter
from tests.commands import ROOT
from tests.work.shops import shop


def turned(shape: Polygon, turns: float) -> Polygon:
    """Clockwise, as positions run."""
    return affinity.rotate(shape, -360 * turns, origin=(0, 0))


def round_bar(radius: float) -> Polygon:
    return Polygon([(radius * sin(a), radius * cos(a)) for a in
                    (2 * pi * n / 720 for n in range(720))])  # fmt: skip


# --- splines ----------------------------------------------------------------------------


def wanted_splines(work: Splines) -> Polygon:
    """The splines alone: bars as wide as a spline from the root's floor to the outside."""
    half = float(work.width) / 2
    one = box(-half, splines.floor(work), half, float(work.outside))
    all_round = [turned(one, n / work.splines) for n in range(work.splines)]
    return unary_union(all_round).intersection(round_bar(float(work.outside) / 2))


SPLINE_CASES = st.tuples(
    st.integers(3, 16), st.fractions("0.5", "0.95"), st.fractions("0.05", "0.9"),
    st.fractions("0.05", "1"),
)  # fmt: skip


@settings(deadline=None)
@given(SPLINE_CASES)
def test_a_cutter_within_the_widest_leaves_every_spline_whole(
    case: tuple[int, Fraction, Fraction, Fraction],
) -> None:
    """Cuts of an allowed cutter never touch a spline; a wider one would."""
    count, root, width, share = case
    work = Splines(count, Fraction(40) * root * width, Fraction(40), 40 * root, Fraction(1))
    widest = splines.widest_cutter(work)
    assume(widest > 0.5)
    cutter = min(widest, 30) * float(share)
    part = wanted_splines(work)
    # Where there is no limit any cutter does.
    cut = cutter_bar(work, cutter)
    assert shared(cut, part) < 1e-6 * part.area
    reach = hypot(float(work.width) / 2 + widest, splines.floor(work))
    if reach < 19.5:
        wide = cutter_bar(work, widest + 0.3)
        assert shared(wide, part) > 0


def cutter_bar(work: Splines, wide: float) -> Polygon:
    half = float(work.width) / 2
    return box(half, splines.floor(work), half + wide, float(work.outside))


def test_the_splined_shaft_comes_out() -> None:
    """Bar less all cuts of the drawing holds every spline, and each is as wide as wanted."""
    work = Splines(6, Fraction(6), Fraction(26), Fraction(21), Fraction(4), root_saw=Fraction(2))
    drawing = splines._draw(work, splines.root_places(work, shop().head))
    cuts = unary_union([Polygon(s.points).buffer(0) for s in drawing.shapes if s.cut is not None])
    left = round_bar(13).difference(cuts)
    across = left.intersection(box(-20, 11.5, 20, 11.6))
    spline = min(across.geoms, key=lambda piece: abs(piece.centroid.x))
    assert spline.bounds[2] - spline.bounds[0] == pytest.approx(6, abs=1e-6)
    assert hypot(3, splines.floor(work)) == pytest.approx(10.5)


# --- clutches ---------------------------------------------------------------------------


def wanted_teeth(work: Clutch) -> list[Polygon]:
    """The teeth: sectors of the ring that no space takes."""
    ring = round_bar(float(work.outside) / 2).difference(round_bar(float(work.bore) / 2))
    teeth = []
    for n in range(work.teeth):
        start, end = n / work.teeth + float(clutch.space_turn(work)), (n + 1) / work.teeth
        rim = [(99 * sin(2 * pi * t), 99 * cos(2 * pi * t)) for t in
               (start + (end - start) * k / 32 for k in range(33))]  # fmt: skip
        teeth.append(Polygon([(0, 0), *rim]).intersection(ring))
    return teeth


def clutch_cuts(work: Clutch) -> list[Polygon]:
    shapes = clutch._draw(work).shapes
    return [Polygon(s.points).buffer(0) for s in shapes if s.cut is not None]


def shared(one: Polygon, other: Polygon) -> float:
    """Area in common, computed on a fine grid: along shared edges GEOS is wrong without one."""
    return float(intersection(one, other, grid_size=1e-9).area)


def overlap(cuts: list[Polygon], teeth: list[Polygon]) -> float:
    return sum(shared(cut, tooth) for cut in cuts for tooth in teeth)


CLUTCHES = st.tuples(st.integers(3, 15), st.fractions("0.3", "0.9"), st.fractions("0.05", "1"))


@settings(deadline=None)
@given(CLUTCHES)
def test_no_pass_touches_a_tooth(case: tuple[int, Fraction, Fraction]) -> None:
    """Odd right through, even from one side: an allowed cutter leaves every tooth whole."""
    teeth, bore, share = case
    work = Clutch(teeth, Fraction(60), 60 * bore, Fraction(5), Fraction(1))
    wide = Fraction(clutch.widest_cutter(work)) * share
    assume(wide > Fraction(1, 2))
    work = Clutch(teeth, Fraction(60), 60 * bore, Fraction(5), wide)
    cuts, part = clutch_cuts(work), wanted_teeth(work)
    assert overlap(cuts, part) < 0.05
    if float(wide) > clutch.narrowest_cutter(work):
        ring = round_bar(30).difference(round_bar(float(work.bore) / 2))
        gone = unary_union([cut.buffer(0.01) for cut in cuts])
        kept = unary_union([tooth.buffer(0.05) for tooth in part])
        # Nothing is left but the teeth (arcs are drawn as chords).
        assert ring.difference(gone).difference(kept).area < 1e-3 * ring.area


def test_a_wider_cutter_would_hit_the_next_tooth() -> None:
    """Beyond the widest cutter there is an overlap: the limit is no guess."""
    for teeth in (5, 6, 9):
        work = Clutch(teeth, Fraction(60), Fraction(40), Fraction(5), Fraction(1))
        wide = Fraction(clutch.widest_cutter(work) * 1.05)
        over = Clutch(teeth, Fraction(60), Fraction(40), Fraction(5), wide)
        assert overlap(clutch_cuts(over), wanted_teeth(over)) > 0.1
        assert over.work_out(shop()).refusals[0].key == "cutter_width"


def test_clearance_widens_each_space() -> None:
    """The clearance is how much wider a space is than a tooth: each gains half of it (a space and
    a tooth make the pitch); the cuts reach its far side and no further, odd and even alike."""
    for teeth in (5, 6):
        wide, gap = Fraction("8.5"), Fraction(2, 360)
        plain = Clutch(teeth, Fraction(60), Fraction(35), Fraction(5), wide)
        eased = Clutch(teeth, Fraction(60), Fraction(35), Fraction(5), wide, gap)
        assert overlap(clutch_cuts(eased), wanted_teeth(eased)) < 0.05
        strip = pi * (30**2 - 17.5**2) * float(gap) / 2 * teeth
        taken = unary_union(clutch_cuts(eased)).buffer(1e-9)
        gained = sum(shared(taken, tooth) for tooth in wanted_teeth(plain))
        assert gained == pytest.approx(strip, rel=0.05)


def test_the_range_of_cutters_has_its_ends_the_right_way_round() -> None:
    """Between its ends no island stands; where no cutter clears a space, that is said instead."""
    for teeth, bore, gap in ((5, 35, 0), (5, 35, 12), (7, 20, 4), (4, 20, 0), (6, 44, 8)):
        work = Clutch(teeth, Fraction(60), Fraction(bore), Fraction(5), Fraction(1),
                      Fraction(gap, 360))  # fmt: skip
        least, most = clutch.narrowest_cutter(work), clutch.widest_cutter(work)
        shown = {f.name: f.shown for f in clutch._figures(work, (), shop())}["cutter"]
        assert ("island" in shown) == (least > most)
        if least > most:
            continue
        whole = round_bar(30).difference(round_bar(bore / 2))
        for wide, stands in ((least * 1.01, False), (least * 0.9, True)):
            now = replace(work, cutter_width=Fraction(wide))
            gone = unary_union([cut.buffer(0.01) for cut in clutch_cuts(now)])
            kept = unary_union([tooth.buffer(0.05) for tooth in wanted_teeth(now)])
            assert (whole.difference(gone).difference(kept).area > 0.05) == stands


def test_the_run_out_ends_at_the_far_corner() -> None:
    """A strip w wide leaves one wall of a bore of radius r and meets the other after
    2 sqrt(r^2 - w^2) (Pythagoras)."""
    work = Clutch(6, Fraction(60), Fraction(40), Fraction(4), Fraction("9.6"))
    room = 2 * (20**2 - 9.6**2) ** 0.5
    for over, kept in ((0.99, True), (1.01, False)):
        far = room * over  # sqrt(depth (D - depth))
        cutter = Cutter(diameter=Fraction(far**2 / 4 + 4))
        assert (not work.work_out(shop(cutter=cutter)).refusals) == kept


def test_the_page_says_what_lies_opposite_a_tooth() -> None:
    """Half a turn is teeth / 2 pitches: whole ones lead from a tooth to a tooth (geometry)."""
    page = " ".join((ROOT / "docs" / "work" / "clutch.md").read_text("utf-8").split())
    for teeth, name in ((5, "odd"), (6, "even")):
        lies = "tooth" if Fraction(teeth, 2).denominator == 1 else "space"
        assert re.search(rf"With an {name} number a {lies} lies opposite (each|a) tooth", page)


def test_odd_clutches_take_half_the_cuts_of_even_ones() -> None:
    """5 teeth: 5 passes; 6 teeth: 12 cuts in two settings (common practice)."""
    odd = Clutch(5, Fraction(60), Fraction(35), Fraction(5), Fraction(9)).work_out(shop())
    even = Clutch(6, Fraction(60), Fraction(35), Fraction(5), Fraction(8)).work_out(shop())
    assert (odd.cuts, len(odd.rounds)) == (5, 1)
    assert (even.cuts, len(even.rounds)) == (12, 2)


# --- ratchets ---------------------------------------------------------------------------


@settings(deadline=None)
@given(
    teeth=st.integers(6, 60), angle=st.sampled_from([45, 60, 70, 75, 85]),
    rake=st.integers(0, 15), share=st.fractions("0.2", "0.99"),
)  # fmt: skip
def test_ratchet_spaces_never_meet(teeth: int, angle: int, rake: int, share: Fraction) -> None:
    """Up to the deepest depth no two spaces overlap; just beyond it they do."""
    work = Ratchet(teeth, Fraction(100), Fraction(1), Fraction(angle), Fraction(rake))
    deepest = ratchet.deepest_at_rim(work)
    assume(deepest > 0.2)
    for depth, apart in ((deepest * float(share), True), (min(deepest * 1.1, 44), False)):
        now = Ratchet(teeth, Fraction(100), Fraction(depth), Fraction(angle), Fraction(rake))
        shape = Polygon(ratchet.cut_shape(now)).buffer(0)
        both = shared(shape, turned(shape, 1 / teeth))
        if apart:
            assert both < 1e-2
        elif deepest < 40:
            assert both > 0


def test_the_face_has_its_rake() -> None:
    """The face leans from the radius through the point by the rake, towards the tooth."""
    work = Ratchet(20, Fraction(80), Fraction(6), Fraction(60), Fraction(10))
    x, y = ratchet.tooth_point(work)
    assert hypot(x, y) == pytest.approx(40)
    along_radius = (-x, -y)  # from the point inwards
    face = (0.0, -1.0)
    cosine = (along_radius[0] * face[0] + along_radius[1] * face[1]) / 40
    assert cosine == pytest.approx(cos(radians(10)))
    assert x < 0  # the space lies at plus x, so the face is undercut


# --- keyways and bolt circles -----------------------------------------------------------


@settings(deadline=None)
@given(shaft=st.fractions(10, 100), width=st.fractions("0.1", "0.33"), side=st.fractions(1, 3))
def test_depth_from_the_side_is_measured_at_the_edge(
    shaft: Fraction, width: Fraction, side: Fraction
) -> None:
    """The wall of the slot is as tall as wanted, from its floor to where the round begins."""
    work = Keyways(3, shaft * width, shaft, side, "side")
    floor = float(shaft) / 2 - float(keyways.depth(work))
    edge = (float(shaft / 2) ** 2 - float(work.width / 2) ** 2) ** 0.5
    assert edge - floor == pytest.approx(float(side), abs=2e-6)


def test_a_readout_shows_the_same_at_every_hole() -> None:
    """The work is turned and the table stands still: every hole of the part, turned back by its
    own index, lies where the first one was drilled (geometry), and nothing else is said."""
    work = BoltCircle(8, Fraction(120), Fraction(9))
    part = work.work_out(shop())
    for (x, y), cut in zip(bolt_circle.co_ordinates(work), part.rounds[0].cuts, strict=True):
        back = -2 * pi * float(cut.at)
        there = (x * cos(back) - y * sin(back), x * sin(back) + y * cos(back))
        assert there == pytest.approx((60, 0), abs=1e-9)
    assert "a readout shows the same at every hole" in part.plan


@settings(deadline=None)
@given(holes=st.integers(2, 40), circle=st.fractions(20, 300), first=st.fractions(0, 1))
def test_co_ordinates_are_on_the_circle_and_equally_apart(
    holes: int, circle: Fraction, first: Fraction
) -> None:
    """Each pair of neighbours is one chord apart: a witness against the angles."""
    work = BoltCircle(holes, circle, Fraction(1), first)
    points = bolt_circle.co_ordinates(work)
    for (x, y), (u, v) in zip(points, (*points[1:], points[0]), strict=True):
        assert hypot(x - u, y - v) == pytest.approx(bolt_circle.chord(work), rel=1e-9)
        assert hypot(x, y) == pytest.approx(float(circle) / 2)
    assert points[0] == pytest.approx(
        (float(circle) / 2 * cos(2 * pi * first), float(circle) / 2 * sin(2 * pi * first)),
        abs=1e-9,
    )


@settings(deadline=None)
@given(hole=st.fractions(2, 30), circle=st.fractions(40, 200))
def test_the_most_holes_are_the_most(hole: Fraction, circle: Fraction) -> None:
    """That many don't touch, one more would."""
    most = bolt_circle.most_holes(BoltCircle(2, circle, hole))
    assume(most >= 2)
    assert bolt_circle.chord(BoltCircle(most, circle, hole)) > float(hole)
    assert bolt_circle.chord(BoltCircle(most + 1, circle, hole)) <= float(hole) * (1 + 1e-6)


def test_holes_drawn_apart() -> None:
    """Eight holes of 9 mm on 120: none touches another, all on the flange."""
    work = BoltCircle(8, Fraction(120), Fraction(9), blank=Fraction(150))
    shapes = bolt_circle.circle_drawing(work).shapes
    holes = [Polygon(s.points) for s in shapes if s.cut is not None]
    assert len(holes) == 8
    assert not any(a.intersects(b) for a, b in combinations(holes, 2))
