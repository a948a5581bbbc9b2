"""Heads for the tests, made from plain figures."""

from __future__ import annotations

from collections.abc import Iterable
from fractions import Fraction
from pathlib import Path

from solver import Head, Plate, load_head
from tests.solver.published import THREE_PLATES, TWELVE_GEARS, TWO_SIDES

SHIPPED = Path(__file__).resolve().parents[2] / "config" / "heads"


def shipped(name: str) -> Head:
    return load_head(SHIPPED / f"{name}.toml")


def head(
    ratio: int | Fraction = 40, plates: Iterable[Iterable[int]] = THREE_PLATES, drive: str = "fixed"
) -> Head:
    """A head with these circles, a plate for each group of them."""
    return Head(
        name="test",
        describe="",
        worm_ratio=Fraction(ratio),
        plate_drive=drive,
        plates=tuple(
            Plate(f"plate {n}", tuple(circles)) for n, circles in enumerate(plates, start=1)
        ),
    )


def geared(gears: tuple[int, ...] = TWELVE_GEARS) -> Head:
    return head(drive="geared")._replace(change_gears=gears)


def pinned() -> Head:
    """The three plates and the two-sided plate, all with a back pin."""
    return head(plates=(*THREE_PLATES, *TWO_SIDES), drive="pinned")
