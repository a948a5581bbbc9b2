"""The head as it was measured: where the spindle truly stands when crank and dial say a place.

The worm's error repeats once a turn of the crank, the wheel's once and twice a turn of the spindle
(`HeadErrors`, written by a calibration). Waves are no fractions: they are rounded to a thousandth
of an arc-second, far below what any calibration knows, and are exact from there on.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from fractions import Fraction
from math import atan2, cos, hypot, pi, sin

from solver.model import ARCSEC_PER_TURN, Head, Setup, Turns

_FINE = 1000  # parts of an arc-second
MOST_WALKED = 5_000  # places; beyond them the bound stands for the truth


def measured(head: Head) -> bool:
    """Whether the head's file holds what a calibration found."""
    return bool(head.errors.worm_wave)


def off_at(head: Head, place: Turns) -> Turns:
    """How much too far the spindle is at a place, set against the first one; both in turns."""
    off = round(seconds_off(head, float(place)) * _FINE)
    return Turns(Fraction(off, _FINE * ARCSEC_PER_TURN))


def seconds_off(head: Head, turns: float) -> float:
    """The same in arc-seconds."""
    return swing(head)(turns)


def swing(head: Head) -> Callable[[float], float]:
    """The same, arc-seconds at so many turns, for looking through many places: the head's figures
    are made floats once."""
    waves = _waves(head)

    def seconds(turns: float) -> float:
        return sum([even * cos(by * turns) + odd * sin(by * turns) for by, even, odd in waves])

    if len(waves) == 3:  # the usual head, written out: most of the time of a plan goes here
        (k, a, b), (m, c, d), (n, e, f) = waves

        def seconds(turns: float) -> float:
            x, y, z = k * turns, m * turns, n * turns
            worm, wheel = a * cos(x) + b * sin(x), c * cos(y) + d * sin(y)
            return worm + wheel + (e * cos(z) + f * sin(z))

    start = seconds(0.0)
    return lambda turns: seconds(turns) - start


def _waves(head: Head) -> list[tuple[float, float, float]]:
    """What each wave turns by in a turn of the spindle; its cosine and sine, in arc-seconds."""
    ratio, errors = float(head.worm_ratio), head.errors
    flat = [float(each) for each in (*errors.worm_wave, *errors.wheel_waves)]
    turning = [2 * pi * ratio, *(2 * pi * (n + 1) for n in range(len(flat) // 2 - 1))]
    return list(zip(turning, flat[::2], flat[1::2], strict=False))


def turns_off(head: Head) -> Callable[[float], float]:
    """The same in turns, a cosine a wave: half the work, where each of many places is aimed at."""
    waves = [
        (by, hypot(even, odd) / ARCSEC_PER_TURN, atan2(odd, even)) for by, even, odd in _waves(head)
    ]
    start = sum(size * cos(turned) for _, size, turned in waves)
    if len(waves) == 3:
        (k, a, u), (m, b, v), (n, c, w) = waves
        return lambda turns: (
            a * cos(k * turns - u) + b * cos(m * turns - v) + c * cos(n * turns - w) - start
        )
    return lambda turns: sum(size * cos(by * turns - turned) for by, size, turned in waves) - start


def slope(head: Head) -> float:
    """No error grows faster than by this part of what the spindle turns."""
    return sum(by * hypot(even, odd) for by, even, odd in _waves(head)) / ARCSEC_PER_TURN


def off_the_worm(setup: Setup) -> bool:
    """The worm is out of mesh for direct indexing: neither it nor the wheel counts there."""
    return setup.method == "direct" or (setup.plate is None and setup.circle is not None)


def worst_true(head: Head, pairs: Sequence[tuple[Turns, Turns]]) -> Turns:
    """The largest error of any (wanted, reached), the head's own counted, in turns."""
    off = swing(head)

    def rough(pair: tuple[Turns, Turns]) -> float:
        # Good to a millionth of an arc-second: only for finding the worst place.
        wanted, reached = pair
        there = reached.numerator / reached.denominator
        if wanted is reached:
            return abs(off(there))
        moved = (there - wanted.numerator / wanted.denominator) * ARCSEC_PER_TURN
        return abs(moved + off(there))

    wanted, reached = max(pairs, key=rough)
    return Turns(abs(reached + off_at(head, reached) - wanted))


def bound(head: Head) -> Turns:
    """No place can be further off than this from the first one, in turns."""
    flat = (*head.errors.worm_wave, *head.errors.wheel_waves)
    halves = sum(hypot(*map(float, flat[n : n + 2])) for n in range(0, len(flat), 2))
    return Turns(Fraction(2 * (round(halves * _FINE) + 1), _FINE * ARCSEC_PER_TURN))
