"""What is asked for: equal divisions, one angle, or a list of angles; checked, in exact turns."""

from collections.abc import Iterator, Sequence
from fractions import Fraction
from math import gcd, lcm
from typing import NamedTuple

from solver.model import Refused, Turns

LEAST, MOST = 2, 10_000_000

# Beyond this many divisions at a time the work goes round so often that nobody would.
MOST_SPACES = 12


class Request(NamedTuple):
    """A checked request.

    Every position is a whole number of `step`s from the start. `runs` are the moves as
    (steps, times). Divisions: N moves of one step, back to the start. An angle: one move,
    not closed. A list: a move to each position in turn, then back to the start.
    """

    step: Turns
    runs: tuple[tuple[int, int], ...]
    divisions: int | None = None

    @property
    def kinds(self) -> tuple[tuple[int, int], ...]:
        """The runs put together by their steps, whatever their order."""
        if len(self.runs) == 1:
            return self.runs
        found: dict[int, int] = {}
        for steps, times in self.runs:
            found[steps] = found.get(steps, 0) + times
        return tuple(found.items())

    def targets(self, every: int = 1) -> Iterator[Turns]:
        """Where the spindle should stand after each move, in turns from the start."""
        return (Turns(place * every * self.step) for place in self.places())

    def places(self) -> Iterator[int]:
        """The same in steps, one division at a time."""
        place = 0
        for steps, times in self.runs:
            for _ in range(times):
                place += steps
                yield place


def request_of(
    divisions: int | None, angle: Turns | None, positions: Sequence[Turns] | None
) -> Request:
    """The one request among the three ways to ask; angle and positions in turns. Raises Refused for
    none or several."""
    if sum(given is not None for given in (divisions, angle, positions)) != 1:
        raise Refused("give one of divisions, angle and positions", "")
    if divisions is not None:
        return divisions_request(divisions)
    if angle is not None:
        return angle_request(angle)
    return positions_request(positions or ())


def divisions_request(divisions: int) -> Request:
    """So many equal divisions of one turn. Raises Refused for what is no whole
    number in the range.
    """
    if isinstance(divisions, bool) or not isinstance(divisions, int):
        raise Refused(f"divisions {divisions!r}", f"give a whole number from {LEAST} to {MOST}")
    if not LEAST <= divisions <= MOST:
        raise Refused(f"divisions {divisions}", f"give a whole number from {LEAST} to {MOST}")
    return Request(Turns(Fraction(1, divisions)), ((1, divisions),), divisions)


def angle_request(angle: Turns) -> Request:
    """One move of `angle` turns: a division that closes is asked for as divisions.
    Raises Refused for nought and for more than once round."""
    exact = _turns("angle", angle)
    if not 0 < angle <= 1:
        raise Refused(f"angle {_degrees(angle)} degrees", "give more than 0 and at most 360")
    return Request(exact, ((1, 1),))


def positions_request(positions: Sequence[Turns]) -> Request:
    """Positions from the start, in turns, in rising order; a first 0 or a last 1 may be given.
    Raises Refused where there is none past the start."""
    places = [_turns(f"angle {n}", place) for n, place in enumerate(positions, 1)]
    _check_rising(places)
    if places and places[0] == 0:
        places = places[1:]
    if not places:
        raise Refused("the list of angles has none past the start", "give one angle a line, from 0")
    if places[-1] != 1:
        places.append(Turns(Fraction(1)))
    scale = lcm(*(place.denominator for place in places))
    whole = [place.numerator * (scale // place.denominator) for place in places]
    unit = gcd(*whole)
    steps = [(after - before) // unit for before, after in zip([0, *whole], whole, strict=False)]
    return Request(Turns(Fraction(unit, scale)), tuple(run_lengths(steps)))


def run_lengths(steps: Sequence[int]) -> list[tuple[int, int]]:
    """Equal neighbours put together: [3, 3, 5] is [(3, 2), (5, 1)]."""
    runs: list[tuple[int, int]] = []
    for step in steps:
        times = runs.pop()[1] + 1 if runs and runs[-1][0] == step else 1
        runs.append((step, times))
    return runs


def _turns(what: str, value: Turns) -> Turns:
    if not isinstance(value, int | Fraction):
        raise Refused(
            f"{what} {value!r}", "give an exact Fraction of a turn, angle_from_text helps"
        )
    return Turns(Fraction(value))


def _check_rising(places: list[Turns]) -> None:
    before = Turns(Fraction(-1))
    for n, place in enumerate(places, 1):
        if not 0 <= place <= 1:
            told = f"angle {n} ({_degrees(Turns(place))} degrees)"
            raise Refused(told, "angles lie from 0 to 360")
        if place <= before:
            raise Refused(
                f"angle {n} ({_degrees(Turns(place))} degrees) is not past angle {n - 1} "
                f"({_degrees(Turns(before))} degrees)",
                "list them in rising order",
            )
        before = place


def _degrees(turns: Turns) -> str:
    degrees = turns * 360
    return str(degrees) if degrees.denominator == 1 else f"{float(degrees):.6g}"
