"""The head as it was measured: where the spindle truly stands when crank and dial say a place.

The worm's error repeats once a turn of the crank, the wheel's once and twice a turn of the spindle
(`HeadErrors`, written by a calibration). Waves are no fractions: they are rounded to a thousandth
of an arc-second, far below what any calibration knows, and are exact from there on.
"""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction
from math import cos, hypot, pi, sin

from solver.model import ARCSEC_PER_TURN, Head, Setup

_FINE = 1000  # parts of an arc-second
MOST_WALKED = 5_000  # places; beyond them the bound stands for the truth


def measured(head: Head) -> bool:
    """Whether the head's file holds what a calibration found."""
    return bool(head.errors.worm_wave)


def off_at(head: Head, place: Fraction) -> Fraction:
    """How much too far the spindle is at a place, set against the first one; both in turns."""
    return Fraction(round(seconds_off(head, float(place)) * _FINE), _FINE * ARCSEC_PER_TURN)


def seconds_off(head: Head, turns: float) -> float:
    """The same in arc-seconds, for looking through many places."""
    return _waves(head, turns) - _waves(head, 0.0)


def _waves(head: Head, turns: float) -> float:
    seconds = _wave(float(head.worm_ratio) * turns, head.errors.worm_wave)
    for n in range(len(head.errors.wheel_waves) // 2):
        seconds += _wave((n + 1) * turns, head.errors.wheel_waves[2 * n : 2 * n + 2])
    return seconds


def _wave(turns: float, parts: tuple[Fraction, ...]) -> float:
    even, odd = parts
    return float(even) * cos(2 * pi * turns) + float(odd) * sin(2 * pi * turns)


def off_the_worm(setup: Setup) -> bool:
    """The worm is out of mesh for direct indexing: neither it nor the wheel counts there."""
    return setup.method == "direct" or (setup.plate is None and setup.circle is not None)


def worst_true(head: Head, pairs: Sequence[tuple[Fraction, Fraction]]) -> Fraction:
    """The largest error of any (wanted, reached), the head's own counted, in turns."""
    wanted, reached = max(pairs, key=lambda pair: _rough(head, *pair))
    return abs(reached + off_at(head, reached) - wanted)


def _rough(head: Head, wanted: Fraction, reached: Fraction) -> float:
    """Good to a millionth of an arc-second: only for finding the worst place."""
    moved = 0.0 if wanted is reached else float(reached - wanted) * ARCSEC_PER_TURN
    return abs(moved + seconds_off(head, float(reached)))


def bound(head: Head) -> Fraction:
    """No place can be further off than this from the first one, in turns."""
    flat = (*head.errors.worm_wave, *head.errors.wheel_waves)
    halves = sum(hypot(*map(float, flat[n : n + 2])) for n in range(0, len(flat), 2))
    return Fraction(2 * (round(halves * _FINE) + 1), _FINE * ARCSEC_PER_TURN)
