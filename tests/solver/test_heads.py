"""A head file is taken whole and right, or refused with its line and the cure."""

from __future__ import annotations

import sys
from fractions import Fraction
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from solver import Refused, load_head, parse_head
from solver.model import HeadErrors
from tests.solver.heads import SHIPPED, shipped

GOOD = """\
name = "mill-40"
describe = "a head for the tests"
worm_ratio = 40
direct_circle = [24]
plate_drive = "geared"
tilt_degrees = [-10, 90]
scale_degrees = 1
change_gears = [24, 24, 28]
idlers_for_with = 1

[[plate]]
name = "A"
circles = [15, 16]

[[plate]]  # the other one
name = "B"
circles = [21, 23]

[handwheel]
division_minutes = "1/2"

[errors]
worm_arcsec = 45
plate_arcsec = 90.5
"""


def fault(text: str) -> str:
    with pytest.raises(Refused) as refused:
        parse_head(text, "mine.toml")
    return str(refused.value)


def changed(old: str, new: str) -> str:
    assert GOOD.count(old) == 1
    return GOOD.replace(old, new)


def test_a_good_file_is_read_exactly() -> None:
    """Every field, with fractions and decimals kept exact."""
    head = parse_head(GOOD)
    assert (head.name, head.worm_ratio, head.direct_circle) == ("mill-40", 40, (24,))
    assert [plate.circles for plate in head.plates] == [(15, 16), (21, 23)]
    assert head.handwheel is not None
    assert head.handwheel.division_minutes == Fraction(1, 2)
    assert head.errors == HeadErrors(Fraction(45), Fraction(181, 2))
    assert parse_head(changed("= 40", '= "81/2"').replace('"1/2"', '"20/27"')).worm_ratio == 40.5


def test_little_is_needed() -> None:
    """A name, a ratio and something to count on make a head; the rest has plain defaults."""
    head = parse_head('name = "x"\nworm_ratio = 60\n[[plate]]\nname = "A"\ncircles = [15]\n')
    assert (head.plate_drive, head.change_gears, head.idlers_for_with) == ("fixed", (), 1)
    assert head.scale_degrees == 0


@pytest.mark.parametrize(
    ("old", "new", "line", "says"),
    [
        ("circles = [15, 16]", "circles = [15, 0]", 13, "circle 0: a circle has 2 or more holes"),
        ("circles = [21, 23]", "circles = [21, 1]", 17, "circle 1: a circle has 2 or more holes"),
        ("circles = [21, 23]", "circles = []", 17, "no circles"),
        ("circles = [21, 23]", "circles = [21, 21]", 17, "21 is listed twice"),
        ("circles = [21, 23]", 'circles = [21, "x"]', 17, "no whole number"),
        ("circles = [21, 23]", "circles = [21, 2.5]", 17, "no whole number"),
        ("circles = [21, 23]", "circles = [21, true]", 17, "no whole number"),
        ("circles = [21, 23]", "circels = [21, 23]", 17, "did you mean circles?"),
        ('name = "B"', 'name = "A"', 16, "twice"),
        ('name = "B"', "name = 3", 16, "quotes"),
        ("worm_ratio = 40", "worm_ration = 40", 3, "did you mean worm_ratio?"),
        ("worm_ratio = 40\n", "", 1, "worm_ratio is missing"),
        ("worm_ratio = 40", "worm_ratio = 0", 3, "between"),
        ("worm_ratio = 40", "worm_ratio = -40", 3, "between"),
        ("worm_ratio = 40", 'worm_ratio = "forty"', 3, "no number"),
        ("worm_ratio = 40", "worm_ratio = nan", 3, "not TOML"),
        ("worm_ratio = 40", "worm_ratio = ", 3, "not TOML"),
        ("worm_ratio = 40", "worm_ratio = [40]", 3, "no number"),
        ('name = "mill-40"\n', "", 1, "name is missing"),
        ('plate_drive = "geared"', 'plate_drive = "gear"', 5, "fixed, pinned, geared or block"),
        ("change_gears = [24, 24, 28]", "change_gears = [24, 0]", 8, "change gear 0"),
        ("change_gears = [24, 24, 28]", "change_gears = 24", 8, "write a list"),
        ("idlers_for_with = 1", "idlers_for_with = 3", 9, "0, 1 or 2"),
        ("idlers_for_with = 1", "idlers_for_with = true", 9, "0, 1 or 2"),
        ("tilt_degrees = [-10, 90]", "tilt_degrees = [90, -10]", 6, "swap"),
        ("tilt_degrees = [-10, 90]", "tilt_degrees = 90", 6, "two ends"),
        ("scale_degrees = 1", "scale_degrees = -1", 7, "between"),
        ("direct_circle = [24]", "direct_circle = [0]", 4, "circle 0"),
        ('division_minutes = "1/2"', "division_minutes = 0", 20, "between"),
        ('division_minutes = "1/2"', "division_minutes = 7", 20, "no whole number"),
        ("[handwheel]", "[handwheels]", 19, "did you mean handwheel?"),
        ("worm_arcsec = 45", "worm_arcsec = -4", 23, "between"),
        ("worm_arcsec = 45", "worm_arcsecs = 45", 23, "did you mean worm_arcsec?"),
    ],
)
def test_faults_name_line_and_cure(old: str, new: str, line: int, says: str) -> None:
    """One line: the file, the line, what is wrong, what to do."""
    message = fault(changed(old, new))
    assert message.startswith(f"mine.toml line {line}: ")
    assert says in message
    assert "\n" not in message


def test_a_head_needs_something_to_count_on() -> None:
    """No plate, no handwheel and no direct circle is refused."""
    assert "add a [[plate]]" in fault('name = "x"\nworm_ratio = 40\n')


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("plate = 3", "plate: write each one under its own [[plate]]"),
        ("plate = [3]", "plate: write each one under its own [[plate]]"),
        ("handwheel = 3", "handwheel is a table: write [handwheel] on its own line"),
    ],
)
def test_tables_that_are_none(text: str, says: str) -> None:
    """A value where a table belongs: one line with the cure."""
    message = fault(f'name = "x"\nworm_ratio = 40\n{text}\n')
    assert message.startswith("mine.toml line ") and says in message


def test_brackets_that_never_close() -> None:
    """Deeper than the reader can follow, however deep that is: one line, with its place and the
    cure."""
    nested = "[" * sys.getrecursionlimit()
    message = fault(f'name = "x"\nworm_ratio = 40\nx = {nested}\n')
    where, cure = "mine.toml line 3", "close each one, or take them out"
    assert message == f"{where}: brackets within brackets without end: {cure}"


def test_files_that_cannot_be_read(tmp_path: Path) -> None:
    """A missing file, a folder, a file that is no text: one line each."""
    binary = tmp_path / "binary.toml"
    binary.write_bytes(b"\xff\xfe\x00")
    for path in (tmp_path / "none.toml", tmp_path, binary):
        with pytest.raises(Refused) as refused:
            load_head(path)
        assert str(refused.value).startswith(str(path))


@given(st.text(max_size=200))
def test_any_text_is_a_head_or_refused(text: str) -> None:
    """No text raises anything but Refused."""
    try:
        parse_head(text, "any")
    except Refused as refused:
        assert str(refused).startswith("any line ")


@given(st.sampled_from(GOOD.splitlines()), st.text(max_size=20))
def test_any_spoilt_line_is_a_head_or_refused(line: str, text: str) -> None:
    """The same with one line of a good file replaced by anything."""
    try:
        parse_head(GOOD.replace(line, text, 1), "any")
    except Refused as refused:
        assert str(refused).startswith("any line ")


def test_the_shipped_heads() -> None:
    """The five heads of the contract, under their own names, with their circles."""
    names = {path.stem for path in SHIPPED.glob("*.toml")}
    assert names >= {
        "three-plate-40",
        "three-plate-40-geared",
        "two-sided-40",
        "rotary-90",
        "rotary-60-handwheel",
    }
    for name in names:
        assert shipped(name).name == name
    drives = {name: shipped(name).plate_drive for name in names}
    assert drives["three-plate-40"] == "fixed"
    assert drives["two-sided-40"] == "pinned"
    assert drives["three-plate-40-geared"] == "geared"
    assert shipped("rotary-60-handwheel").handwheel is not None


@pytest.mark.parametrize("number", ["1e999999999", "1e-999999999", "0." + "1" * 5000, "1e9_9_9"])
def test_a_number_that_no_memory_holds_is_refused_at_once(number: str) -> None:
    """A few letters that stand for a number without end: its line, and not a minute's work."""
    with pytest.raises(Refused, match=r"mine.toml line 2: .+ is no number for a head"):
        parse_head(f'name = "mine"\nworm_ratio = {number}\n', "mine.toml")


def test_a_ratio_as_it_is_stamped() -> None:
    """40:1 is 40 turns of the crank; with anything but 1 behind the colon it is refused."""
    text = (Path(__file__).parents[2] / "config/heads/three-plate-40.toml").read_text("utf-8")
    stamped = text.replace("worm_ratio = 40", 'worm_ratio = "40:1"')
    assert stamped != text
    assert parse_head(stamped, "mine.toml") == parse_head(text, "mine.toml")
    with pytest.raises(Refused, match="no number"):
        parse_head(text.replace("worm_ratio = 40", 'worm_ratio = "40:2"'), "mine.toml")
