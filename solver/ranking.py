"""Best first, by what each way is reckoned to cost a person, and in a line why.

Exact (or within the tolerance) before inexact, by the error; then the cost that
`solver/cost.py` reckons. Among equals: the plate that is on already; the larger circle (less
arc from hole to hole); the fewer holes to count.
"""

from collections.abc import Sequence
from fractions import Fraction
from typing import NamedTuple

from solver.candidate import (
    COMPOUND,
    DIFFERENTIAL,
    DIRECT,
    METHODS,
    NEAREST,
    NEAREST_TWO,
    PLAIN,
    Candidate,
)
from solver.cost import MINUTE, SURE, Costs, cost, parts
from solver.model import ARCSEC_PER_TURN, Turns


class Wish(NamedTuple):
    """What else is known when choosing.

    `costs`: the figures to reckon with; `fitted`: the plate on the head; `tolerance`: the error
    allowed, in turns; `methods`: those that the person prefers, whatever they cost; `scale`: the
    head has a degree scale; `at_a_time`: the most divisions at a time that gears are tried with;
    `measured`: the head's own errors are known, and count.
    """

    costs: Costs
    fitted: str | None = None
    tolerance: Turns = Turns(Fraction(0))
    methods: tuple[str, ...] = ()
    scale: bool = True
    at_a_time: int = 0
    measured: bool = False

    def of(self, candidate: Candidate) -> int:
        """What the candidate costs by this order: less comes first."""
        return cost(candidate, self.costs, self.fitted, self.scale)


# What is reckoned within a quarter of a minute of one another is taken for equal.
_EQUAL = MINUTE * SURE // 4


def sort_key(candidate: Candidate, wish: Wish) -> tuple[Fraction | int, ...]:
    """Smaller is better; `_difference` knows the places of the tuple."""
    c = candidate
    accepted = _accepted(c, wish)
    gearing = c.gearing
    return (
        0 if accepted else 1,
        0 if accepted else worst_off(c),
        0 if not wish.methods or METHODS[c.kind] in wish.methods else 1,
        wish.of(c) // _EQUAL,
        c.worst,
        0 if wish.fitted in (None, c.plate) else 1,
        c.step_up,
        -(c.circle or 0),
        c.holes,
        *((*gearing.drivers, *gearing.driven) if gearing else ()),
    )


def worst_off(candidate: Candidate) -> Turns:
    """The worst error of the work, in turns; that of the moves where the head was not measured."""
    return candidate.worst if candidate.true is None else candidate.true


def _accepted(c: Candidate, wish: Wish) -> bool:
    """A tolerance is for the work as it truly comes out. Where none is given holes are taken as
    they lie, and of the readings of a dial, which cost all the same, the truest come first."""
    if wish.tolerance or not wish.measured:
        return worst_off(c) <= wish.tolerance
    return not c.worst and (c.kind == DIRECT or c.circle is not None)


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


def why(
    candidate: Candidate, before: Candidate | None, leads: tuple[str, ...], wish: Wish
) -> tuple[str, ...]:
    """How exact and what it is; and what puts it first or below the one before it."""
    base = f"{_exactness(candidate, wish)}: {_what(candidate, wish)}"
    if before is None:
        return (base, *leads)
    below = _below(candidate, before, wish)
    return (base, below) if below else (base,)


def _exactness(candidate: Candidate, wish: Wish) -> str:
    off = worst_off(candidate)
    within = ", within your tolerance" if off <= wish.tolerance else ""
    if candidate.true is not None:
        told = "exact" if not candidate.worst else "nearest"
        how = "each move corrected for them" if candidate.corrected else f"the moves {told}"
        return f"off by {arcsec_text(off)} at worst with the head's own errors{within}, {how}"
    if not candidate.worst:
        return "exact"
    return f"off by {arcsec_text(off)} at worst{within}"


def _what(candidate: Candidate, wish: Wish) -> str:
    c = candidate
    whole = c.kind == PLAIN and c.circle and not c.holes
    told = ["whole turns, any plate and any hole will do" if whole else _method(c)]
    if c.gearing:
        told.append("simple train" if len(c.gearing.drivers) == 1 else "compound train")
    if c.every > 1:
        told.append(f"{c.every} divisions at a time, so the work goes round {c.every} times")
    if wish.fitted and c.plate == wish.fitted and not whole:
        told.append(f"plate {c.plate} is on already")
    if c.fouls:
        told.append("its gears may foul each other: try the train by hand first")
    if c.hand.back:
        told.append("the plate comes back: slack to take up again")
    return ", ".join(told)


def _method(candidate: Candidate) -> str:
    return _DIAL[candidate.kind] if candidate.circle is None else _BASE[candidate.kind]


def why_it_leads(found: Sequence[Candidate], wish: Wish) -> tuple[str, ...]:
    """Why the first of the list leads it."""
    if _all_inexact(found, wish):
        return (*how_far(wish), *_missed(found[0], wish))
    told = _lead(found, wish)
    return (told,) if told else ()


def _missed(first: Candidate, wish: Wish) -> tuple[str, ...]:
    """That what was asked for can't be had: the errors alone would have to be compared by eye."""
    if not 0 < wish.tolerance < first.worst:
        return ()
    return (f'nothing found is within {float(wish.tolerance * ARCSEC_PER_TURN):.4g}"',)


def _all_inexact(found: Sequence[Candidate], wish: Wish) -> bool:
    """Nothing is exact, and nothing else puts the first of the list there."""
    preferred = bool(wish.methods) and METHODS[found[0].kind] in wish.methods
    by_errors = found[0].corrected and any(not other.corrected for other in found)
    return not preferred and not by_errors and all(other.worst for other in found)


def _lead(found: Sequence[Candidate], wish: Wish) -> str:
    first = found[0]
    if wish.methods and METHODS[first.kind] in wish.methods:
        return "you prefer it"
    if first.corrected and any(not other.corrected for other in found):
        return "the work comes out nearer so than by exact moves"
    if first.worst:
        return "leads because it costs less than the exact ways below"
    if first.kind in (COMPOUND, DIFFERENTIAL):
        return _leads_others(first, found, wish)
    rivals = [c for c in found[1:] if c.kind == PLAIN == first.kind]
    if first.kind != PLAIN or not first.circle:
        return "the quickest way" if first.kind == DIRECT else ""
    return "the largest circle that serves" if _largest(first, rivals) else _only(rivals)


def how_far(wish: Wish) -> tuple[str, ...]:
    """What was looked through in vain: the search leaves nothing out, so the head is the limit."""
    told = "no exact way was found on this head"
    if not wish.at_a_time:
        return (told,)
    return (
        f"{told}: every circle and every train of its gears was tried, up to {wish.at_a_time} "
        "divisions at a time",
        "other gears or circles would be needed, not more search",
    )


def _leads_others(first: Candidate, found: Sequence[Candidate], wish: Wish) -> str:
    """By how much it beats the best way of another method."""
    other = next((c for c in found if c.kind != first.kind and not c.worst), None)
    if other is None:
        return "nothing simpler is exact"
    less = minutes_text(wish.of(other) - wish.of(first))
    return f"reckoned at {less} less than the best {METHODS[other.kind]} set-up"


def minutes_text(cost: int) -> str:
    """`12 minutes` of a cost; under ten with one place."""
    minutes = cost / (MINUTE * SURE)
    return f"{minutes:.0f} minutes" if minutes >= 9.95 else f"{minutes:.1f} minutes"


def _largest(first: Candidate, rivals: Sequence[Candidate]) -> bool:
    return bool(rivals) and all((c.circle or 0) <= (first.circle or 0) for c in rivals)


def _only(rivals: Sequence[Candidate]) -> str:
    return "" if rivals else "the only circle that serves"


def _below(candidate: Candidate, before: Candidate, wish: Wish) -> str:
    pairs = zip(sort_key(candidate, wish), sort_key(before, wish), strict=False)
    place = next((place for place, (a, b) in enumerate(pairs) if a != b), -1)
    return f"below the one above: {_difference(place, candidate, before, wish)}"


def _difference(place: int, candidate: Candidate, before: Candidate, wish: Wish) -> str:
    reasons = (
        "not exact",
        "larger error",
        "you prefer the other",
        "",
        "not exact",
        f"plate {candidate.plate} would have to be put on",
        "the train steps up further",
        "smaller circle",
        "more holes to count",
    )
    if place == _COST:
        return _dearer(candidate, before, wish)
    return reasons[place] if 0 <= place < len(reasons) else "all else being equal"


_COST = 3  # the place of the cost in the key

_REASONS = {
    "setting": "the crank pin and the arms have to be set",
    "plate": "plate {plate} would have to be put on",
    "back pin": "the back pin has to be set",
    "level": "gears to set up",
    "two gears": "gears to set up",
    "four gears": "four gears, not two",
    "idlers": "more idlers",
    "tight": "the gears may foul",
    "steep": "the train steps up by more than two",
    "stiff": "the train steps up further",
    "turning": "more of the crank to turn",
    "turns": "the crank has to be turned and counted",
    "holes": "more holes to count",
    "count": "holes to count",
    "beyond": "some moves go beyond the arms",
    "changing": "the count changes from move to move",
    "second count": "two counts at every move",
    "plate holes": "more holes to count at the back pin",
    "slack": "the plate comes back, and its slack is to be taken up",
    "dial": "the dial has to be read",
    "several": "the work goes round more often",
    "worm": "the worm has to come out of mesh",
}


def _dearer(candidate: Candidate, before: Candidate, wish: Wish) -> str:
    """How many minutes more, and the part of the reckoning that most of it lies in."""
    more = _by_part(candidate, wish)
    for what, less in _by_part(before, wish).items():
        more[what] = more.get(what, 0) - less
    most = max(more, key=lambda what: more[what])
    reason = _REASONS.get(most, "more moves").format(plate=candidate.plate)
    return f"{minutes_text(sum(more.values()))} more, {reason}"


def _by_part(candidate: Candidate, wish: Wish) -> dict[str, int]:
    found = parts(candidate, wish.costs, wish.fitted, wish.scale)
    return {part.what: part.cost(wish.costs["blank"]) for part in found}


def arcsec_text(turns: Turns) -> str:
    """`6.97"`: arc-seconds for people, never rounded down to nothing."""
    seconds = float(turns * ARCSEC_PER_TURN)
    return f'{seconds:.2f}"' if seconds >= 0.01 else f'{seconds:.1g}"'
