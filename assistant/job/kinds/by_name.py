"""All kinds of work by the name that a job file gives them, as their files are found here."""

from __future__ import annotations

from collections.abc import Iterator
from importlib import import_module
from pkgutil import iter_modules

from assistant.job import kinds
from assistant.job.work import Kind


def _found() -> Iterator[Kind]:
    """Every kind of every file of this folder; some come twice, where one file uses another."""
    for each in iter_modules(kinds.__path__, f"{kinds.__name__}."):
        if each.name != __name__:
            module = import_module(each.name)
            yield from (value for value in vars(module).values() if isinstance(value, Kind))


KINDS: dict[str, Kind] = {
    kind.name: kind for kind in sorted(_found(), key=lambda kind: (kind.rank, kind.name))
}
