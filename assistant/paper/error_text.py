"""Errors in words and as JSON-ready data: the statement, and every position."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from typing import Any

from solver import Head, Length, Setup, Turns, arc, degrees_text, each_position, error_statement

_ARCSEC = 360 * 60 * 60


def statement_lines(
    head: Head, setup: Setup, request: dict[str, Any], radius: Length | None
) -> Iterator[str]:
    """Worst error, worst space, and the budget with what the head itself is stated to add."""
    statement = error_statement(head, setup, **request)
    counted = "error as the head was measured" if statement.measured else "error"
    yield (
        f"{counted}: worst position {_shown(statement.worst, radius)}, "
        f"worst space {_shown(statement.adjacent, radius)}"
    )
    budget = statement.budget
    if budget.worm or budget.plate:
        own = "what is not known of the head" if statement.measured else "the head's own errors"
        yield (
            f'with {own}: {budget.worst_case:.1f}" at the very worst, '
            f'{budget.rss:.1f}" as root of the sum of squares (JCGM 100:2008, 5.1.2)'
        )


def missing_line(head: Head, setup: Setup, request: dict[str, Any]) -> str:
    """What the head's file leaves out of the budget, or nothing."""
    missing = error_statement(head, setup, **request).budget.missing
    if not missing:
        return ""
    told = " and ".join(missing)
    return f"The head's own errors come on top; its file does not state {told} under [errors]."


def useless_line(head: Head, setup: Setup, request: dict[str, Any]) -> str:
    """Said where a space between neighbours is off by half of itself or more, or nothing."""
    space = Turns(Fraction(1, request["divisions"]) if "divisions" in request else Fraction(0))
    off = error_statement(head, setup, **request).adjacent
    if not space or off < space / 2:
        return ""
    return (
        f"Of no use: neighbours should be {degrees_text(space)} apart and come out up to "
        f"{degrees_text(off)} off, so that places fall together."
    )


def _shown(turns: Turns, radius: Length | None) -> str:
    seconds = f'{float(turns * _ARCSEC):.2f}"'
    return seconds if radius is None else f"{seconds} ({_length(turns, radius)})"


def _length(turns: Turns, radius: Length) -> str:
    length = arc(turns, radius)
    places = 4 if radius.unit == "mm" else 5
    at = f"{float(radius.value):g} {radius.unit}"
    return f"{float(length.value):.{places}f} {length.unit} at {at}"


def position_lines(
    head: Head, setup: Setup, request: dict[str, Any], radius: Length | None
) -> Iterator[str]:
    """A line for each position, in the order visited."""
    yield "Every position of the first way: true place, error in arc-seconds, exact error in turns"
    for n, place in enumerate(each_position(head, setup, **request), 1):
        error = f'{float(place.error * _ARCSEC):+.2f}"'
        length = f"  {_length(place.error, radius)}" if radius else ""
        yield f"{n:6}  {degrees_text(place.target):<18} {error:>10}  {place.error}{length}"


def position_records(
    head: Head, setup: Setup, request: dict[str, Any], radius: Length | None
) -> list[dict[str, Any]]:
    """Each position with target, place reached and error, in turns as exact texts and in
    arc-seconds; with a radius also as a length.
    """
    records = []
    for place in each_position(head, setup, **request):
        record = {
            "target_turns": str(place.target),
            "reached_turns": str(place.reached),
            "error_turns": str(place.error),
            "error_arcsec": float(place.error * _ARCSEC),
        }
        if radius:
            record["error_length"] = float(arc(place.error, radius).value)
        records.append(record)
    return records
