"""Standard sizes, and the nearest of them where a job's figure is close to one but not it.

The tables are data, each with the source that it was read from: `config/standards/`. A size in
no table is nobody's fault: only what looks like a slip is told.
"""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from fractions import Fraction
from functools import cache
from typing import Any

from assistant.files.places import config_folder
from assistant.job.units import Unit

_CLOSE = Fraction(3, 100)  # neighbours in every table stand further apart than that
SAME = Fraction(1, 1_000)  # mm: rounded from the other system


@dataclass(frozen=True, slots=True)
class Standard:
    """One table. `sizes` are numbers, or rows of named numbers, in `unit`."""

    name: str
    source: str
    unit: Unit
    sizes: tuple[Any, ...]


@cache
def standard_table(name: str) -> Standard:
    """The table of that name in `config/standards/`, its numbers exact."""
    path = config_folder() / "standards" / f"{name}.toml"
    data = tomllib.loads(path.read_text("utf-8"), parse_float=Fraction)
    return Standard(
        data["standard"], data["source"], data["unit"], tuple(map(_exact, data["sizes"]))
    )


def _exact(size: Any) -> Any:
    """`size` may be a number, a fraction as text, or a row of these."""
    if isinstance(size, dict):
        return {key: Fraction(value) for key, value in size.items()}
    return Fraction(size)


def nearest_size(wanted: Fraction, sizes: tuple[Fraction, ...]) -> Fraction | None:
    """The size that `wanted` is close to without being it; None where there is none."""
    best = min(sizes, key=lambda size: abs(size - wanted))
    off = abs(best - wanted)
    return best if 0 < off <= _CLOSE * best else None
