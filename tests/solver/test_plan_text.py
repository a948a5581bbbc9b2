"""What `tallyhand plan` prints for people, read back and recomputed by the contract's formulae."""

from __future__ import annotations

import json
import re
from collections.abc import Callable
from fractions import Fraction
from html import unescape
from pathlib import Path

import pytest

from tests.commands import one_line, tallyhand

MOVE = re.compile(r"^ {4}(?P<move>.*?)(?:   x (?P<times>\d+))?$")
PARTS: tuple[tuple[re.Pattern[str], Callable[[re.Match[str]], Fraction]], ...] = (
    (re.compile(r"no move"), lambda m: Fraction(0)),
    (re.compile(r"(\d+) turns?"), lambda m: Fraction(m[1])),
    (re.compile(r"(\d+) holes? on (\d+)"), lambda m: Fraction(int(m[1]), int(m[2]))),
    (re.compile(r"plate with crank, forward (\d+) holes? on (\d+)"),
     lambda m: Fraction(int(m[1]), int(m[2]))),
    (re.compile(r"plate with crank, BACK (\d+) holes? on (\d+)"),
     lambda m: -Fraction(int(m[1]), int(m[2]))),
)  # fmt: skip


def blocks(text: str) -> list[list[str]]:
    """The lines of each way, its title first."""
    found = re.split(r"\n(?= ?\d+\. [A-Z])", text)[1:]
    return [block.split("\n\n")[0].splitlines() for block in found]


def turned(line: str) -> tuple[Fraction, int] | None:
    """Crank turns of a move line and how often; None for a line of another sort."""
    match = MOVE.match(line)
    pieces = match["move"].split(" + ") if match else []
    crank = Fraction(0)
    for piece in pieces:
        for pattern, value in PARTS:
            if found := pattern.fullmatch(piece):
                crank += value(found)
                break
        else:
            return None
    return (crank, int(match["times"] or 1)) if match and pieces else None


def gear_ratio(lines: list[str]) -> Fraction:
    """Turns of the plate for one of the spindle, negative against the crank; 0 without gears."""
    text = " ".join(lines)
    if "gears:" not in text:
        return Fraction(0)
    simple = re.search(r"gears: (\d+) on the spindle, (\d+) on the plate's shaft", text)
    four = re.search(r"gears: (\d+) on the spindle drives (\d+) on the stud,\s+(\d+) on the stud "
                     r"drives (\d+) on the plate's shaft", text)  # fmt: skip
    if simple:
        g = Fraction(int(simple[1]), int(simple[2]))
    else:
        assert four, text
        g = Fraction(int(four[1]) * int(four[3]), int(four[2]) * int(four[4]))
    return g if "the plate runs WITH the crank" in text else -g


@pytest.mark.parametrize(
    ("head", "divisions"),
    [
        ("two-sided-40", 69), ("two-sided-40", 77), ("two-sided-40", 91),
        ("three-plate-40-geared", 51), ("three-plate-40-geared", 127),
        ("three-plate-40-geared", 249), ("three-plate-40-geared", 361),
        ("three-plate-40", 21), ("three-plate-40", 1000), ("rotary-90", 13),
    ],
)  # fmt: skip
def test_each_way_printed_goes_once_round(head: str, divisions: int) -> None:
    """Crank turns = worm ratio - gear ratio, times how far round the work goes; move by move."""
    done = tallyhand(
        "plan", "--head", head, "--divisions", str(divisions), "--most", "6", "--moves"
    )
    assert not done.stderr
    ways = blocks(done.stdout)
    assert ways
    ratio = 90 if head == "rotary-90" else 40
    for lines in ways:
        if "DIRECT" in lines[0]:
            continue
        several = re.search(r"each move goes (\d+) divisions on", " ".join(lines))
        every = int(several[1]) if several else 1
        moves = [found for line in lines[1:] if (found := turned(line))]
        assert sum(times for _, times in moves) == divisions, lines
        whole = sum(crank * times for crank, times in moves)
        assert whole == (ratio - gear_ratio(lines)) * every, lines


def test_the_parts_of_a_train_are_told_in_the_order_in_which_they_are_met() -> None:
    """Four gears: spindle, stud, stud, plate; and the other orders that can be put on."""
    done = tallyhand("plan", "--head", "three-plate-40-geared", "--divisions", "249", "--most", "9")
    lines = [line.strip() for line in done.stdout.splitlines()]
    at = next(n for n, line in enumerate(lines) if line.endswith("on the stud,"))
    assert re.fullmatch(r"gears: \d+ on the spindle drives \d+ on the stud,", lines[at])
    assert re.fullmatch(
        r"\d+ on the stud drives \d+ on the plate's shaft, (no idler|\d idlers?); "
        r"the plate runs (WITH|AGAINST) the crank",
        lines[at + 1],
    )
    assert "back pin out; turn the crank and watch the plate before any cut" in lines


def test_a_dial_is_read_in_degrees_and_minutes() -> None:
    """60 to 1, 7 divisions: 51°25.7' a move, read to one minute; all seven make the circle."""
    done = tallyhand("plan", "--head", "rotary-60-handwheel", "--divisions", "7")
    found = re.findall(r"(\d+) turns \+ (\d+)°(\d+)' on the dial(?:   x (\d+))?", done.stdout)
    minutes = [(int(t) * 360 + int(d) * 60 + int(m)) * int(n or 1) for t, d, m, n in found]
    assert sum(minutes) == 360 * 60
    assert "NEAREST, handwheel, not exact" in done.stdout
    # 360°/7 = 51°25.714': the worst of seven roundings to a minute is 0.4286' = 25.71".
    assert 'off by 25.71" at worst' in done.stdout


@pytest.mark.parametrize(("divisions", "useless"), [("5000", True), ("1500", True), ("53", False)])
def test_a_plan_of_no_use_says_so(divisions: str, useless: bool) -> None:
    """1960 holes to a turn (49 x 40): with 5000 or 1500 divisions neighbours fall together, with
    53 none comes near another (arithmetic)."""
    shown = tallyhand("plan", "--head", "three-plate-40", "--divisions", divisions).stdout
    assert ("Of no use: neighbours should be" in shown) == useless


def test_many_moves_are_cut_short_and_shown_on_request() -> None:
    """An angle list of many moves: some, how many in all, and every one with --moves."""
    words = ("plan", "--head", "three-plate-40", "--divisions", "997", "--most", "1")
    short, long = tallyhand(*words).stdout, tallyhand(*words, "--moves").stdout
    assert "... 997 moves in all; --moves shows every one" in short
    assert "moves in all" not in long
    assert len(long.splitlines()) > len(short.splitlines()) + 50


def test_rings_say_when_a_plate_is_to_be_put_on() -> None:
    """21 holes are on plate B, 100 divisions on plate A, 8 go off the direct plate (3 of 24)."""
    words = ("plan", "--head", "three-plate-40", "--rings", "21,100,8", "--fitted", "B")
    text = tallyhand(*words).stdout
    assert "3 rings, changes of plate: 1," in text
    assert "Ring 2: 100 divisions   (put on plate A)" in text
    assert "Ring 3: 8 divisions\n" in text
    rings = json.loads(tallyhand(*words, "--json").stdout)["rings"]
    assert [ring["plate_change"] for ring in rings] == [False, True, False]
    assert [ring["setup"]["plate"] for ring in rings] == ["B", "A", None]
    same = tallyhand("plan", "--head", "three-plate-40", "--rings", "21,27", "--fitted", "B").stdout
    assert "2 rings, no change of plate," in same


def test_rings_that_are_none() -> None:
    """Letters and one division: wrong use, in one line."""
    for text in ("21,x", "1,5", ""):
        line = one_line(tallyhand("plan", "--head", "three-plate-40", "--rings", text), 2)
        assert "--rings" in line


def test_the_wall_page_of_a_handwheel(tmp_path: Path) -> None:
    """No plate, no direct circle: no table of holes, and how fine the dial is read."""
    file = tmp_path / "wall.html"
    done = tallyhand("table", "--head", "rotary-60-handwheel", "--wall", file)
    assert not done.stderr, done.stderr
    page = unescape(file.read_text("utf-8"))
    assert "The handwheel reads degrees and minutes of the work, down to 0°1'" in page
    assert "One hole on each circle" not in page
    assert "Direct plate" not in page


def test_a_table_of_moves_that_differ() -> None:
    """One line cannot hold moves that are each their own: the circles, or the dial, stand there."""
    two = tallyhand("table", "--head", "two-sided-40", "--from", "127", "--to", "127").stdout
    assert "each its own, on 59 and 66" in two
    dial = tallyhand("table", "--head", "rotary-60-handwheel", "--from", "7", "--to", "7").stdout
    assert "each its own, on the dial" in dial
