"""What an inexact set-up comes to on the part: from one cut to the next, at the rim.

An error of a few arc-minutes says nothing by itself. A gear, a dial and a hexagon each bear
something else, and where the error nears the spacing no set-up is better than none.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from math import pi, sqrt

from assistant.job.part import Objection, Rim
from assistant.job.units import Unit, said, shown
from assistant.words.language import mark, number, say
from assistant.words.spoken import capital, sentences
from solver import Head, Move, Setup, Turns, degrees_text, off_at, spindle_move

_USELESS = Fraction(1, 2)  # of the spacing: cuts fall together, or leave a gap for another
_PLAIN = Fraction(1, 10)  # of the spacing, where nothing is known of what the part bears


@dataclass(frozen=True, slots=True)
class Uneven:
    """`error`: how far a space between neighbours is off at worst; `space`: the smallest that
    is wanted. Turns of the spindle."""

    error: Turns
    space: Turns


def gear_need(module: float, diameter: float) -> float:
    """From tooth to tooth, mm: single pitch deviation of grade 10 of ISO 1328-1:1995,
    (0.3 (m + 0.4 sqrt d) + 4) micrometres at grade 5, times sqrt 2 for each grade. The standard was
    not read: so a published program for the design of gears quotes its section 6.1, with m and d
    the geometric means of the standard's ranges, where here they are the gear's own.
    Grade 10 is what form cutters on a dividing head come to (common practice)."""
    return (0.3 * (module + 0.4 * sqrt(diameter)) + 4) * sqrt(2) ** 5 / 1000


def places_off(
    head: Head, setup: Setup, moves: Sequence[Move], places: Sequence[Turns]
) -> list[Turns]:
    """How far each place is off, in turns: the set-up's moves, one each, followed to every place
    wanted (rising), with the head's own errors where it was measured."""
    total, at = len(places), Turns(Fraction(0))
    measured = setup.true_error is not None
    steps = {move: spindle_move(head, setup, move) for move in set(moves)}
    off = [Turns(Fraction(0))] * total
    for n, move in enumerate(moves[:-1], 1):
        at = Turns(at + steps[move])
        place = n * setup.every
        true = at + off_at(head, at) if measured else at
        off[place % total] = Turns(true - (place // total) - places[place % total])
    return off


def uneven(
    head: Head, setup: Setup, moves: Sequence[Move], places: Sequence[Turns],
    judged: frozenset[Turns] | None = None,
) -> Uneven:  # fmt: skip
    """Neighbours among the places that are `judged` (None: all) are compared; places in turns."""
    total, off = len(places), places_off(head, setup, moves, places)
    kept = [n for n in range(total) if judged is None or places[n] in judged]
    off, places = [off[n] for n in kept], [places[n] for n in kept]
    following = [*places[1:], places[0] + 1]
    ahead = [*off[1:], off[0]]
    return Uneven(
        Turns(max(abs(b - a) for a, b in zip(off, ahead, strict=True))),
        Turns(min(b - a for a, b in zip(places, following, strict=True))),
    )


def useless(found: Uneven, cuts: int, head: str) -> str:
    """Why this can't be done on this head, with the cure; "" where it can."""
    if found.error < _USELESS * found.space:
        return ""
    return (
        f"{cuts} places can't be told apart on {head}: neighbours should be "
        f"{degrees_text(found.space)} apart and come out up to {degrees_text(found.error)} off: "
        "fewer, or a head with finer plates or change gears"
    )


def finding(found: Uneven, rim: Rim | None, unit: Unit) -> Objection | None:
    """What the person should know of an error that the part does not bear."""
    if not found.error:
        return None
    if rim is None:
        if found.error <= _PLAIN * found.space:
            return None
        share = round(100 * float(found.error / found.space))
        return Objection(
            "kind",
            "not exact on this head: from one cut to the next it is up to "
            f"{degrees_text(found.error)} off, {share} percent of the space: {_CURE}",
        )
    off = float(found.error) * pi * float(rim.diameter)
    if off <= rim.need:
        return None
    return Objection(
        "kind",
        f"not exact on this head: {rim.between} it is up to {shown(off, unit)} off "
        f"{rim.where}, and {rim.bears} bears {shown(rim.need, unit)}: {_CURE}",
    )


def uneven_spoken(found: Uneven, rim: Rim | None, unit: Unit) -> str:
    """The same for the ear."""
    if rim is None:
        share = number(round(100 * float(found.error / found.space)))
        off = say("From one cut to the next: up to {share} percent of the space off.", share=share)
        return sentences(say(_INEXACT), off, say(_BE_SURE))
    millimetres = float(found.error) * pi * float(rim.diameter)
    return sentences(
        say(_INEXACT),
        capital(say("{between}: up to {size} off.", between=say(rim.between),
                    size=said(millimetres, unit))),
        capital(say("{part} bears {size}.", part=say(rim.bears), size=said(rim.need, unit))),
        say(_BE_SURE),
    )  # fmt: skip


_INEXACT = mark("Not exact on this head.")
_BE_SURE = mark("Be sure that it will do, or take a head that divides it exactly.")
_CURE = "another plate, a head with change gears, or be sure that it will do"
