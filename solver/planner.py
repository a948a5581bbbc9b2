"""All ways to index a request on a head, ranked, each one proved before it is handed out."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from fractions import Fraction
from functools import cache, partial

from solver import own_error, plain, proof
from solver.candidate import METHODS, NEAREST, PLAIN, Candidate
from solver.cost import preferred, reckoning, usual_costs
from solver.model import MINUTES_PER_TURN, Head, Move, Reckoning, Refused, Setup, Turns
from solver.ranking import Wish, sort_key, why, why_it_leads
from solver.request import MOST_SPACES, Request, request_of

# So many of each of the slower methods are handed out: beyond that they are only more gears
# and circles for the same positions. `solver.differential.every_setup` lists all of them.
_MOST_OF_A_KIND = 8

_CROWDED = 5_000  # divisions


def plan(  # noqa: PLR0913 (one request, and all that is known when choosing)
    head: Head,
    *,
    divisions: int | None = None,
    angle: Turns | None = None,
    positions: Sequence[Turns] | None = None,
    fitted: str | None = None,
    tolerance: Turns | None = None,
    most: int | None = None,
    prefer: Sequence[str] = (),
) -> tuple[Setup, ...]:
    """Set-ups for one request, best first, each proved; never empty.

    Give one of: `divisions`, 2 to 10 million; `angle`, one move, in turns (more than 0, at
    most 1); `positions`, rising, in turns from the start: a move to each and then back to
    the start. `fitted` names the plate on the head; `tolerance` is the error, in turns, within
    which a cheaper set-up may lead; `most` cuts the list. `prefer` changes the
    order: `blank=240` gives a figure of `config/order.toml` another value, in its own unit; a
    method's name puts that method first whatever it costs. Raises Refused.
    """
    request = request_of(divisions, angle, positions)
    wish = _wish(head, fitted, tolerance)
    if own_error.measured(head):
        wish = wish._replace(measured=True)
    if divisions is not None and head.plate_drive == "geared":
        wish = wish._replace(at_a_time=MOST_SPACES)
    if prefer:
        wish = _preferring(wish, prefer)
    if most is not None and most < 1:
        raise Refused(f"most {most}", "ask for one set-up or more")
    if head.plate_drive == "block":
        return _by_faces(head, request, wish)
    found = ranked(head, request, wish, most)
    return tuple(finish(head, request, found, wish, most))


def _by_faces(head: Head, request: Request, wish: Wish) -> tuple[Setup, ...]:
    """A block has no worm and no holes, and nothing is nearest: its faces serve, or don't."""
    found = list(plain.direct(head, request))
    if not found:
        faces = head.direct_circle[0]
        serve = [str(n) for n in range(2, faces + 1) if faces % n == 0]
        raise Refused(
            f"a block of {faces} faces gives {', '.join(serve)} equal divisions, and angles "
            "between its faces",
            "this needs another block, or a dividing head",
        )
    return tuple(
        setup._replace(reasons=("exact: by the block's own faces",), reckoning=None)
        for setup in finish(head, request, found, wish, None)
    )


def _wish(head: Head, fitted: str | None, tolerance: Turns | None) -> Wish:
    names = [plate.name for plate in head.plates]
    if fitted is not None and fitted not in names:
        raise Refused(f"plate {fitted!r} is not one of this head's", ", ".join(names) or "none")
    if tolerance is not None and tolerance < 0:
        raise Refused(f"tolerance {tolerance}", "give 0 or more")
    found = tolerance or Turns(Fraction(0))
    return Wish(usual_costs(), fitted, found, scale=bool(head.scale_degrees))


def _preferring(wish: Wish, prefer: Sequence[str]) -> Wish:
    """The wish with what `plan` was given as `prefer`. Raises Refused."""
    from solver.text import number_from_text

    figures: dict[str, Fraction] = {}
    methods = []
    for text in prefer:
        name, equals, value = text.partition("=")
        if equals:
            figures[name.strip()] = number_from_text(value)
        elif name.strip() in METHODS:
            methods.append(name.strip())
        else:
            known = ", ".join(dict.fromkeys(METHODS))
            cure = f"write a method ({known}) or a figure, like blank=240"
            raise Refused(f"prefer {text!r}", cure)
    return wish._replace(costs=preferred(wish.costs, figures), methods=tuple(methods))


def ranked(head: Head, request: Request, wish: Wish, most: int | None) -> list[Candidate]:
    """Candidates best first; searches that could only come later are left out once full."""
    found = [*plain.direct(head, request), *plain.plain_setups(head, request)]
    found += plain.handwheel(head, request)
    if most is None or len(found) < most or _truer(head, wish) or not _settled(found, wish):
        simple = bool(found) and not _truer(head, wish)
        found += _slower(head, request, wish, simple, alone=most == 1)
    if wish.measured:
        found = _as_measured(head, request, found)
    found.sort(key=lambda candidate: sort_key(candidate, wish))
    return found


def _settled(found: Sequence[Candidate], wish: Wish) -> bool:
    """No slower method could cost less than what is found: not as the figures usually are."""
    own_figures = wish.methods or wish.costs is not usual_costs()
    on_already = any(c.plate in (None, wish.fitted) for c in found)
    return not own_figures and (wish.fitted is None or on_already)


def _truer(head: Head, wish: Wish) -> bool:
    """Nearest places may be nearer than exact ones: on a dial, or where a tolerance asks for it."""
    return wish.measured and bool(head.handwheel or wish.tolerance)


def _as_measured(head: Head, request: Request, found: Sequence[Candidate]) -> list[Candidate]:
    """Each way with what the work comes out at; a dial's that gain nothing by it are left out."""
    exactly = cache(partial(_true_of_exact, head, request))
    told = [c if _off_the_worm(c) else c._replace(true=_true(head, c, exactly)) for c in found]
    exact = [c.true for c in told if c.true is not None and not c.worst and c.circle is None]
    if not exact or head.handwheel is None:
        return told
    least = exact[0] - head.handwheel.division_minutes / (4 * MINUTES_PER_TURN)
    return [c for c in told if not c.corrected or c.circle or (c.true or 0) <= least]


def _off_the_worm(candidate: Candidate) -> bool:
    """On the direct plate neither worm nor wheel counts."""
    return candidate.plate is None and candidate.circle is not None


def _true(head: Head, c: Candidate, exactly: Callable[[int], Turns]) -> Turns:
    if c.true is not None:
        return c.true
    return Turns(c.worst + own_error.bound(head)) if c.worst else exactly(c.every)


def _true_of_exact(head: Head, request: Request, every: int) -> Turns:
    """All exact ways stop at the same places, and are off there by the head alone."""
    places = request.divisions or sum(times for _, times in request.runs)
    if places > own_error.MOST_WALKED:
        return own_error.bound(head)
    off, span = own_error.swing(head), float(request.step * every)
    worst = max(request.places(), key=lambda place: abs(off(place * span)))
    place = Turns(worst * every * request.step)
    return own_error.worst_true(head, [(place, place)])


def _slower(
    head: Head, request: Request, wish: Wish, simple: bool, *, alone: bool
) -> Iterator[Candidate]:
    """Two circles, gears and nearest holes; nearest only where nothing simple is exact."""
    exact = list(_two_counts_and_gears(head, request, wish))
    yield from exact
    # On a head that was measured each nearest place is reckoned by itself: not for nothing.
    if not simple and not (exact and wish.measured and not _truer(head, wish)):
        one, two = _nearest(head, request, wish, alone)
        yield from _few(request, one, wish)
        yield from _few(request, two, wish)


def _nearest(
    head: Head, request: Request, wish: Wish, alone: bool
) -> tuple[Iterable[Candidate], Iterable[Candidate]]:
    """Over one circle or a dial, and over two. `alone`: no more than the first of all is wanted,
    and where the error alone decides, those that can't be it are not worked out."""
    from solver.nearest import nearest_setups, nearest_two

    if wish.measured:
        from solver.nearest_true import aims_of, nearest_true, two_true

        if aims := aims_of(head, request):
            alone = alone and not wish.tolerance and head.handwheel is None
            two = list(two_true(aims, alone=alone, every_pair=bool(wish.tolerance)))
            return nearest_true(aims, alone=alone, beyond=two), two
    return nearest_setups(head, request), nearest_two(head, request, wish.tolerance)


def _two_counts_and_gears(head: Head, request: Request, wish: Wish) -> Iterator[Candidate]:
    if head.plate_drive != "fixed":
        from solver.compound import compound

        yield from _best(compound(head, request), wish)
    if head.plate_drive == "geared":
        from solver.differential import differential

        yield from _best(differential(head, request), wish)


def _few(request: Request, candidates: Iterable[Candidate], wish: Wish) -> list[Candidate]:
    """The best of every plate; of all plates where each one would have very many moves."""
    found = sorted(candidates, key=lambda candidate: sort_key(candidate, wish))
    if (request.divisions or 0) > _CROWDED:
        return found[:1]
    best: dict[str | None, Candidate] = {}
    for candidate in found:
        best.setdefault(candidate.plate, candidate)
    return list(best.values())


def _best(candidates: Iterable[Candidate], wish: Wish) -> list[Candidate]:
    return sorted(candidates, key=lambda c: sort_key(c, wish))[:_MOST_OF_A_KIND]


def finish(
    head: Head, request: Request, found: Sequence[Candidate], wish: Wish, most: int | None
) -> Iterator[Setup]:
    """The set-ups themselves, each with its reason and its proof."""
    first = why_it_leads(found, wish)
    for n, candidate in enumerate(found[:most]):
        reasons = why(candidate, found[n - 1] if n else None, first, wish)
        reckoned = reckoning(candidate, wish.costs, wish.fitted, wish.scale)
        setup = _setup(candidate, reasons, reckoned)
        proof.prove(head, setup, request.targets(setup.every), request.divisions)
        yield setup


def _setup(candidate: Candidate, reasons: tuple[str, ...], reckoned: Reckoning) -> Setup:
    moves = candidate.moves()
    return Setup(
        method=METHODS[candidate.kind],
        plate=candidate.plate,
        circle=candidate.circle,
        sector_spaces=_sector_spaces(candidate, moves),
        every=candidate.every,
        worst_error=candidate.worst,
        reasons=reasons,
        gearing=candidate.gearing,
        moves=moves,
        reckoning=reckoned,
        true_error=candidate.true,
        corrected=candidate.corrected,
    )


def _sector_spaces(candidate: Candidate, moves: tuple[Move, ...]) -> int | None:
    """The spaces between the arms, where one setting serves every move."""
    if candidate.plate is None or (candidate.kind == NEAREST and len(moves) > 1):
        return None
    holes = {move.holes for move in moves}
    return holes.pop() if len(holes) == 1 and candidate.kind >= PLAIN else None
