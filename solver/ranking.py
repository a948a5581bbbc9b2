"""Best first, as a machinist would choose, and in a line why.

Exact (or within the tolerance) before inexact; then the simpler method; a simple train
before a compound one; the plate that is on already; the larger circle (less arc from hole
to hole); the fewer holes to count. For two circles the count comes before the circle:
counting twice at every move is what makes them slow.
"""

from __future__ import annotations

from fractions import Fraction
from typing import NamedTuple

from solver.candidate import COMPOUND, DIFFERENTIAL, DIRECT, NEAREST, NEAREST_TWO, PLAIN, Candidate
from solver.model import ARCSEC_PER_TURN


class Wish(NamedTuple):
    """What else is known when choosing: the plate on the head, the error allowed (in turns)."""

    fitted: str | None = None
    tolerance: Fraction = Fraction(0)


def sort_key(candidate: Candidate, wish: Wish) -> tuple[Fraction | int, ...]:
    """Smaller is better; the places of the tuple are those of `_LATER`."""
    c = candidate
    accepted = c.worst <= wish.tolerance
    circle, holes = -(c.circle or 0), c.holes
    gearing = c.gearing
    return (
        0 if accepted else 1,
        0 if accepted else c.worst,
        c.kind,
        len(gearing.drivers) if gearing else 0,
        1 if c.fouls else 0,
        gearing.idlers if gearing else 0,
        c.every,
        0 if wish.fitted in (None, c.plate) else 1,
        1 if c.back else 0,
        *((holes, circle) if c.kind == COMPOUND else (circle, holes)),
        *((*gearing.drivers, *gearing.driven) if gearing else ()),
    )


_BASE = {
    DIRECT: "straight off the direct plate, nothing to turn but the spindle",
    PLAIN: "one circle, one count",
    NEAREST: "each position goes to its own nearest hole",
    COMPOUND: "two circles of one plate",
    NEAREST_TWO: "each position goes to its own nearest place on two circles",
    DIFFERENTIAL: "change gears drive the plate",
}

_DIAL = {PLAIN: "meets the dial's lines", NEAREST: "each position goes to its nearest line"}


def base_reason(candidate: Candidate, wish: Wish) -> str:
    """What the set-up is, in words: exactness first."""
    c = candidate
    exact = "exact" if not c.worst else f"off by {arcsec_text(c.worst)} at worst"
    if c.worst and c.worst <= wish.tolerance:
        exact += ", within your tolerance"
    what = _BASE[c.kind] if c.circle else _DIAL[c.kind]
    if c.gearing:
        what += ", simple train" if len(c.gearing.drivers) == 1 else ", compound train"
    if c.every > 1:
        what += f", {c.every} divisions at a time, so the work goes round {c.every} times"
    if wish.fitted and c.plate == wish.fitted:
        what += f", plate {c.plate} is on already"
    if c.back:
        what += ", the plate comes back at a move: take up the slack again"
    return f"{exact}: {what}"


def why(candidate: Candidate, before: Candidate | None, after: Candidate | None, wish: Wish) -> str:
    """One line: what the set-up is, and what put it just below the one before it."""
    text = base_reason(candidate, wish)
    if before is None:
        return text + _leads(candidate, after, wish)
    place = _first_difference(candidate, before, wish)
    return f"{text}; after the one above because {_later(place, candidate)}"


def _leads(first: Candidate, after: Candidate | None, wish: Wish) -> str:
    if after is None:
        return "; the only way" if not first.worst else "; nothing on this head is exact"
    if first.worst:
        return "; nothing is exact" if after.worst else "; simpler than the exact ways below"
    place = _first_difference(after, first, wish)
    return (
        {7: "", 9: "; the largest circle that serves"}.get(place, "") if first.kind == PLAIN else ""
    )


def _first_difference(one: Candidate, other: Candidate, wish: Wish) -> int:
    pairs = zip(sort_key(one, wish), sort_key(other, wish), strict=False)
    return next((place for place, (a, b) in enumerate(pairs) if a != b), -1)


def _later(place: int, candidate: Candidate) -> str:
    c = candidate
    holes, circle = "there are more holes to count", "the circle is smaller"
    reasons = (
        "it is not exact",
        "its error is larger",
        {
            PLAIN: "the crank must be turned",
            NEAREST: "the count changes from move to move",
            COMPOUND: "two counts are made at every move",
            NEAREST_TWO: "two counts are made, and they change from move to move",
            DIFFERENTIAL: "gears must be set up",
        }.get(c.kind, ""),
        "it takes four gears, not two",
        "its gears may foul each other: try the train by hand first",
        "it takes one more idler",
        "the work goes round more often",
        f"plate {c.plate} would have to be fitted",
        "the plate comes back at each move",
        *((holes, circle) if c.kind == COMPOUND else (circle, holes)),
    )
    return reasons[place] if 0 <= place < len(reasons) else "all else is equal"


def arcsec_text(turns: Fraction) -> str:
    """`6.97"`: arc-seconds for people, never rounded down to nothing."""
    seconds = float(turns * ARCSEC_PER_TURN)
    return f'{seconds:.2f}"' if seconds >= 0.01 else f'{seconds:.1g}"'
