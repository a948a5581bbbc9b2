"""What several kinds share: passes, the cutter over the axis, the tailstock, trial marks."""

from __future__ import annotations

from fractions import Fraction

from assistant.spoken import capital, number
from assistant.work.part import Figure, Findings, Passes, Shop
from assistant.work.reader import Table
from assistant.work.units import said, shown

PASS_KEYS = ("passes", "finish")


def read_passes(table: Table) -> Passes:
    return Passes(table.whole("passes", 1, 20, 1), table.maybe_length("finish"))


def tailstock(shop: Shop) -> str:
    """The tailstock at the height of the head's axis; with its number where that is known."""
    height = shop.machine.centre_height
    at = f" {said(height, shop.unit)} above the table" if height else ""
    return f"Tailstock centre on the height of the head's axis{at}, and its screw tight."


def runs_true(diameter: Fraction | None, shop: Shop) -> str:
    size = f" Its diameter should measure {said(diameter, shop.unit)}." if diameter else ""
    return f"Work held tight and running true.{size}"


def over_centre(diameter: Fraction, shop: Shop, feature: str = "Cutter") -> str:
    """Touch one side, then move across by half of work and cutter together (common practice)."""
    wide = shop.cutter.width
    if wide is None:
        return (
            f"{feature} over the axis: touch one side of the work with the side of the cutter, "
            f"lower the table clear, and move across {said(diameter / 2, shop.unit)} "
            "and half the cutter's width."
        )
    across = (diameter + wide) / 2
    return (
        f"{feature} over the axis: touch one side of the work with the side of the cutter, "
        f"lower the table clear, and move across {said(across, shop.unit)}."
    )


def centre_figures(diameter: Fraction, shop: Shop) -> tuple[Figure, ...]:
    wide = shop.cutter.width
    if wide is None:
        return ()
    return (Figure("from touching to centre", shown((diameter + wide) / 2, shop.unit)),)


def touch_top() -> str:
    return "Touch the top of the work with the turning cutter, and set the depth dial to nought."


def upright() -> str:
    return "Axis upright: the head tilted to ninety degrees, or the rotary table lying flat."


def check_upright(shop: Shop, key: str, found: Findings) -> None:
    """A head that tilts, but not so far, can't do face work; a rotary table (0 to 0) lies flat."""
    least, most = shop.head.tilt_degrees
    if not least == most == 0 and most < 90:
        found.refuse(
            key,
            f"this work needs the axis upright, and {shop.head.name} tilts to "
            f"{float(most):g} degrees: a head that tilts to 90, or a rotary table",
        )


def trial_moves(cuts: int) -> str:
    return (
        "Trial round: go through all moves once with the cutter clear, and count them: "
        f"{number(cuts)}. Only then cut."
    )


def trial_marks(cuts: int, what: str) -> str:
    return (
        f"Trial marks: a light touch at every {what}, all the way round, and count them: "
        f"{number(cuts)}. Only then cut to depth."
    )


def depth_step(words: tuple[str, ...]) -> str:
    """The depths of the passes, for the ear."""
    if len(words) == 1:
        return f"Depth: {words[0]}."
    each = ", ".join(f"pass {number(n)}, {depth}" for n, depth in enumerate(words, 1))
    return f"Depth from the first touch: {each}."


def check_cutter_in_bar(
    depth: Fraction, radius: Fraction, key: str, f: Findings, unit: str
) -> None:
    """A depth that reaches the axis cuts the part in two."""
    if depth >= radius:
        f.refuse(
            key,
            f"a depth of {shown(depth, unit)} reaches the axis of the bar: "
            f"less than {shown(radius, unit)} can be cut",
        )


def sentence(*parts: str) -> str:
    return " ".join(capital(part) for part in parts if part)
