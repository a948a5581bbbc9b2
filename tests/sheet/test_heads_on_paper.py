"""The sheet on each kind of head: direct plate, handwheel, two circles, no scale; a rule."""

from __future__ import annotations

import re
from fractions import Fraction
from pathlib import Path

import pytest

from assistant.files.packages_here import PAPER, to_install
from assistant.job.compiler import head_of
from assistant.job.job_file import job_from_text
from assistant.job.set_up_steps import arms_spaces, lower_count, most_beyond
from assistant.paper import sheet_facts
from assistant.paper.position_rows import position_rows
from assistant.words.language import number
from solver import Move
from tests.commands import PINION, one_line, tallyhand
from tests.sheet.on_paper import divisions, html, made, turns

OWN_HEAD = """name = "bare"
worm_ratio = 40
plate_drive = "fixed"
[[plate]]
name = "A"
circles = [18, 20, 21]
"""


def told(text: str) -> dict[str, str]:
    """What the sheet says of the set-up, by its headings."""
    job = job_from_text(text, "mill.toml")
    (stage,) = made(text)
    return dict(sheet_facts.set_up(job, head_of(job), stage))


def rule(spacing: str, lines: int = 9) -> str:
    return (
        f'title = "Gauge"\nhead = "three-plate-40-geared"\n[work]\nkind = "rule"\nlines = {lines}\n'
        f'spacing = "{spacing}"\nwidth = "25 mm"\nline_length = "6 mm"\n'
        '[machine]\ntable_screw = "5 mm"\n'
    )


@pytest.mark.parametrize("count", [2, 3, 4, 6, 8, 12, 24])
def test_a_direct_plate_of_24_holes(count: int) -> None:
    """24/N holes a move, off the direct plate with the worm out of mesh: the divisions that every
    handbook gives for direct indexing on 24 holes are those that divide 24 (common practice)."""
    (stage,) = made(divisions(count))
    table = position_rows(stage)
    assert [row.move for row in table[1:]] == [f"{24 // count}/24"] * count
    assert [row.hole for row in table] == [str(n * 24 // count % 24) for n in range(count + 1)]
    set_up = told(divisions(count))
    assert set_up["Direct plate"] == "24 holes, worm out of mesh"
    assert "Plate" not in set_up and "Sector arms" not in set_up


def test_a_handwheel_is_read_in_degrees_and_minutes() -> None:
    """Nine divisions are 40 degrees; at 60 to 1 a turn is 6 degrees (360/60), so 6 turns and 4
    degrees on the dial. There is no plate, and no hole to name."""
    text = divisions(9, "rotary-60-handwheel")
    table = position_rows(made(text)[0])
    assert [row.move for row in table] == ["start", *["6 turns 4° 0′"] * 9]
    # 40 degrees are 6 turns of 6 degrees and 4; 80 are 13 and 2; 120 are 20 turns (by hand).
    assert [row.hole for row in table[:4]] == ["0°", "4°", "2°", "0°"]
    page = html(text)
    assert "<th>Dial</th>" in page and "<th>Hole</th>" not in page
    assert "<th>Dial</th>" not in html(divisions(9))
    assert told(text)["Handwheel"] == "read each move on its dial"
    assert "Plate" not in told(text)


@pytest.mark.parametrize(
    ("text", "crank", "arms"),
    [(divisions(8), False, False), (divisions(21), True, True), (divisions(20), True, False),
     (divisions(9, "rotary-60-handwheel"), False, False)],
    ids=["direct", "a circle", "whole turns", "a handwheel"],
)  # fmt: skip
def test_the_sheet_speaks_of_what_is_there(text: str, crank: bool, arms: bool) -> None:
    """No crank to be turned back where the worm is out of mesh, and no arms where none are set."""
    page = html(text)
    assert ("Turn the crank one way only" in page) is crank
    assert ("swing the arms on at once" in page) is arms


def plate_and_crank(move: str) -> Fraction:
    """The crank's turns against the head that `6/66 plate +21/49` stands for: the pin over the
    plate, and the plate itself with the crank on it."""
    found = re.fullmatch(r"(?:(\d+) \+ )?(\d+/\d+) plate ([+-]\d+/\d+)", move)
    assert found, move
    return Fraction(found[1] or 0) + Fraction(found[2]) + Fraction(found[3])


@pytest.mark.parametrize("count", [63, 69, 77, 91, 99])
def test_two_circles_at_once_go_round_once(count: int) -> None:
    """Every compound move is 40/N turns in all: crank over plate, and plate with crank, added or
    taken away (the rule of compound indexing; Practical Treatise on Milling, 1914)."""
    table = position_rows(made(divisions(count, "two-sided-40"))[0])
    assert {plate_and_crank(row.move) for row in table[1:]} == {Fraction(40, count)}


def arms_told(text: str) -> str:
    return told(text)["Sector arms"]


def test_the_arms_of_whole_turns_are_left_alone() -> None:
    """20 divisions at 40 to 1 are 2 turns and no hole (40/20, every table): nothing to span."""
    assert position_rows(made(divisions(20))[0])[1].move == "2"
    assert arms_told(divisions(20)) == "not used: every move is whole turns"


def test_the_arms_span_one_hole_more_than_the_spaces() -> None:
    """39 divisions move a turn and one space on the 39 circle; 21 move 19 on 21.
    The arms enclose the holes counted and the one the pin is in (common practice)."""
    assert arms_told(divisions(39)).startswith("1 space: 2 holes")
    assert arms_told(divisions(21)).startswith("19 spaces: 20 holes")


def test_the_arms_of_a_nearest_hole_stay_at_the_lower_count() -> None:
    """53 on 49 holes: 36 or 37 spaces at a move (40 x 49 / 53 = 36.98); one setting serves both."""
    assert {row.move for row in position_rows(made(divisions(53))[0])[1:]} == {"36/49", "37/49"}
    told = arms_told(divisions(53))
    assert told.startswith("36 spaces: 37 holes")
    assert told.endswith("a move of 37 goes one hole beyond them")


def test_the_arms_are_left_alone_where_the_turns_change() -> None:
    """41 on 43 holes: 41 and 42 spaces (40 x 43 / 41 = 41.95) would do; on two circles at once, and
    where one of the two moves is whole turns, no setting of the arms serves."""
    moves = (Move(0, 42, 43), Move(1, 0, 43))
    assert lower_count(moves) == arms_spaces(moves) == 0
    assert lower_count((Move(0, 4, 43, 1, 15), Move(0, 5, 43, 1, 15))) == 0
    assert lower_count((Move(1, 4, 43), Move(1, 5, 43), Move(1, 7, 43))) == 0
    assert lower_count((Move(1, 0, 43), Move(1, 1, 43))) == 0
    assert lower_count((Move(1, 5, 43), Move(1, 4, 43))) == 4


def test_three_counts_side_by_side_are_one_setting_of_the_arms() -> None:
    """As they come on a head that was measured, where each hole is nearest to the true place."""
    moves = (Move(1, 5, 43), Move(1, 4, 43), Move(1, 6, 43))
    assert lower_count(moves) == arms_spaces(moves) == 4
    assert most_beyond(moves) == 2
    assert sheet_facts.arms(moves).endswith("a move of 5 goes one hole beyond them, of 6 two")
    assert most_beyond(moves[:2]) == 1 and most_beyond(moves[:1]) == 0


def test_the_arms_stay_set_along_a_rule() -> None:
    """From line to line 0.7 mm, always 12 holes on 20 over whole turns; the last line has no move
    after it, which is no change of spacing."""
    text = rule("0.7 mm")
    (stage,) = made(text)
    assert {row.move for row in position_rows(stage)[1:]} == {"5 + 12/20"}
    assert arms_told(text).startswith("12 spaces: 13 holes")
    assert any("so that twelve spaces lie between" in item for item in stage.programme.checklist)


def test_a_rule_that_is_not_exact_tells_a_bound() -> None:
    """Equal gears and a screw of 5 mm move the table 5/40 mm a turn (screw over worm ratio,
    common practice). No line is farther off than the sheet says, in arc-seconds rounded up."""
    table = position_rows(made(rule("1.2347 mm"))[0])
    crank = [Fraction(0)]
    for row in table[1:]:
        crank.append(crank[-1] + turns(row.move))
    true = [n * Fraction("1.2347") / Fraction(5, 40) for n in range(9)]
    worst = max(abs(a - b) for a, b in zip(crank, true, strict=True)) / 40 * 1296000
    assert 12 < worst < 13
    assert {row.error for row in table} == {"≤ 13"}


def test_a_head_without_a_scale_has_no_column_for_it(tmp_path: Path) -> None:
    """What can't be read is not asked for; on a head with a scale it is."""
    own = tmp_path / "bare.toml"
    own.write_text(OWN_HEAD)
    assert "<th>Scale</th>" in html(divisions(9))
    assert "<th>Scale</th>" not in html(divisions(9, str(own)))
    assert {row.scale for row in position_rows(made(divisions(9, str(own)))[0])} == {""}


def test_a_part_of_many_cuts_goes_undrawn() -> None:
    """Over 400 cuts the part would be a grey disc: its figure is left out, the plate stays."""
    few, many = html(divisions(400)), html(divisions(401))
    assert few.count("<figure>") == 2 and "cut 1 is marked" in few
    assert many.count("<figure>") == 1 and "cut 1 is marked" not in many


def test_without_pango_the_cure_is_html(tmp_path: Path) -> None:
    """A library that can't be loaded is one line with the way out, and that way works."""
    (tmp_path / "libpango-1.0.so.0").write_bytes(b"")
    broken = {"LD_LIBRARY_PATH": str(tmp_path)}
    out = tmp_path / "pinion.pdf"
    done = tallyhand("sheet", PINION, "--out", out, env=broken)
    line = one_line(done, 1)
    assert "no PDF: the library Pango is not installed" in line and "--out sheet.html" in line
    assert to_install(PAPER) in line and done.stdout == ""
    assert not out.exists()
    page = tmp_path / "sheet.html"
    assert tallyhand("sheet", PINION, "--out", page, env=broken).returncode == 0
    assert "Cider mill pinion" in page.read_text("utf-8")


def test_a_faulty_job_has_no_sheet(tmp_path: Path) -> None:
    """Every fault with its line, a fault of the head with its own, and nothing is written."""
    job, out = tmp_path / "job.toml", tmp_path / "sheet.html"
    job.write_text(divisions(9).replace("count = 9", 'count = 0\ndepth = "deep"'))
    done = tallyhand("sheet", job, "--out", out)
    assert done.returncode == 1
    assert [line.partition(": ")[0] for line in done.stderr.splitlines()] == [
        f"{job} line 5", f"{job} line 6",
    ]  # fmt: skip
    own = tmp_path / "bare.toml"
    own.write_text(OWN_HEAD.replace("18,", "0,"))
    job.write_text(divisions(9, "bare.toml"))
    line = one_line(tallyhand("sheet", job, "--out", out), 1)
    assert line.startswith(f"{own} line 6: ") and "circle 0" in line
    assert not out.exists()


def test_the_sheet_carries_the_warning_of_the_check() -> None:
    """51 teeth of module 3 without change gears are off at the pitch line: the printed sheet says
    it as `job check` does."""
    text = divisions(9).replace(
        'kind = "divisions"\ncount = 9', 'kind = "spur-gear"\nteeth = 51\nmodule = 3'
    )
    assert "teeth = 51" in text
    assert "Not exact on this head: from one tooth to the next" in html(text)


CLUTCH = """title = "Clutch"
head = "three-plate-40"
[work]
kind = "clutch"
teeth = {teeth}
outside = "60 mm"
bore = "45 mm"
depth = "4 mm"
cutter_width = "4 mm"
clearance = "1d"
"""


@pytest.mark.parametrize("teeth", [5, 6, 7, 8])
def test_the_sheet_and_its_list_say_the_same_of_the_arms(teeth: int) -> None:
    """Both settings of a clutch: arms that are to be set stand in the list with the same count of
    holes as above it, and arms that are left stand in it as left."""
    text = CLUTCH.format(teeth=teeth)
    job = job_from_text(text, "mill.toml")
    asked = 0
    for stage in made(text):
        above = dict(sheet_facts.set_up(job, head_of(job), stage)).get("Sector arms", "not used")
        listed = " ".join(stage.programme.checklist)
        set_to = re.search(r"Sector arms: .*?That is ([a-z-]+) holes", listed)
        asked += bool(set_to)
        if set_to:
            holes = re.match(r"\d+ spaces?: (\d+) holes", above)
            assert holes and number(int(holes[1])) == set_to[1]
        if "Leave the sector arms" in listed:
            assert above.startswith("not used")
    assert asked == (teeth in (6, 7))  # 5 and 8 are whole turns
