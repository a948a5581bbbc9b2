"""The drawer of the settings, looked at as a job would look at it."""

from __future__ import annotations

from collections.abc import Iterator

from assistant.errors import Refusal, WrongUse
from assistant.files.settings import Settings
from assistant.job.drawer import drawer_of
from assistant.job.from_drawer import check_owned
from assistant.job.owned import Owned
from assistant.setup.checks import Finding
from solver import Refused

_CURE = "mend that line; docs/drawer.md has the keys"


def check_drawer(settings: Settings) -> Iterator[Finding]:
    """What it holds, or the first thing that is wrong with it; nothing where none is kept."""
    if not settings.drawer.data:
        return
    try:
        drawer = drawer_of(settings)
        check_owned(settings)
    except Refusal as error:
        yield Finding("drawer", False, str(error), _CURE)
        return
    except (Refused, WrongUse):
        pass  # the head can't be read, and that is told of the head
    count = len(drawer.cutters)
    cutters = f"{count} cutter" if count == 1 else f"{count} cutters"
    yield Finding("drawer", True, "; ".join([cutters, *_owned(drawer.owned)]))


def _owned(owned: Owned) -> Iterator[str]:
    """Of plates and gears what was written; what was left out is all that the head has."""
    if owned.plates is not None:
        yield f"plates {', '.join(owned.plates)}"
    if owned.gears is not None:
        yield f"gears {', '.join(map(str, owned.gears)) or 'none'}"
