"""The job sheet: its numbers against arithmetic of their own, its pages as they are printed."""

from __future__ import annotations

import re
import subprocess
from fractions import Fraction
from pathlib import Path

import pytest

from assistant.job.compiler import head_of, stages_of
from assistant.job.job_file import read_job
from assistant.paper import sheet_facts as facts
from assistant.paper.pdf import pages_of, pdf_of
from assistant.paper.position_rows import PositionRow, position_rows
from assistant.paper.sheet_page import LAYOUTS, layout_for, sheet_document
from tests.commands import JOBS, PINION, one_line, tallyhand, within
from tests.sheet.on_paper import angle, divisions, html, made, turns


@pytest.mark.parametrize(
    ("head", "count"),
    [("three-plate-40", 21), ("three-plate-40", 49), ("two-sided-40", 66), ("three-plate-40", 7)],
)
def test_the_table_goes_round_once(head: str, count: int) -> None:
    """Every angle is n/N, every move N times makes 40 turns of the crank, back at the first hole.

    Crank turns in all = worm ratio: the closing check of every handbook (common practice).
    """
    stage = made(divisions(count, head))[0]
    table = position_rows(stage)
    assert [row.cut for row in table] == [*map(str, range(1, count + 1)), "back"]
    circle = stage.setup.circle
    assert circle
    crank = Fraction(0)
    for n, row in enumerate(table):
        crank += turns(row.move) if n else 0
        assert abs(angle(row.angle) - Fraction(n, count) % 1) <= Fraction(1, 360 * 3600 * 100)
        assert int(row.hole) == crank * circle % circle
        assert row.scale == f"{float(round(Fraction(n, count) % 1 * 360, 1)):.1f}°"
        assert row.error == "0"
    assert crank == 40 and table[-1].hole == "0"


def test_a_handbook_row() -> None:
    """21 divisions at 40 to 1: 1 turn and 19 holes on 21, as every table has it (40/21)."""
    assert position_rows(made(divisions(21))[0])[1] == PositionRow(
        "2", "", "17°8'34.29\"", "1 + 19/21", "19", "17.1°", "0"
    )


def test_the_nearest_hole_tells_its_error() -> None:
    """51 divisions on the plain head: each error is the one that its own angle shows, and the
    largest is the one that the sheet tells."""
    stage = made(divisions(51))[0]
    assert stage.setup.method == "nearest"
    worst = 0.0
    for n, row in enumerate(position_rows(stage)[:-1]):
        off = angle(row.angle) - Fraction(n, 51)
        told = int(row.error.replace("−", "-"))
        assert abs(float(off) * 1296000 - told) <= 0.51
        worst = max(worst, abs(float(off) * 1296000))
    assert f"{worst:.1f} arc-seconds" in html(divisions(51))


def words_on(pdf: Path, page: int) -> list[tuple[float, float, float, float, str]]:
    """Every word on a page with its box in points."""
    command = ["pdftotext", "-bbox", "-f", str(page), "-l", str(page), str(pdf), "-"]
    text = subprocess.run(command, capture_output=True, text=True, check=True).stdout
    pattern = r'<word xMin="(.*?)" yMin="(.*?)" xMax="(.*?)" yMax="(.*?)">(.*?)</word>'
    return [(*map(float, m[:4]), m[4]) for m in re.findall(pattern, text)]  # type: ignore[misc]


def page_count(pdf: Path) -> int:
    shown = subprocess.run(["pdfinfo", str(pdf)], capture_output=True, text=True, check=True)
    return int(re.search(r"Pages:\s+(\d+)", shown.stdout)[1])  # type: ignore[index]


def overlapping(words: list[tuple[float, float, float, float, str]]) -> list[str]:
    """Words that are printed over one another; a third of a line apart is apart."""
    found = []
    for n, (left, top, right, bottom, word) in enumerate(words):
        for l2, t2, r2, b2, other in words[n + 1 :]:
            across = min(right, r2) - max(left, l2)
            down = min(bottom, b2) - max(top, t2)
            if across > 1 and down > 0.4 * min(bottom - top, b2 - t2):
                found.append(f"{word} / {other}")
    return found


ONE_PAGE = [
    "pinion", "count-wheel", "press-collar", "pump-helical", "dog-clutch", "cask-rule",
    "elevator-pinion", "press-ratchet", "hexagon-plug",
]  # fmt: skip


A4, LETTER = (595, 842, "a4"), (612, 792, "letter")
# Every day the fullest sheets, on the shorter paper and one on the narrower; the others before a
# release.
FULLEST = [("press-collar", A4), *((name, LETTER) for name in ("pump-helical", "cask-rule"))]
ON_PAPER = [
    pytest.param(name, paper, marks=() if (name, paper) in FULLEST else pytest.mark.release)
    for name in ONE_PAGE
    for paper in (A4, LETTER)
]


@pytest.mark.parametrize(("name", "paper"), ON_PAPER)
def test_one_page_holds_it_and_nothing_overlaps(
    tmp_path: Path, name: str, paper: tuple[int, int, str]
) -> None:
    """One page, every cut on it, no word over another or past the margin, signatures at the end."""
    out = tmp_path / f"{name}.pdf"
    assert within("sheet", JOBS / f"{name}.toml", "--out", out, "--paper", paper[2]) == 0
    assert page_count(out) == 1
    words = words_on(out, 1)
    assert overlapping(words) == []
    assert all(left > 20 and right < paper[0] - 15 for left, _, right, _, _ in words)
    assert all(top > 15 and bottom < paper[1] - 10 for _, top, _, bottom, _ in words)
    job = read_job(JOBS / f"{name}.toml")
    stage = stages_of(job, head_of(job))[0]
    text = [word for *_, word in words]
    assert all(str(n) in text for n in range(1, stage.programme.cuts + 1))
    assert {"Checked", "Finished", "Date"} <= set(text)


def test_a_long_job_goes_on_to_further_pages(tmp_path: Path) -> None:
    """400 cuts: the set-up on the first page, every position on the next ones."""
    job = tmp_path / "long.toml"
    job.write_text(divisions(400))
    out = tmp_path / "long.pdf"
    assert within("sheet", job, "--out", out) == 0
    pages = page_count(out)
    assert 2 <= pages <= 4
    text = {word for n in range(2, pages + 1) for *_, word in words_on(out, n)}
    assert {str(n) for n in range(1, 401)} <= text
    for n in range(1, pages + 1):
        assert overlapping(words_on(out, n)) == []


def test_a_sheet_of_a_short_lead_has_the_pin_out_in_the_cut() -> None:
    """The screw drives the spindle with the worm out: the pin that counts must not stay in."""
    for name, told in (("cloth-winder", True), ("press-auger", False), ("hexagon-plug", False)):
        job = read_job(JOBS / f"{name}.toml")
        stages = stages_of(job, head_of(job))
        text = sheet_document(
            job, head_of(job), stages, "a4", [layout_for(stage) for stage in stages]
        )
        assert ("the pin out before the cut" in text) == told
        assert not (told and "see the pin home before you lock" in text)


def test_every_example_has_a_sheet() -> None:
    """A page for each stage, with the arms, the depth, the lock or its absence, and the habits."""
    for path in sorted(JOBS.glob("*.toml")):
        job = read_job(path)
        head = head_of(job)
        stages = stages_of(job, head)
        text = sheet_document(job, head, stages, "a4", [layout_for(stage) for stage in stages])
        assert text.count("<article") == len(stages)
        blocks = [stage for stage in stages if stage.setup.moves[0].block]
        locked = sum(not stage.unlocked for stage in stages) - len(blocks)
        assert text.count("must NOT be locked") == sum(stage.unlocked for stage in stages)
        assert text.count("Lock the spindle for every cut") == locked
        assert text.count("Vice tight for every cut") == len(blocks)
        assert text.count("stop button of the machine") == len(stages)


@pytest.mark.parametrize("path", sorted(JOBS.glob("*.toml")), ids=lambda path: path.stem)
def test_sheet_session_and_list_agree_about_the_arms(path: Path) -> None:
    """Every move of a stage counts the same holes, or one more, and only then: the arms are set to
    the fewer, the session has them swung on, and the sheet says so. New moves set them anew."""
    job = read_job(path)
    stands = None
    for stage in stages_of(job, head_of(job)):
        moves = stage.programme.moves[: stage.programme.cuts - (not stage.closed)]
        holes = {move.holes for move in moves if move.circle}
        alike = len(holes) == 1 or (len(holes) == 2 and max(holes) - min(holes) == 1)
        spaces = min(holes) if alike else 0
        assert stage.programme.arms_used == (spaces > 0)
        if not any(move.circle for move in moves):
            continue
        told = dict(facts.set_up(job, head_of(job), stage))["Sector arms"]
        assert re.findall(r"^(\d+) spaces?: (\d+) holes", told) == (
            [(str(spaces), str(spaces + 1))] if spaces else []
        )
        listed = [item for item in stage.programme.checklist if "ector arms" in item]
        any_hole = any("any hole will do" in item for item in stage.programme.checklist)
        assert len(listed) == ((stands is None or stands != spaces) and not any_hole)
        assert all(("between" in item) == (spaces > 0) for item in listed)
        stands = spaces


def test_gears_stand_in_their_order() -> None:
    """A differential set-up gives drivers, driven, idlers, order, and the proof by hand."""
    text = html(divisions(127, "three-plate-40-geared"))
    stage = made(divisions(127, "three-plate-40-geared"))[0]
    assert stage.setup.gearing
    for gear in (*stage.setup.gearing.drivers, *stage.setup.gearing.driven):
        assert str(gear) in text
    assert f"must turn {stage.setup.gearing.plate} the crank" in text and "Back pin out" in text


@pytest.mark.parametrize(
    "title", ["Čepové kolo mlýna", "Шестерня сидрового пресса", "Γρανάζι", "Größe ½ ′ ″ ≤"]
)
def test_titles_in_other_letters_are_printed(tmp_path: Path, title: str) -> None:
    """The PDF carries its letters with it."""
    out = tmp_path / "sheet.pdf"
    out.write_bytes(pdf_of(html(divisions(9, title=title))))
    text = subprocess.run(["pdftotext", str(out), "-"], capture_output=True, text=True, check=True)
    assert all(word in text.stdout for word in title.split())
    fonts = subprocess.run(["pdffonts", str(out)], capture_output=True, text=True, check=True)
    assert all(" yes yes " in line for line in fonts.stdout.splitlines()[2:])


def test_hostile_titles_are_only_words() -> None:
    """Markup in a job file is lettering, and what it points at is never opened."""
    bad = "<script>alert(1)</script><img src='file:///etc/passwd'>"
    text = html(divisions(9, title=bad))
    assert "<script" not in text and "<img src='file" not in text
    assert "&lt;script&gt;" in text


def test_nothing_outside_the_page_is_opened(tmp_path: Path) -> None:
    """Even markup that got in could reach no file: the PDF is made from the page alone."""
    secret = tmp_path / "secret.svg"
    secret.write_text(
        '<svg xmlns="http://www.w3.org/2000/svg"><text y="20">apple brandy</text></svg>'
    )
    out = tmp_path / "out.pdf"
    out.write_bytes(
        pdf_of(f'<html lang="en"><title>t</title><img alt="" src="{secret.as_uri()}">a')
    )
    text = subprocess.run(["pdftotext", str(out), "-"], capture_output=True, text=True, check=True)
    assert "apple" not in text.stdout


def test_the_layouts_are_in_order() -> None:
    """Each holds more rows than the one before; the measured count decides between them."""
    held = [layout.columns * layout.rows for layout in LAYOUTS]
    assert held == sorted(held)
    assert pages_of(html(divisions(100), layout=LAYOUTS[0])) > 1
    assert pages_of(html(divisions(100), layout=LAYOUTS[1])) == 1


@pytest.mark.parametrize(
    ("words", "code", "says"),
    [
        ((PINION, "--out", "sheet.docx"), 2, ".pdf or .html"),
        ((PINION, "--out", "/no/such/folder/sheet.html"), 1, "choose another place"),
        (("no-such-job.toml",), 1, "no such job file"),
    ],
)
def test_slips_are_answered_in_one_line(words: tuple[str, ...], code: int, says: str) -> None:
    """What was wrong and the cure."""
    assert says in one_line(tallyhand("sheet", *words), code)


def test_the_roughing_pass_has_its_own_target() -> None:
    """24 mm finished, 0.25 mm left on each of two flats: 24.5 mm is measured after roughing."""
    job = read_job(JOBS / "hexagon-plug.toml")
    (stage,) = stages_of(job, head_of(job))
    rough, finish = facts.measurements(stage)
    assert rough.endswith("in pass 1 after 2 cuts, target 24.5 mm now, 24 mm finished")
    assert finish.endswith("in pass 2 after 2 cuts, target 24 mm")


def test_material_speed_and_feed_stand_on_the_sheet() -> None:
    """As far as the job tells them; a job without a material has none."""
    told = {}
    for name in ("elevator-pinion", "press-collar"):
        job = read_job(JOBS / f"{name}.toml")
        told[name] = dict(facts.set_up(job, head_of(job), stages_of(job, head_of(job))[0]))
    assert told["elevator-pinion"]["Material"] == "mild steel"
    assert {"Spindle speed", "Table feed"} <= set(told["elevator-pinion"])
    assert not {"Material", "Spindle speed"} & set(told["press-collar"])


@pytest.mark.parametrize("name", ["gate-splines", "sieve-pinion"])
def test_what_is_questioned_stands_in_sentences_of_its_own(name: str) -> None:
    """With a capital and a full stop: run together with what follows nobody reads it."""
    job = read_job(JOBS / f"{name}.toml")
    stage = stages_of(job, head_of(job))[0]
    found = list(facts.warnings(stage))
    assert len(found) > 1
    assert all(each[:1].isupper() and each.endswith(".") for each in found)


def test_a_round_that_begins_elsewhere_is_numbered_from_the_marked_hole() -> None:
    """As the set-up says it: from the first hole so many turns and holes, then the first cut."""
    job = read_job(JOBS / "gate-splines.toml")
    root = stages_of(job, head_of(job))[2]
    begun = "From the first hole: two turns, then eighteen holes on the thirty-nine circle."
    assert begun in " ".join(root.programme.checklist)
    first, *others = position_rows(root)
    assert first.hole == "18"
    hole = 18
    for row in others:
        moved = re.search(r"(\d+)/39$", row.move)
        hole = (hole + int(moved[1] if moved else 0)) % 39
        assert row.hole == str(hole)
    assert hole == 18
