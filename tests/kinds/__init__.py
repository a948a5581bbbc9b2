"""Each kind of work, as a literal person cuts it: a file a kind, or a few that are cut alike."""

from __future__ import annotations

from functools import cache
from importlib import import_module
from pkgutil import iter_modules

from tests import kinds
from tests.machinist.craft import Craft


@cache
def crafts() -> dict[str, Craft]:
    """What the files of this folder hold, by the kind's name."""
    modules = [import_module(each.name) for each in iter_modules(kinds.__path__, "tests.kinds.")]
    values = [value for module in modules for value in vars(module).values()]
    return {each.kind: each for each in values if isinstance(each, Craft)}
