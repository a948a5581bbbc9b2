"""`tallyhand leads`: every lead of the gears once, the nearest first, trains that clear."""

from __future__ import annotations

import csv
import json
import re
from fractions import Fraction
from itertools import pairwise, permutations

import pytest

from assistant.files.places import head_file
from assistant.job.kinds import lead_train
from assistant.job.units import MM_PER_INCH
from assistant.paper import lead_rows
from solver import load_head
from tests.commands import one_line, tallyhand

HEAD = load_head(head_file("three-plate-40-geared"))
QUARTER = MM_PER_INCH / 4


def inches(lead: Fraction) -> float:
    return float(lead / MM_PER_INCH)


def test_the_gears_of_a_printed_table() -> None:
    """The shortest leads through the worm, gears on worm, first and second on the stud, on the
    screw: .670 24 86 24 100, .781 24 86 28 100, .800 24 72 24 100, .893 24 86 32 100, .930 24 72 24
    86 (the table of leads that the trade prints for these twelve gears; from memory)."""
    rows = [row for row in lead_rows.each_lead(HEAD, QUARTER) if row.gear_on == lead_rows.WORM]
    through = {round(inches(row.lead), 3): row.order for row in rows}
    printed = {0.67: (24, 86, 24, 100), 0.781: (24, 86, 28, 100), 0.8: (24, 72, 24, 100),
               0.893: (24, 86, 32, 100), 0.93: (24, 72, 24, 86)}  # fmt: skip
    assert {lead: through[lead] for lead in printed} == printed
    assert min(through) == 0.67


def test_the_one_order_that_clears() -> None:
    """Drivers 100 and 32, driven 24 and 48, a lead of 3.60 inches: of four orders only 48 on the
    worm, 32 and 24 on the stud, 100 on the screw was found to clear by actual test (Practical
    Treatise on Milling and Milling Machines, 1914, p. 62; read)."""
    assert lead_train.meshing_orders((24, 48), (100, 32)) == ((48, 32, 24, 100),)
    assert Fraction(24 * 48, 100 * 32) * 10 == Fraction("3.6")


def test_a_short_lead_on_the_spindle() -> None:
    """56 on the spindle, 40 and 44 on the stud, 100 on the screw: 6.160 / 40 = .154 inches (the
    same, p. 63; read)."""
    rows = {row.lead: row for row in lead_rows.each_lead(HEAD, QUARTER)}
    row = rows[Fraction("0.154") * MM_PER_INCH]
    assert row.gear_on == lead_rows.SPINDLE
    first, second, third, fourth = row.order
    assert Fraction(first * third, second * fourth) == Fraction("0.616")


def test_every_train_clears_and_no_lead_comes_twice() -> None:
    """Each gear held is used once, each lead is what its train gives (driven over drivers)."""
    rows = lead_rows.each_lead(HEAD, Fraction(5))
    assert all(one.lead < other.lead for one, other in pairwise(rows))
    for row in rows:
        left = list(HEAD.change_gears)
        for gear in row.order:
            left.remove(gear)
        driven, drivers = row.order[0::2], row.order[1::2]
        ratio = Fraction(driven[0] * (driven[1] if len(row.order) == 4 else 1), 1)
        for gear in drivers:
            ratio /= gear
        assert row.lead == ratio * (200 if row.gear_on == lead_rows.WORM else 5)


def test_none_is_left_out_of_a_small_set() -> None:
    """All trains of four gears, tried one by one."""
    gears = (24, 32, 48, 72)
    held = {ratio for ratio, _ in lead_train.by_ratio(gears)}
    pairs = {Fraction(a, b) for a, b in permutations(gears, 2)}
    fours = {
        Fraction(a * c, b * d)
        for a, b, c, d in permutations(gears, 4)
        if min(a + b - c, c + d - b) >= lead_train.CLEARANCE_TEETH
    }
    assert held == pairs | fours


def test_the_nearest_come_first() -> None:
    done = tallyhand("leads", "--head", "three-plate-40-geared", "--screw", "5 mm", "--lead",
                     "36 mm", "--most", "3")  # fmt: skip
    offs = [abs(float(each)) for each in re.findall(r"([+-][\d.]+) \([+-]", done.stdout)]
    assert "36.000" in done.stdout and "exact" in done.stdout and offs == sorted(offs)


def test_a_stretch_as_csv_and_json() -> None:
    words = ("leads", "--head", "three-plate-40-geared", "--screw", "1/4 in", "--from", "0.15 in",
             "--to", "0.16 in")  # fmt: skip
    table = list(csv.DictReader(tallyhand(*words, "--csv").stdout.splitlines()))
    told = json.loads(tallyhand(*words, "--json").stdout)
    assert len(table) == len(told["leads"]) > 5
    assert all(0.15 <= float(row["lead"]) <= 0.16 and row["unit"] == "in" for row in table)
    assert told["lead_of_machine_mm"] == pytest.approx(254)


@pytest.mark.parametrize(
    ("words", "code", "says"),
    [
        (["--head", "three-plate-40", "--screw", "5 mm"], 1, "has no change gears"),
        (["--head", "three-plate-40-geared", "--screw", "5"], 2, "write a number and mm"),
        (["--head", "three-plate-40-geared"], 2, "--screw"),
        (["--head", "three-plate-40-geared", "--screw", "5 mm", "--most", "0"], 2, "--most"),
    ],
)
def test_what_it_refuses(words: list[str], code: int, says: str) -> None:
    assert says in one_line(tallyhand("leads", *words), code)
