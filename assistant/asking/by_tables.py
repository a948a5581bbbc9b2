"""What the published tables have for a drawing's figures: offered, never put in unasked."""

from __future__ import annotations

from fractions import Fraction
from math import ceil, cos, pi

from assistant.asking.question import Answers
from assistant.job.screw_heads import screw_heads
from assistant.job.standards import table
from assistant.job.units import MM_PER_INCH


def key_width(answers: Answers) -> str:
    """The key that belongs to the shaft (DIN 6885-1, ANSI B17.1)."""
    row, scale = _key(answers)
    return "" if row is None else answers.shown(row["width"] * scale)


def key_depth(answers: Answers) -> str:
    """The depth of its keyway, where the width is the table's."""
    row, scale = _key(answers)
    width = answers.length("width")
    if row is None or width != row["width"] * scale:
        return ""
    return answers.shown(row["depth"] * scale)


def key_depth_from(answers: Answers) -> str:
    """DIN counts from the top of the round, the inch table from the edge of the slot."""
    return "side" if answers.unit == "in" else "crown"


def _key(answers: Answers) -> tuple[dict[str, Fraction] | None, Fraction]:
    kept = table("keys-inch" if answers.unit == "in" else "keys")
    scale = MM_PER_INCH if kept.unit == "in" else Fraction(1)
    shaft = answers.length("shaft")
    if shaft is None:
        return None, scale
    return next((r for r in kept.sizes if r["over"] < shaft / scale <= r["to"]), None), scale


def spline(answers: Answers, key: str) -> str:
    """Root or width of the first spline of that count and outside diameter (ISO 14)."""
    count, outside = answers.whole("splines"), answers.length("outside")
    for row in table("splines").sizes:
        if (row["splines"], row["outside"]) == (count, outside):
            return answers.shown(row[key])
    return ""


def sharp_bar(answers: Answers) -> str:
    """The bar, to the next whole or half millimetre, from which the corners are sharp."""
    sides, across = answers.whole("sides"), answers.length("across_flats")
    if screw := screw_heads().get(str(answers.of("across_flats")).strip()):
        across = screw.limits.nominal
    if not sides or sides < 3 or across is None:
        return ""
    step = Fraction(1, 2) if answers.unit == "mm" else MM_PER_INCH / 16
    least = float(across) / cos(pi / sides)
    return answers.shown(ceil(round(least / float(step), 6)) * step)


def gear_blank(answers: Answers) -> str:
    """(N + 2) m, with the addendum and the shift of its teeth."""
    teeth, module = answers.whole("teeth"), module_of(answers)
    tip = _addendum(answers) + (answers.number("shift") or 0)
    return "" if teeth is None or module is None else answers.shown((teeth + 2 * tip) * module)


def _addendum(answers: Answers) -> Fraction:
    return answers.number("addendum") or Fraction(1)


def module_of(answers: Answers) -> Fraction | None:
    """In mm, by module or by diametral pitch."""
    pitch = answers.number("diametral_pitch")
    if pitch:
        return MM_PER_INCH / pitch
    return answers.number("module")


def whole_depth(answers: Answers) -> str:
    """By custom: 2.157 by diametral pitch, 2.25 by module, 2.4 where it is fine; stub teeth are cut
    with the same cutters."""
    module = module_of(answers)
    full = "2.4" if module and module < Fraction(5, 4) else "2.25"
    if answers.number("diametral_pitch"):
        full = "2.157"
    return (
        full if _addendum(answers) == 1 else f"{float(Fraction(full) - 1 + _addendum(answers)):g}"
    )
