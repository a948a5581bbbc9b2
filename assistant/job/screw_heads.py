"""Hexagon heads of screws by their thread: across flats with its limits, and the least corners."""

from __future__ import annotations

import tomllib
from fractions import Fraction
from functools import cache
from typing import NamedTuple

from assistant.files.places import config_folder
from assistant.job.limits import Limits
from solver import Millimetres


class ScrewHead(NamedTuple):
    """`corners`: the least over them that the standard takes, mm."""

    thread: str
    limits: Limits
    corners: Millimetres


@cache
def screw_heads() -> dict[str, ScrewHead]:
    """By the thread, "M12"; from `config/standards/hexagon-screws.toml`."""
    path = config_folder() / "standards" / "hexagon-screws.toml"
    rows = tomllib.loads(path.read_text("utf-8"), parse_float=Fraction)["sizes"]
    return {each.thread: each for each in map(_head, rows)}


def _head(row: dict[str, Fraction]) -> ScrewHead:
    across, low = (Millimetres(Fraction(row[key])) for key in ("across", "low"))
    thread = f"M{float(row['thread']):g}"
    written = f"{float(low - across):g} +0"
    return ScrewHead(
        thread,
        Limits(across, low, across, written),
        Millimetres(Fraction(row["corners"])),
    )
