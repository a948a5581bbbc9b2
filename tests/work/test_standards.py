"""Standard sizes: the tables hold what other sources print, and a job's near miss is named."""

from __future__ import annotations

import tomllib
from fractions import Fraction
from itertools import pairwise
from math import pi
from pathlib import Path

import pytest

from assistant.job import standards
from assistant.job.compiler import head_of, stages_of
from assistant.job.job_file import job_from_text, read_job
from tests.commands import JOBS, ROOT

TABLES = sorted((ROOT / "config" / "standards").glob("*.toml"))


def _questions(work: str) -> list[str]:
    job = job_from_text(f'title = "t"\nhead = "three-plate-40"\n[work]\n{work}', "job.toml")
    (stage, *_) = stages_of(job, head_of(job))
    return [each.text for each in stage.part.warnings if each.text.endswith("look again")]


# --- the tables ---------------------------------------------------------------------------


@pytest.mark.parametrize("path", TABLES, ids=lambda path: path.stem)
def test_every_table_names_its_source(path: Path) -> None:
    """Standard, where it was read, what was left out; never from memory."""
    data = tomllib.loads(path.read_text("utf-8"))
    for key in ("standard", "source", "left_out", "unit"):
        assert data[key].strip()
    assert "memory" not in data["source"]
    assert standards.standard_table(path.stem).sizes


def test_hexagons_of_another_source() -> None:
    """M2 to M42: 4, 7, 8, 10, 13, 16, 18, 24, 30, 36, 46, 55, 65 mm by ISO 272:1982 (Wikipedia,
    width across flats; read)."""
    read = (4, 7, 8, 10, 13, 16, 18, 24, 30, 36, 46, 55, 65)
    assert set(map(Fraction, read)) <= set(standards.standard_table("hexagons").sizes)


@pytest.mark.parametrize(
    ("shaft", "width", "depth"),
    [
        (40, 12, "5"), (50, 14, "5.5"), (58, 16, "6"), (60, 18, "7"), (75, 20, "7.5"),
        (95, 25, "9"), (100, 28, "10"), (130, 32, "11"), (170, 40, "13"),
    ],
)  # fmt: skip
def test_keys_of_another_source(shaft: int, width: int, depth: str) -> None:
    """b and t1 by shaft, as d + t2 and b stand in a gear unit catalogue, p. 7/3 (read)."""
    row = next(r for r in standards.standard_table("keys").sizes if r["over"] < shaft <= r["to"])
    assert (row["width"], row["depth"]) == (width, Fraction(depth))


@pytest.mark.parametrize(
    ("shaft", "width", "depth"),
    [("1/2", "1/8", "1/16"), ("3/4", "3/16", "3/32"), ("1", "1/4", "1/8"), ("3/2", "3/8", "3/16"),
     ("2", "1/2", "1/4"), ("3", "3/4", "3/8"), ("4", "1", "1/2")],
)  # fmt: skip
def test_inch_keys_of_another_source(shaft: str, width: str, depth: str) -> None:
    """ANSI B17.1: keyway width and depth by shaft (a shafting maker's keyway chart; read)."""
    rows = standards.standard_table("keys-inch").sizes
    row = next(r for r in rows if r["over"] < Fraction(shaft) <= r["to"])
    assert (row["width"], row["depth"]) == (Fraction(width), Fraction(depth))


@pytest.mark.parametrize("name", ["keys", "keys-inch"])
def test_keys_leave_no_shaft_out(name: str) -> None:
    """Each row begins where the one before ends; a key is half in its shaft or a little more."""
    rows = standards.standard_table(name).sizes
    assert all(a["to"] == b["over"] for a, b in pairwise(rows))
    assert all(row["height"] / 2 <= row["depth"] <= row["height"] * Fraction(2, 3) for row in rows)


def test_splines_can_be() -> None:
    """Splines have room on their root, and stand out of it (geometry)."""
    for row in standards.standard_table("splines").sizes:
        assert row["root"] < row["outside"]
        assert row["splines"] * row["width"] < pi * float(row["root"])


def test_modules_of_another_source() -> None:
    """1, 1.25, 1.5, 2, 2.5, 3, 4, 5, 6, 8, 10 (a gear maker's comparison of the systems; read)."""
    read = ("1", "1.25", "1.5", "2", "2.5", "3", "4", "5", "6", "8", "10")
    assert set(map(Fraction, read)) <= set(standards.standard_table("modules").sizes)


# --- what a job is asked ------------------------------------------------------------------

GEAR = 'kind = "spur-gear"\nteeth = 40\n{}\n'
HEXAGON = 'kind = "polygon"\nsides = {}\nacross_flats = "{}"\nbar = "30 mm"\n'
SPLINES = (
    'kind = "splines"\nsplines = 6\nwidth = "{}"\noutside = "{}"\nroot = "{}"\n'
    'cutter_width = "3 mm"\n'
)
KEYS = 'kind = "keyways"\nkeyways = 2\nwidth = "{}"\nshaft = "{}"\ndepth = "{}"\n{}\n'


@pytest.mark.parametrize(
    ("work", "words"),
    [
        (GEAR.format("module = 2.54"), "module 2.54: the nearest of ISO 54 is 2.5"),
        (GEAR.format("diametral_pitch = 10.16"), "the usual diametral pitches is 10"),
        (HEXAGON.format(6, "24.3 mm"), "24.3 mm across flats: the nearest of ISO 272 is 24 mm"),
        (HEXAGON.format(6, "0.95 in"), "0.95 in across flats: the nearest of ISO 272 is 24 mm"),
        (SPLINES.format("6 mm", "28 mm", "22.5 mm"),
         "the nearest spline of ISO 14:1982 is 6 x 23 x 28, each 6 mm wide, and has 23 mm there"),
        (KEYS.format("9 mm", "38 mm", "5 mm", ""),
         "width 9 mm: DIN 6885-1 has a key of 10 mm for this shaft, its keyway 5 mm deep"),
        (KEYS.format("10 mm", "38 mm", "4.6 mm", ""),
         "depth 4.6 mm: DIN 6885-1 has a key of 10 mm"),
        (KEYS.format("0.26 in", "1 in", "0.125 in", 'depth_from = "side"'),
         "ANSI B17.1-1967 (R1998) has a key of 0.25 in"),
    ],
)  # fmt: skip
def test_a_figure_close_to_a_standard_one_is_questioned(work: str, words: str) -> None:
    """The nearest size is named, with its standard."""
    (text,) = _questions(work)
    assert words in text


@pytest.mark.parametrize(
    "work",
    [
        GEAR.format("module = 2.5"), GEAR.format("module = 2.65"),
        GEAR.format("diametral_pitch = 10"), GEAR.format("diametral_pitch = 6"),
        HEXAGON.format(6, "24 mm"), HEXAGON.format(6, "22.3 mm"), HEXAGON.format(8, "24.3 mm"),
        SPLINES.format("6 mm", "28 mm", "23 mm"), SPLINES.format("6 mm", "26 mm", "21 mm"),
        KEYS.format("10 mm", "38 mm", "5 mm", ""), KEYS.format("20 mm", "38 mm", "5 mm", ""),
        KEYS.format("0.25 in", "1 in", "0.125 in", 'depth_from = "side"'),
    ],
)  # fmt: skip
def test_a_standard_size_and_one_far_from_any_are_not(work: str) -> None:
    """What is a standard size, or plainly meant to be another, is taken as it is."""
    assert not _questions(work)


@pytest.mark.parametrize("path", sorted(JOBS.glob("*.toml")), ids=lambda path: path.stem)
def test_the_examples_are_standard_or_plainly_not(path: Path) -> None:
    """No job that comes with the program carries a near miss."""
    job = read_job(path)
    stages = stages_of(job, head_of(job))
    assert not any(w.text.endswith("look again") and "nearest" in w.text
                   for stage in stages for w in stage.part.warnings)  # fmt: skip
