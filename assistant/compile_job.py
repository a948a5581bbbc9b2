"""Makes a checked job into a programme: the best set-up, its moves, its set-up checklist."""

from __future__ import annotations

from fractions import Fraction
from itertools import accumulate
from pathlib import Path

from assistant.cli import Refusal
from assistant.job_file import Job
from assistant.places import head_file
from assistant.programme import Programme, spread
from assistant.wording import count, move_words, number
from solver import Head, Move, Refused, Setup, load_head, plan, spindle_move


def head_of(job: Job) -> Head:
    """The head that the job names, by name or by a path from the job file's own folder."""
    beside = Path(job.where).parent / job.head
    path = beside if job.head.endswith(".toml") and beside.exists() else head_file(job.head)
    return load_head(path)


def setups_of(job: Job, head: Head) -> tuple[Setup, ...]:
    """All set-ups for the job, best first. Raises Refusal when the head can't do it."""
    try:
        if job.divisions is not None:
            return plan(head, divisions=job.divisions, fitted=job.fitted)
        return plan(head, positions=list(job.angles or ()), fitted=job.fitted)
    except Refused as error:
        raise Refusal(f"{job.where}: {error}") from error


def programme_of(job: Job, head: Head, setup: Setup) -> Programme:
    """The session's programme for this set-up."""
    moves = spread(setup.moves)
    ends = accumulate(spindle_move(head, setup, move) for move in moves)
    positions = (Fraction(0), *(end % 1 for end in ends))
    return Programme(
        title=job.title,
        head=head.describe or head.name,
        method=setup.method,
        checklist=tuple(checklist(head, setup, moves)),
        moves=moves,
        positions=positions,
        passes=job.passes,
        scale_degrees=head.scale_degrees,
        scale_every=job.scale_every,
        arms_used=setup.sector_spaces is not None and one_spacing(moves),
        depth=job.depth,
        plate=setup.plate or "",
        plate_circles=circles_of(head, setup.plate),
        worm_ratio=head.worm_ratio,
    )


def circles_of(head: Head, plate: str | None) -> tuple[int, ...]:
    """All circles of the plate of that name; none where no plate is named."""
    return next((each.circles for each in head.plates if each.name == plate), ())


def one_spacing(moves: tuple[Move, ...]) -> bool:
    """True when the sector arms can stay as set: every move but the last counts the same holes."""
    return len({(move.holes, move.circle) for move in moves}) == 1


def checklist(head: Head, setup: Setup, moves: tuple[Move, ...]) -> list[str]:
    """The set-up, item by item, in the order in which it is done (common practice)."""
    items = [
        "Head bolted down on a clean table, keys in the slots.",
        "Work held tight and running true; tailstock, if used, on the same height.",
        "Cutter set over the work's axis, and it passes clear of every clamp.",
    ]
    items += _direct(setup) if setup.method == "direct" else _crank(head, setup, moves)
    if head.scale_degrees:
        items.append(
            "Degree scale: set it to nought, or write down its reading. It is the witness."
        )
    items.append("Guard works, eyes covered, no gloves, and you know where the stop button is.")
    return items


def _direct(setup: Setup) -> list[str]:
    circle = setup.moves[0].direct_circle or 0
    return [
        f"Worm out of mesh. Direct plate of {number(circle)} holes, its pin in a hole: "
        "that is the first hole.",
    ]


def _crank(head: Head, setup: Setup, moves: tuple[Move, ...]) -> list[str]:
    items = []
    if setup.plate and setup.circle:
        items.append(f"Plate {setup.plate} on the head, its screws tight.")
        items.append(f"Crank pin set to the {number(setup.circle)} circle.")
        items.append(_arms(setup, moves))
    items += _gears(setup)
    if any(move.plate_holes for move in moves):
        items.append("Back pin in its hole. For each move: crank first, then plate and crank.")
    start = "Pin in" if setup.plate else "Handwheel at"
    items.append(
        "Take up the slack: turn the crank the way you will always turn it, "
        f"and come up to the start that way. {start} the first hole."
        if setup.plate
        else "Take up the slack: turn the handwheel the way you will always turn it, "
        "and come up to its nought that way."
    )
    return items


def _arms(setup: Setup, moves: tuple[Move, ...]) -> str:
    if not one_spacing(moves):
        return "Leave the sector arms: the holes change from move to move, and I call each one."
    holes = moves[0].holes
    if not holes:
        return "Leave the sector arms: every move is whole turns."
    spaces = count(setup.sector_spaces or holes, "space")
    return (
        f"Sector arms: left arm against the pin, right arm so that {spaces} lie between, "
        f"{number(holes + 1)} holes with the one the pin is in. Lock the arms."
    )


def _gears(setup: Setup) -> list[str]:
    if not setup.gearing:
        return []
    gearing = setup.gearing
    drivers = " and ".join(number(gear) for gear in gearing.drivers)
    driven = " and ".join(number(gear) for gear in gearing.driven)
    return [
        f"Change gears: drivers {drivers}, from the spindle; driven {driven}, at the plate; "
        f"{count(gearing.idlers, 'idler')}.",
        "Back pin out, so that the plate is free to turn.",
        f"Turn the crank and watch the plate: it must turn {gearing.plate} the crank.",
    ]


def first_move_words(programme: Programme) -> str:
    return move_words(programme.moves[0])
