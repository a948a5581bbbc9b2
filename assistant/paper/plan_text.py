"""A plan in plain text, to be read at a glance beside the machine."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from fractions import Fraction

from solver import Gearing, Head, Move, Reckoning, Setup

_SHOWN_MOVES = 6
_INDENT = "    "
_WIDTH = 92


def plan_heading(what: str, head: Head) -> str:
    """What was asked for, on which head."""
    return f"{what} on {head.name}" + (f": {head.describe}" if head.describe else "")


def setup_text(place: int, setup: Setup, all_moves: bool = False) -> list[str]:
    """One set-up: what it is, its moves, what to set, why it stands here."""
    lines = [f"{place:2}. {title(setup)}"]
    lines += [_INDENT + line for line in moves_text(setup, all_moves)]
    lines += [_INDENT + line for line in set_once(setup)]
    for reason in setup.reasons:
        lines += _wrapped(reason)
    if setup.reckoning:
        lines += _wrapped(reckoned(setup.reckoning))
    return lines


def reckoned(reckoning: Reckoning) -> str:
    """The whole reckoning in one line."""
    once = sum(line.minutes for line in reckoning.lines if line.once)
    moves = reckoning.minutes - once
    spoilt = reckoning.slips * reckoning.blank
    return (
        f"reckoned {_minutes(reckoning.cost)} min: {_minutes(once)} to set up, "
        f"{_minutes(moves)} to move, {_minutes(spoilt)} for slips "
        f"({chance(reckoning.slips)} to spoil the blank)"
    )


def reckoning_lines(reckoning: Reckoning) -> Iterator[str]:
    """Every line of the reckoning: minutes, and the chance that it spoils the blank."""
    yield "Reckoned for the first way (config/order.toml; --prefer takes other figures):"
    for line in reckoning.lines:
        told = _PARTS.get(line.what, line.what)
        times = f" x {line.times}" if line.times > 1 and line.what not in _TOTALS else ""
        risk = f"  {chance(line.slips)} to spoil the blank" if line.slips else ""
        yield f"  {_minutes(line.minutes):>7} min  {told}{times}{risk}"
    spoilt = _minutes(reckoning.slips * reckoning.blank)
    blank = f"a blank is worth {_minutes(reckoning.blank)} minutes"
    yield f"  {spoilt:>7} min  for slips: {float(reckoning.slips):.2g} to expect; {blank}"


_TOTALS = ("turning", "stiff")

_PARTS = {
    "worm": "worm out of mesh, and back",
    "setting": "crank pin and sector arms set",
    "plate": "plate changed",
    "back pin": "back pin set to its circle",
    "level": "head levelled for the gears",
    "two gears": "two change gears put on",
    "four gears": "four change gears put on",
    "idlers": "idlers put on",
    "tight": "gears that may foul, tried by hand",
    "steep": "a train that steps up by more than two",
    "stiff": "the crank is stiff: the train steps up",
    "pin": "pin out and in",
    "turning": "the crank turned",
    "turns": "whole turns counted",
    "holes": "holes counted without arms",
    "count": "holes counted, between the arms where there are any",
    "beyond": "one hole or two beyond the arms, where it is called",
    "changing": "counts that change from move to move",
    "second count": "a second count, plate and crank together",
    "plate holes": "holes counted at the back pin",
    "slack": "slack taken up where the plate comes back",
    "dial": "the dial read",
    "several": "places kept over several rounds of the work",
}


def _minutes(minutes: Fraction | int) -> str:
    return f"{float(minutes):.1f}"


def chance(slips: Fraction) -> str:
    """The chance of one slip or more, where so many are to be expected."""
    from math import exp

    percent = 100 * (1 - exp(-float(slips)))
    return f"{percent:.0f} %" if percent >= 9.5 else f"{percent:.2g} %"


def _wrapped(text: str) -> list[str]:
    if len(text) <= _WIDTH:
        return [_INDENT + text]
    from textwrap import wrap

    return wrap(text, _WIDTH, initial_indent=_INDENT, subsequent_indent=_INDENT + "  ")


def title(setup: Setup) -> str:
    """The method in capitals, where on the head, and whether it is exact."""
    what = "nearest hole" if setup.method == "nearest" and setup.circle else setup.method
    return f"{what.upper()}{plate_place(setup)}{'' if setup.exact else ', not exact'}"


def plate_place(setup: Setup) -> str:
    """`, plate B, circle 21`, or the direct plate, or nothing for a handwheel."""
    if setup.circle is None:
        return ", handwheel"
    if setup.moves[0].block:
        return f", block of {setup.circle} faces"
    if setup.plate is None:
        return f", direct plate of {setup.circle}"
    if setup.any_plate:
        return f", any plate (circle {setup.circle} of {setup.plate} for one)"
    other = next((move.plate_circle for move in setup.moves if move.plate_circle), None)
    circles = f"circle {setup.circle}" if other is None else f"circles {setup.circle} and {other}"
    return f", plate {setup.plate}, {circles}"


def moves_text(setup: Setup, all_moves: bool) -> list[str]:
    """The first moves, or all of them, a line each."""
    shown = setup.moves if all_moves else setup.moves[:_SHOWN_MOVES]
    lines = [f"{move_text(move)}{_times(move.times)}" for move in shown]
    if len(setup.moves) > len(shown):
        count = sum(move.times for move in setup.moves)
        lines.append(f"... {count} moves in all; --moves shows every one")
    return lines


def _times(times: int) -> str:
    return f"   x {times}" if times > 1 else ""


def move_text(move: Move) -> str:
    """`1 turn + 19 holes on 21`, only with the parts that there are."""
    if move.block:
        return _count(move.direct_holes or 0, "face")
    if move.direct_circle is not None:
        return f"{_count(move.direct_holes or 0, 'hole')} of {move.direct_circle}"
    parts = [_count(move.turns, "turn")] if move.turns else []
    if move.holes:
        parts.append(f"{_count(move.holes, 'hole')} on {move.circle}")
    if move.minutes:
        degrees, minutes = divmod(move.minutes, 60)
        parts.append(f"{degrees}°{minutes}' on the dial")
    if move.plate_holes:
        way = "plate with crank, forward" if move.plate_holes > 0 else "plate with crank, BACK"
        parts.append(f"{way} {_count(abs(move.plate_holes), 'hole')} on {move.plate_circle}")
    return " + ".join(parts) or "no move"


def _count(number: int, what: str) -> str:
    return f"{number} {what}" if number == 1 else f"{number} {what}s"


def set_once(setup: Setup) -> Iterable[str]:
    """What is set once, before the first move."""
    if setup.sector_spaces:
        spaces = _count(setup.sector_spaces, "space")
        yield f"sector arms: {spaces}, {setup.sector_spaces + 1} holes with the pin's own"
    if setup.gearing:
        yield from gears_text(setup.gearing)
        yield "back pin out; turn the crank and watch the plate before any cut"
    if setup.every > 1:
        yield f"each move goes {setup.every} divisions on: mark the first, cut them all once"
    if any(move.plate_holes < 0 for move in setup.moves):
        yield "where the plate comes BACK: half a turn past that hole, and up to it again"


def gears_text(gearing: Gearing) -> Iterator[str]:
    """The train as it is met from the spindle to the plate."""
    idlers = _count(gearing.idlers, "idler") if gearing.idlers else "no idler"
    runs = f"{idlers}; the plate runs {gearing.plate.upper()} the crank"
    if len(gearing.drivers) == 1:
        spindle, plate = gearing.drivers[0], gearing.driven[0]
        yield f"gears: {spindle} on the spindle, {plate} on the plate's shaft, {runs}"
        return
    first, third = gearing.drivers
    second, fourth = gearing.driven
    yield f"gears: {first} on the spindle drives {second} on the stud,"
    yield f"       {third} on the stud drives {fourth} on the plate's shaft, {runs}"
    others = ["-".join(map(str, order)) for order in gearing.orders[1:]]
    if others:
        yield f"       other orders that clear: {', '.join(others)}"
