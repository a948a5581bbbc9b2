"""Random heads and requests, small enough to be tried out by brute force."""

from __future__ import annotations

from fractions import Fraction
from math import lcm

from hypothesis import strategies as st

from solver import Handwheel, Head, Plate

ratios = st.sampled_from(
    [Fraction(n) for n in (4, 5, 36, 40, 60, 72, 90)] + [Fraction(81, 2), Fraction(121, 3)]
)
circles = st.sets(st.integers(2, 50), min_size=1, max_size=4)
plate_lists = st.lists(circles, max_size=3)
gear_lists = st.lists(st.integers(12, 40), max_size=7).map(lambda gears: tuple(sorted(gears)))
drives = st.sampled_from(["fixed", "pinned", "geared"])
divisions = st.integers(2, 400)


@st.composite
def heads(draw: st.DrawFn, drives: st.SearchStrategy[str] = drives, fewest_gears: int = 0) -> Head:
    plates = tuple(
        Plate(f"plate {n}", tuple(sorted(chosen))) for n, chosen in enumerate(draw(plate_lists))
    )
    direct = tuple(draw(st.sets(st.integers(2, 36), max_size=2)))
    dial = draw(st.sampled_from([None, Fraction(1), Fraction(5), Fraction(1, 2)]))
    ratio = draw(ratios)
    if dial is not None and (21600 / ratio) % dial:
        dial = None  # such a dial can't be made, and a head file with one is refused
    if not plates and not direct and dial is None:
        direct = (24,)
    return Head(
        name="random",
        describe="",
        worm_ratio=ratio,
        direct_circle=direct,
        plate_drive=draw(drives),
        change_gears=draw(gear_lists.filter(lambda gears: len(gears) >= fewest_gears)),
        idlers_for_with=draw(st.integers(0, 2)),
        plates=plates,
        handwheel=Handwheel(dial) if dial is not None else None,
    )


@st.composite
def divisions_for(draw: st.DrawFn, head: Head) -> int:
    """Often a division that two circles of one plate share out exactly."""
    rich = [plate.circles for plate in head.plates if len(plate.circles) > 1]
    if not rich:
        return draw(divisions)
    one, two = draw(st.permutations(draw(st.sampled_from(rich))))[:2]
    ratio = head.worm_ratio.numerator
    shares = [lcm(one, two) * part // whole for part in (1, ratio) for whole in (1, 2, 3, 5)]
    return draw(st.sampled_from([n for n in shares if n >= 2]))


geared_heads = heads(st.just("geared"), 3)
pinned_heads = heads(st.sampled_from(["pinned", "geared"]))

angles = st.fractions(min_value=Fraction(1, 5000), max_value=1, max_denominator=5000)

positions = st.sets(
    st.fractions(min_value=0, max_value=1, max_denominator=720).filter(lambda p: 0 < p < 1),
    min_size=1,
    max_size=12,
).map(sorted)
