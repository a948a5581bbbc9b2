"""A splined shaft cut from the words of its set-up lists: the hub goes on.

Straight-sided splines are centred on the root (minor) diameter, ISO 14: the hub's bore must pass
over the root, and its grooves over the splines (the standard's name is from memory).
"""

from __future__ import annotations

import re
from fractions import Fraction
from math import cos, pi, sin

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from shapely.geometry import Polygon, box
from shapely.geometry.base import BaseGeometry
from shapely.ops import unary_union

from assistant.job.compiler import Stage, head_of, stages_of
from assistant.job.job_file import JobFaults, job_from_text
from assistant.job.programme import Programme
from tests.work.hand import Hand, turned
from tests.work.words import sizes

JOB = """title = "Shaft"
head = "three-plate-40"
[work]
kind = "splines"
splines = {n}
width = "{width} mm"
outside = "{outside} mm"
root = "{root} mm"
cutter_width = "{cutter} mm"
{more}
"""


def stages(n: int, width: str, outside: str, root: str, cutter: str, more: str) -> list[Stage]:
    job = job_from_text(
        JOB.format(n=n, width=width, outside=outside, root=root, cutter=cutter, more=more), "j.toml"
    )
    return list(stages_of(job, head_of(job)))


def disc(radius: float) -> Polygon:
    steps = 2880
    return Polygon([(radius * sin(2 * pi * k / steps), radius * cos(2 * pi * k / steps))
                    for k in range(steps)])  # fmt: skip


def places(programme: Programme) -> list[float]:
    return [float(place) for place in programme.positions[: programme.cuts]]


def cut_by_the_words(made: list[Stage], outside: float, width: float, cutter: float,
                     saw: float) -> BaseGeometry:  # fmt: skip
    """The section that is left of the bar when every stage's list was followed."""
    one, other, root = made
    hand = Hand(outside / 2, -cutter / 2, cutter / 2)
    hand.do(one.programme.checklist)
    taken = [turned(hand.slot(), place) for place in places(one.programme)]
    hand.do(other.programme.checklist)
    taken += [turned(hand.slot(), place) for place in places(other.programme)]
    taken += [turned(shape, place) for shape in [root_slot(root, outside, width, saw)]
              for place in places(root.programme)]  # fmt: skip
    return disc(outside / 2).difference(unary_union(taken))


def root_slot(root: Stage, outside: float, width: float, saw: float) -> Polygon:
    """The saw finds the axis from the flank of spline one, its depth from that spline's top."""
    words = " ".join(root.programme.checklist)
    assert words.index("touch the side of spline one") < words.index("Touch the top of spline one")
    across = re.search(r"Move across [^.]*, over the spline\.", words)
    depth = re.search(r"Depth: [^.]*\.", words)
    assert across and depth
    x = width / 2 + saw / 2 - float(sizes(across[0])[0])
    bottom = outside / 2 - float(sizes(depth[0])[0])
    form = re.search(r"Concave cutter of radius [^,]*", words)
    slot = box(x - saw / 2, 0 if form else bottom, x + saw / 2, outside)
    if form:
        (radius,) = sizes(form[0])
        return slot.difference(disc(float(radius)))
    return slot


def hub(n: int, width: float, outside: float, root: float, play: float) -> BaseGeometry:
    """The metal of the hub: outside its bore, but for its grooves."""
    groove = box(-width / 2 - play, 0, width / 2 + play, outside)
    grooves = unary_union([turned(groove, k / n) for k in range(n)])
    return disc(outside).difference(disc(root / 2 + play)).difference(grooves)


@pytest.mark.parametrize(
    ("n", "width", "outside", "root", "cutter", "more", "saw"),
    [
        (6, "6", "26", "21", "4", 'root_saw = "2 mm"', 2.0),
        (6, "6", "26", "23", "5", 'root_saw = "2 mm"', 2.0),
        (8, "6", "36", "32", "5", 'root_saw = "1 mm"', 1.0),
        (10, "4", "45", "36", "4", "", 4.0),
        (6, "6", "26", "21", "5", 'root_form = "4.8 mm"', 4.8),
        (2, "8", "30", "20", "8", 'root_saw = "2 mm"', 2.0),
    ],
)
def test_the_hub_goes_on(n: int, width: str, outside: str, root: str, cutter: str, more: str,
                         saw: float) -> None:  # fmt: skip
    """Nothing stands where the hub goes, and every spline has its whole width and height."""
    made = stages(n, width, outside, root, cutter, more)
    w, big, small = float(width), float(outside), float(root)
    left = cut_by_the_words(made, big, w, float(cutter), saw)
    # A figure is said to a hundredth; what is proud by the saw's own figures is told.
    stands = float(made[0].part.figures[-1].shown.split()[0])
    assert left.intersection(hub(n, w, big, small, stands + 0.012)).area < 1e-6
    splines = unary_union([turned(box(-w / 2 + 0.006, 0, w / 2 - 0.006, big), k / n)
                           for k in range(n)])  # fmt: skip
    wanted = unary_union([splines.intersection(disc(big / 2)), disc(small / 2 - 0.012)])
    assert wanted.intersection(disc(big / 2 - 0.01)).difference(left).area < 1e-3


@settings(deadline=None, max_examples=30)
@given(
    n=st.integers(3, 16), root=st.integers(60, 92), width=st.integers(10, 80),
    cutter=st.integers(10, 100), saw=st.integers(20, 100),
)  # fmt: skip
def test_any_shaft_that_is_not_refused_takes_its_hub(
    n: int, root: int, width: int, cutter: int, saw: int
) -> None:
    """Within the tenth of a millimetre that the root may stand proud."""
    small = Fraction(root * 40, 100)
    w = round(float(small) * sin(pi / n) * width / 100, 2)
    assume(w >= 0.5)
    wide = round(float(small) * sin(pi / n) * cutter / 100, 2)
    narrow = round(wide * saw / 100, 2)
    assume(narrow > 0.3)
    try:
        made = stages(n, str(w), "40", str(float(small)), str(wide), f'root_saw = "{narrow} mm"')
    except JobFaults:
        assume(False)
    left = cut_by_the_words(made, 40.0, w, wide, narrow)
    assert left.intersection(hub(n, w, 40.0, float(small), 0.115)).area < 1e-3


def test_the_cutter_named_is_refused_with_what_would_do() -> None:
    """A broad cutter alone leaves ridges: r / cos at half the angle between its two floors."""
    with pytest.raises(JobFaults, match='root_saw = "3 mm"'):
        stages(6, "6", "26", "21", "4", "")
    with pytest.raises(JobFaults, match="does not go in between the splines"):
        stages(6, "6", "26", "21", "8", 'root_saw = "7 mm"')


def test_the_width_is_put_right_towards_the_spline() -> None:
    """The table comes to the second side in the first direction, so that more of it is nearer."""
    made = stages(6, "6", "26", "21", "4", 'root_saw = "2 mm"')
    first, second = (" ".join(stage.programme.checklist) for stage in made[:2])
    assert "Move on across five millimetres, the same way" in first
    assert "one turn on, the first way again" in second
