"""`tallyhand inspect`: the spacing of a finished part, from readings tooth by tooth."""

from __future__ import annotations

import math
from argparse import Namespace
from pathlib import Path

from assistant import errors
from assistant.commands import command_line
from assistant.paper.inspection import Spacing, polar_chart, spacing_of


def main(given: Namespace) -> int:
    spacing = spacing_of(readings_in(given.readings))
    teeth = len(spacing.index)
    k = spacing.usual_k if given.k is None else given.k
    if not 1 <= k < teeth:
        raise errors.WrongUse(f"tallyhand inspect: --k {k}: from 1 to {teeth - 1}")
    print("\n".join(_told(spacing, k)))
    if given.out:
        try:
            Path(given.out).write_text(polar_chart(spacing), "utf-8")
        except OSError as error:
            raise errors.Refusal(f"{given.out}: {error.strerror}: name another file") from error
        print(f"{given.out} is written: the deviations round the part.")
    return command_line.DONE


def readings_in(name: str) -> list[float]:
    """A figure a line. Raises Refusal with the line and the cure."""
    try:
        lines = Path(name).read_text("utf-8").splitlines()
    except (OSError, UnicodeDecodeError) as error:
        raise errors.Refusal(f"{name}: {error}: give a text file, a reading a line") from error
    found = []
    for number, line in enumerate(lines, 1):
        bare = line.partition("#")[0].strip()
        if not bare:
            continue
        try:
            value = float(bare)
        except ValueError:
            value = math.nan
        if not abs(value) < 1e9:
            raise errors.Refusal(
                f"{name} line {number}: {bare[:30]!r}: write one figure, like -3.5"
            )
        found.append(value)
    if len(found) < 3:
        raise errors.Refusal(f"{name}: {len(found)} readings: one for each tooth, 3 or more")
    return found


def _told(spacing: Spacing, k: int) -> list[str]:
    worst = max(range(len(spacing.pitches)), key=lambda n: abs(spacing.pitches[n]))
    following = (worst + 1) % len(spacing.pitches) + 1
    return [
        f"{len(spacing.index)} teeth; all figures in the unit of the readings (ISO 1328-1)",
        f"single pitch deviation: {spacing.single:.4g}, from tooth {worst + 1} to {following}",
        f"cumulative over {k} pitches: {spacing.over(k):.4g}",
        f"total cumulative: {spacing.total:.4g}",
    ]
