"""What stands on a job sheet beside the table and the drawings, worded for the eye."""

from __future__ import annotations

from collections.abc import Iterator

from assistant.engine.calling import marks_anew
from assistant.job import feeds
from assistant.job.compiler import Stage
from assistant.job.job_file import Job
from assistant.job.part import depths_shown
from assistant.job.set_up_steps import arms_spaces, most_beyond, one_spacing
from assistant.job.units import shown
from assistant.words.spoken import capital
from solver import Gearing, Head, Move, Setup

Fact = tuple[str, str]

SAFETY = (
    "This sheet sees nothing and stops nothing. Know where the stop button of the machine is.",
    "Guards on, eyes covered, no gloves, nothing loose. Brush the chips, never a rag.",
    "Stop the cutter before you measure or reach over it.",
    "The machine's own manual, local rules and trained practice come first.",
)
LOCKED = "Lock the spindle for every cut; lock off before every move; cutter clear first."
VICE = "Vice tight for every cut; the cutter stopped before a hand goes to the block."
UNLOCKED = "The head is driven while this cuts: the spindle must NOT be locked."
_TICK = (
    "Tick every cut when it is made. Place lost: the scale and the pin's hole tell where you are."
)
_TICK_FACES = "Tick every cut when it is made. Place lost: the face that lies up tells it."


def habits(stage: Stage) -> Iterator[str]:
    """What every move asks for, as this job is indexed (common practice)."""
    setup = stage.setup
    if setup.moves[0].block:
        yield "Chips off block, jaws and parallel at every face; the vice tight before every cut."
        yield _TICK_FACES
        return
    if setup.method == "direct" and stage.unlocked:
        # The table screw drives the spindle itself: a pin that stays in is broken by it.
        yield "Gears out of mesh to index, the pin home; gears in and the pin out before the cut."
    elif setup.method == "direct":
        yield "Worm out of mesh: turn the spindle by hand, and see the pin home before you lock."
    elif setup.plate:
        yield "Turn the crank one way only. Gone past the hole: back half a turn, up to it again."
        if arms_spaces(stage.programme.moves):
            yield "After every move swing the arms on at once, before anything else."
    else:
        yield "Turn the handwheel one way only. Gone too far: back half a turn, up to it again."
    if marks_anew(stage.programme):
        yield "The plate turns too: after each round mark the hole of the pin, and count from it."
    yield _TICK


def set_up(job: Job, head: Head, stage: Stage) -> Iterator[Fact]:
    """Head, plate, circle, arms, gears: what is fitted and set before the first cut."""
    setup, programme = stage.setup, stage.programme
    yield "Head", head.describe or head.name
    if setup.moves[0].block:
        yield "Faces", f"{setup.circle}, numbered, face 1 up first"
    elif setup.method == "direct":
        yield "Direct plate", f"{setup.circle} holes, worm out of mesh"
    elif setup.plate:
        yield "Plate", f"{setup.plate}, pin on the circle of {setup.circle}"
        yield "Sector arms", arms(programme.moves)
    else:
        yield "Handwheel", "read each move on its dial"
    if setup.gearing:
        yield "Change gears", gears(setup.gearing)
    yield "Indexing", f"{setup.method}: {setup.why}"
    yield "Worst error", error(setup)
    yield "Depth", _depths(stage)
    passes = "pass" if programme.passes == 1 else "passes"
    if job.material:
        yield "Material", job.material.replace("-", " ")
    found = feeds.feeds(job.material, job.cutter, job.machine)
    for figure in feeds.feed_figures(found, job.unit) if found else ():
        yield figure.name.capitalize(), figure.shown
    yield "Cuts", f"{programme.cuts} in {programme.passes} {passes}"


def _depths(stage: Stage) -> str:
    found = depths_shown(stage.passes, stage.part.unit)
    return found or stage.programme.depth or "not given in the job"


def figure_facts(stage: Stage) -> Iterator[Fact]:
    """The part's own figures; the depths stand with the set-up already."""
    for figure in stage.part.figures:
        if figure.name != "depths":
            yield figure.name, figure.shown


def arms(moves: tuple[Move, ...]) -> str:
    """ "8 spaces: 9 holes between them, with the one the pin is in", or why they are left alone."""
    spaces = arms_spaces(moves)
    if spaces:
        told = "1 space" if spaces == 1 else f"{spaces} spaces"
        told = f"{told}: {spaces + 1} holes between them, with the one the pin is in"
        most = most_beyond(moves)
        beyond = f"; they stay so, a move of {spaces + 1} goes one hole beyond them" if most else ""
        return told + beyond + (f", of {spaces + 2} two" if most > 1 else "")
    if one_spacing(moves):
        return "not used: every move is whole turns"
    return "not used: the holes change from move to move"


def gears(gearing: Gearing) -> str:
    """The train from the spindle to the plate."""
    train = "; ".join(
        f"driver {driver}, driven {driven}"
        for driver, driven in zip(gearing.drivers, gearing.driven, strict=True)
    )
    idlers = f"{gearing.idlers} idler{'' if gearing.idlers == 1 else 's'}"
    order = f"; in order {' – '.join(map(str, gearing.orders[0]))}" if gearing.orders else ""
    return (
        f"from the spindle: {train}; {idlers}{order}. The plate must turn {gearing.plate} "
        "the crank: prove it by hand. Back pin out."
    )


def error(setup: Setup) -> str:
    """The worst error of the spacing in words, on the head as it was measured where it was."""
    if setup.true_error is not None:
        how = "each move corrected" if setup.corrected else "its own errors counted"
        seconds = float(setup.true_error * 1296000)
        return f"{seconds:.1f} arc-seconds on the head as it was measured, {how}"
    if setup.exact:
        return "none: every position is exact"
    return f"{setup.worst_error_arcsec:.1f} arc-seconds, and it never adds up"


def measurements(stage: Stage) -> Iterator[str]:
    """What is measured, when, and what it should come to."""
    for each in stage.measurements:
        cuts = "cut" if each.after == 1 else "cuts"
        now, last = shown(each.expected, stage.part.unit), shown(each.target, stage.part.unit)
        size = last if each.expected == each.target else f"{now} now, {last} finished"
        yield f"{each.what}: in pass {each.pass_number} after {each.after} {cuts}, target {size}"


def warnings(stage: Stage) -> Iterator[str]:
    """What is to be known before the first cut: whether the lock is on for it, and what the
    part warns of.
    """
    if stage.setup.moves[0].block:
        yield VICE
    else:
        yield UNLOCKED if stage.unlocked else LOCKED
    yield from (f"{capital(each.text).rstrip('.')}." for each in stage.part.warnings)
