"""How the set-up ends: the demo on one's own head, a job of one's own, a dry round, the drawer."""

from __future__ import annotations

from collections.abc import Iterator

from assistant.errors import Refusal, WrongUse
from assistant.files.places import head_path
from assistant.files.settings import Settings
from assistant.job.from_drawer import check_owned
from assistant.words.moves import move_figures
from solver import Head, Refused, load_head, plan

DEMO, TEETH = "pinion", 21


def next_steps(settings: Settings) -> Iterator[str]:
    """Lines, the first thing to try first."""
    if head := _own(settings):
        yield f"The demo on your {head.name}: {_demo(head)}."
        yield f"Try it:         tallyhand run {DEMO} --own-head"
    else:
        yield f"Try the demo:   tallyhand run {DEMO}"
    yield "A job of yours: tallyhand job new"
    yield (
        "A dry round:    run that job, cutter stopped and clear, and answer its trial round in the "
        "set-up with “lock is off”: it calls every move, and nothing is cut"
    )
    yield _drawer(settings)
    yield "Look again:     tallyhand doctor"


def _own(settings: Settings) -> Head | None:
    """The head that was chosen; None where none was, or where it can't be read."""
    if not settings.job.head:
        return None
    try:
        return load_head(head_path(settings.job.head))
    except (Refused, WrongUse):
        return None


def _demo(head: Head) -> str:
    """How the pinion of the demo is indexed there."""
    setup = plan(head, divisions=TEETH, most=1)[0]
    plate = f"plate {setup.plate}, " if setup.plate and not setup.any_plate else ""
    moves = {move._replace(times=1) for move in setup.moves}
    told = move_figures(moves.pop()) if len(moves) == 1 else "the nearest places, each called"
    return f"{TEETH} teeth, {plate}{told}, {'exact' if setup.exact else 'not exact'}"


def _drawer(settings: Settings) -> str:
    """Whether it fits the head that was chosen."""
    if not settings.drawer.data:
        return "Your cutters:   none are kept yet; [drawer] in the settings (docs/drawer.md)"
    try:
        check_owned(settings)
    except (Refusal, Refused, WrongUse) as error:
        return f"Your drawer:    {error}"
    return "Your drawer:    fits this head"
