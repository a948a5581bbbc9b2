"""Parts of the solver against general libraries of mathematics: sympy and mpmath."""

from __future__ import annotations

from fractions import Fraction
from math import prod

import mpmath
import sympy
from hypothesis import given
from hypothesis import strategies as st
from sympy.ntheory.modular import crt

from solver import plan
from solver.nearest import two_circles, worst
from solver.plain import spaces_at_once
from solver.request import divisions_request, positions_request
from solver.trains import trains_by_ratio
from tests.solver.heads import geared, head
from tests.solver.published import TWELVE_GEARS


@given(st.integers(2, 60), st.integers(2, 60), st.integers(0, 20_000))
def test_two_circles_solve_the_congruence(crank: int, plate: int, steps: int) -> None:
    """Holes on two circles add up to the wanted step, as sympy's remainder theorem has them."""
    both = int(sympy.ilcm(crank, plate))
    turns, holes, plate_holes = two_circles(steps, crank, plate, both)
    assert turns >= 0 and 0 <= holes < crank and abs(plate_holes) < plate
    whole = turns + sympy.Rational(holes, crank) + sympy.Rational(plate_holes, plate)
    assert whole == sympy.Rational(steps, both)
    a_step, b_step = both // crank, both // plate
    if a_step > 1 and b_step > 1:
        residue, modulus = crt([a_step, b_step], [steps % a_step, 0])
        assert (plate_holes * b_step - int(residue)) % a_step == 0
        assert int(modulus) == a_step * b_step


@given(st.integers(2, 3000), st.integers(1, 60), st.integers(2, 60))
def test_worst_rounding_by_mpmath(divisions: int, ratio: int, circle: int) -> None:
    """The closed form of the worst error is that of 50-digit floating point, every position."""
    request = divisions_request(divisions)
    ours = worst(request, Fraction(ratio * circle))
    with mpmath.workdps(50):
        grid = mpmath.mpf(ratio * circle)
        places = [k * grid / divisions for k in range(1, min(divisions, 400) + 1)]
        most = max(abs(place - mpmath.nint(place)) for place in places) / grid
        assert most <= mpmath.mpf(ours.numerator) / ours.denominator + mpmath.mpf("1e-40")
        if divisions <= 400:
            assert abs(most - mpmath.mpf(ours.numerator) / ours.denominator) < mpmath.mpf("1e-40")


@given(st.lists(st.fractions(0, 1, max_denominator=500), min_size=1, max_size=8, unique=True))
def test_the_step_of_a_list_is_the_gcd_of_its_angles(angles: list[Fraction]) -> None:
    """The largest step that every listed angle is a whole number of, by sympy's gcd."""
    wanted = sorted(angle for angle in angles if 0 < angle < 1)
    if not wanted:
        return
    rationals = [sympy.Rational(a.numerator, a.denominator) for a in [*wanted, Fraction(1)]]
    gcd = sympy.Rational(0)
    for rational in rationals:
        gcd = sympy.gcd(gcd, rational)
    step = positions_request(wanted).step
    assert sympy.Rational(step.numerator, step.denominator) == gcd


def test_plain_indexing_is_divisibility() -> None:
    """N is plain on 40 to 1 exactly when sympy finds a circle that N/gcd(N, 40) divides."""
    maker = head()
    circles = [circle for plate in maker.plates for circle in plate.circles]
    for n in range(2, 400):
        needed = int(sympy.Rational(40, n).q)
        plain = any(sympy.Mod(circle, needed) == 0 for circle in circles)
        assert (plan(maker, divisions=n, most=1)[0].method == "plain") == plain


def test_ratios_of_the_twelve_gears() -> None:
    """Every ratio is the product of its train, in lowest terms as sympy reduces it."""
    for (over, under), trains in trains_by_ratio(TWELVE_GEARS).items():
        for train in trains:
            ratio = sympy.Rational(prod(train.drivers), prod(train.driven))
            assert (ratio.p, ratio.q) == (over, under)


def test_differential_identity_holds_symbolically() -> None:
    """g = (A - N) R / A and m = R / A give N = (R - g) / m for any A, N and R."""
    a, n, r = sympy.symbols("A N R", positive=True)
    g, m = (a - n) * r / a, r / a
    assert sympy.simplify((r - g) / m - n) == 0
    for setup in plan(geared(), divisions=127):
        if setup.gearing:
            move = setup.moves[0]
            crank = sympy.Rational(move.turns) + sympy.Rational(move.holes, move.circle)
            ratio = sympy.Rational(prod(setup.gearing.drivers), prod(setup.gearing.driven))
            sign = 1 if setup.gearing.plate == "with" else -1
            assert (40 - sign * ratio) / crank == 127


def test_spaces_at_once_visit_every_division() -> None:
    """k at a time with no common factor is a generator of the N divisions (sympy's totient)."""
    maker = head(Fraction(121, 6))
    for n in range(2, 40):
        for every in spaces_at_once(maker, divisions_request(n)):
            assert len({k * every % n for k in range(n)}) == n
            assert sympy.igcd(every, n) == 1
