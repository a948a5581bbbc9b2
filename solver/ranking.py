"""Best first, as a machinist would choose, and in a line why.

Exact (or within the tolerance) before inexact; then the simpler method; a simple train
before a compound one; the plate that is on already; the larger circle (less arc from hole
to hole); the fewer holes to count. For two circles the count comes before the circle:
counting twice at every move is what makes them slow.
"""

from collections.abc import Sequence
from fractions import Fraction
from typing import NamedTuple

from solver.candidate import COMPOUND, DIFFERENTIAL, DIRECT, NEAREST, NEAREST_TWO, PLAIN, Candidate
from solver.model import ARCSEC_PER_TURN


class Wish(NamedTuple):
    """What else is known when choosing: the plate on the head, the error allowed (in turns)."""

    fitted: str | None = None
    tolerance: Fraction = Fraction(0)


def sort_key(candidate: Candidate, wish: Wish) -> tuple[Fraction | int, ...]:
    """Smaller is better; `_difference` knows the places of the tuple."""
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
        c.worst,
        1 if c.back else 0,
        *((holes, circle) if c.kind == COMPOUND else (circle, holes)),
        *((*gearing.drivers, *gearing.driven) if gearing else ()),
    )


_BASE = {
    DIRECT: "straight off the direct plate, worm out of mesh",
    PLAIN: "one circle, one count",
    NEAREST: "each position goes to its own nearest hole, so errors don't add up",
    COMPOUND: "two circles of one plate, crank first, then plate and crank together",
    NEAREST_TWO: "each position goes to its own nearest place on two circles of one plate",
    DIFFERENTIAL: "change gears drive the plate",
}

_DIAL = {
    PLAIN: "every position is on a line of the dial",
    NEAREST: "each position goes to its own nearest line of the dial",
}


def why(candidate: Candidate, before: Candidate | None, leads: str, wish: Wish) -> str:
    """One line: how exact, what it is, and what puts it first or below the one before it."""
    base = f"{_exactness(candidate, wish)}: {_what(candidate, wish)}"
    place = leads if before is None else _below(candidate, before, wish)
    return f"{base}; {place}" if place else base


def _exactness(candidate: Candidate, wish: Wish) -> str:
    if not candidate.worst:
        return "exact"
    within = ", within your tolerance" if candidate.worst <= wish.tolerance else ""
    return f"off by {arcsec_text(candidate.worst)} at worst{within}"


def _what(candidate: Candidate, wish: Wish) -> str:
    c = candidate
    whole = c.kind == PLAIN and c.circle and not c.holes
    parts = ["whole turns, any hole will do" if whole else _method(c)]
    if c.gearing:
        parts.append("simple train" if len(c.gearing.drivers) == 1 else "compound train")
    if c.every > 1:
        parts.append(f"{c.every} divisions at a time, so the work goes round {c.every} times")
    if wish.fitted and c.plate == wish.fitted:
        parts.append(f"plate {c.plate} is on already")
    if c.fouls:
        parts.append("its gears may foul each other: try the train by hand first")
    if c.back:
        parts.append("the plate comes back: slack to take up again")
    return ", ".join(parts)


def _method(candidate: Candidate) -> str:
    return _DIAL[candidate.kind] if candidate.circle is None else _BASE[candidate.kind]


def leads(found: Sequence[Candidate], wish: Wish) -> str:
    """Why the first of the list leads it."""
    first = found[0]
    if first.worst:
        if any(not other.worst for other in found):
            return "leads because it is simpler than the exact ways below"
        return "no exact way was found on this head"
    if first.kind in (COMPOUND, DIFFERENTIAL):
        return "nothing simpler is exact"
    rivals = [c for c in found[1:] if c.kind == PLAIN == first.kind]
    if first.kind != PLAIN or not first.circle:
        return "the quickest way" if first.kind == DIRECT else ""
    return "the largest circle that serves" if _largest(first, rivals) else _only(rivals)


def _largest(first: Candidate, rivals: Sequence[Candidate]) -> bool:
    return bool(rivals) and all((c.circle or 0) <= (first.circle or 0) for c in rivals)


def _only(rivals: Sequence[Candidate]) -> str:
    return "" if rivals else "the only circle that serves"


def _below(candidate: Candidate, before: Candidate, wish: Wish) -> str:
    pairs = zip(sort_key(candidate, wish), sort_key(before, wish), strict=False)
    place = next((place for place, (a, b) in enumerate(pairs) if a != b), -1)
    return f"below the one above: {_difference(place, candidate)}"


def _difference(place: int, candidate: Candidate) -> str:
    c = candidate
    holes, circle = "more holes to count", "smaller circle"
    reasons = (
        "not exact",
        "larger error",
        {
            PLAIN: "the crank has to be turned and counted",
            NEAREST: "the count changes from move to move",
            COMPOUND: "two counts at every move",
            NEAREST_TWO: "two counts, and they change from move to move",
            DIFFERENTIAL: "gears to set up",
        }.get(c.kind, ""),
        "four gears, not two",
        "the gears may foul",
        "one more idler",
        "more rounds of the work",
        f"plate {c.plate} would have to be put on",
        "larger error",
        "the plate comes back",
        *((holes, circle) if c.kind == COMPOUND else (circle, holes)),
    )
    return reasons[place] if 0 <= place < len(reasons) else "all else being equal"


def arcsec_text(turns: Fraction) -> str:
    """`6.97"`: arc-seconds for people, never rounded down to nothing."""
    seconds = float(turns * ARCSEC_PER_TURN)
    return f'{seconds:.2f}"' if seconds >= 0.01 else f'{seconds:.1g}"'
