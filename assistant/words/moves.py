"""A move of crank and plate: in words for the ear, in figures for the eye."""

from __future__ import annotations

from fractions import Fraction

from assistant.words.language import say, say_n
from assistant.words.spoken import capital, decimal, number, sentences
from solver import ArcMinutes, Move


def move_words(move: Move) -> str:
    """ "Four turns, then eight holes on the eighteen circle." """
    return sentences(capital(say("{move}.", move=move_phrase(move))), _slack_after(move))


def _slack_after(move: Move) -> str:
    """A plate that comes back leaves the worm's slack on the wrong side."""
    if move.plate_holes >= 0:
        return ""
    return say("Go half a turn past that hole, and come up to it again.")


def move_phrase(move: Move) -> str:
    """The same within a sentence: no capital and no full stop."""
    plate = _plate_words(move.plate_holes, move.plate_circle or 0) if move.plate_holes else ""
    crank = _crank_words(move)
    if plate and crank:
        # The crank is turned first, and alone: a full stop keeps the two counts apart.
        return say("{first}. Then {next}", first=crank, next=plate)
    return crank or plate or say("no turn at all")


def _crank_words(move: Move) -> str:
    parts = _move_parts(move)
    words = parts[0] if parts else ""
    for other in parts[1:]:
        words = say("{first}, then {next}", first=words, next=other)
    return words


def _move_parts(move: Move) -> list[str]:
    if move.block:
        return [say_n(move.direct_holes or 0, "one face on", "{count} faces on")]
    if move.direct_circle:
        return [_direct_words(move.direct_holes or 0, move.direct_circle)]
    parts = [say_n(move.turns, "one turn", "{count} turns")] if move.turns else []
    if move.holes and move.circle:
        parts.append(_hole_words(move.holes, move.circle))
    if move.minutes:
        parts.append(_handwheel_words(move.minutes))
    return parts


def _direct_words(holes: int, circle: int) -> str:
    return say_n(
        holes,
        "one hole on the direct plate of {circle}",
        "{count} holes on the direct plate of {circle}",
        circle=number(circle),
    )


def _hole_words(holes: int, circle: int) -> str:
    return say_n(
        holes,
        "one hole on the {circle} circle",
        "{count} holes on the {circle} circle",
        circle=number(circle),
    )


def _handwheel_words(minutes: ArcMinutes) -> str:
    return say("{angle} on the handwheel", angle=arc_words(minutes))


def arc_words(minutes: ArcMinutes) -> str:
    """ "three degrees twenty-six minutes", "nought"."""
    whole, rest = divmod(minutes, 60)
    degrees = say_n(int(whole), "one degree", "{count} degrees")
    if not rest:
        return degrees if whole else say("nought")
    small = say("one minute") if rest == 1 else say("{figure} minutes", figure=decimal(rest))
    return say("{degrees} {minutes}", degrees=degrees, minutes=small) if whole else small


def _plate_words(holes: int, circle: int) -> str:
    if holes > 0:
        return say_n(
            holes,
            "plate and crank together forward, one hole on the {circle} at the back pin",
            "plate and crank together forward, {count} holes on the {circle} at the back pin",
            circle=number(circle),
        )
    return say_n(
        -holes,
        "plate and crank together backward, one hole on the {circle} at the back pin",
        "plate and crank together backward, {count} holes on the {circle} at the back pin",
        circle=number(circle),
    )


def move_figures(move: Move) -> str:
    """ "4 turns + 8 holes on 18": the move in figures, for the eye."""
    if move.block:
        return say_n(move.direct_holes or 0, "{n} face", "{n} faces", n=move.direct_holes)
    if move.direct_circle:
        return say("{holes} of {circle} direct", holes=move.direct_holes, circle=move.direct_circle)
    parts = [say_n(move.turns, "{n} turn", "{n} turns", n=move.turns)] if move.turns else []
    if move.holes:
        holes = say_n(
            move.holes, "{n} hole on {circle}", "{n} holes on {circle}",
            n=move.holes, circle=move.circle,
        )  # fmt: skip
        parts.append(holes)
    if move.minutes:
        degrees, minutes = divmod(Fraction(move.minutes), 60)
        parts.append(f"{degrees}° {float(minutes):g}′")
    if move.plate_holes:
        holes = f"{move.plate_holes:+d}"
        parts.append(say("plate {holes} on {circle}", holes=holes, circle=move.plate_circle))
    return " + ".join(parts) or say("0 turns")
