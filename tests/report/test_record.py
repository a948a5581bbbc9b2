"""A record that someone else can work from: who, what, on which machine, and every step of it."""

from __future__ import annotations

import csv
import io
import json
import re
import sqlite3
import subprocess
from contextlib import closing
from html import unescape
from pathlib import Path
from typing import Any

import pytest

from assistant.bench import language_files
from assistant.journal.writing import journals, read_journal
from assistant.paper.history import Account, told_from
from assistant.paper.report_page import report_document
from assistant.paper.report_rows import fate
from assistant.words.language import say, speaking
from tests.commands import JOBS, one_line, tallyhand

PRESS: dict[str, Any] = {"press": "main"}
SETTINGS = '[job]\noperator = "who turns the crank"\nmachine = "the old miller"\n'
TEXT = (JOBS / "hexagon-plug.toml").read_text("utf-8").replace(
    "[work]", 'part = "CM-17"\ndrawing = "14 sheet 2"\n\n[work]', 1
)  # fmt: skip


def made(folder: Path, text: str, lines: list[dict[str, Any]]) -> Account:
    """The account of a rehearsed job with these answers."""
    (folder / "tallyhand.toml").write_text(SETTINGS, "utf-8")
    (folder / "job.toml").write_text(text, "utf-8")
    done = tallyhand(
        "rehearse", folder / "job.toml", "--data", folder / "data",
        given="".join(json.dumps(line) + "\n" for line in lines),
        env={"TALLYHAND_CONFIG": str(folder / "tallyhand.toml")},
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    return told_from(read_journal(journals(folder / "data")[0]))


@pytest.fixture(scope="module")
def told(tmp_path_factory: pytest.TempPathFactory) -> Account:
    return made(tmp_path_factory.mktemp("record"), TEXT, [PRESS] * 110)


def words(page: str) -> str:
    return unescape(re.sub(r"<[^>]+>", " ", page))


def test_the_head_of_the_page_names_them_all(told: Account) -> None:
    """Part and drawing number, operator, machine, material, head, plate or direct circle, depths,
    the journal and the end of its chain."""
    page = words(report_document(told))
    for part in ("CM-17", "14 sheet 2", "who turns the crank", "the old miller", "bronze",
                 "three plates", "direct 24", "2.75 mm, 3 mm", told.reading.path.name,
                 told.reading.last_link[:12], "Set up by", "Inspected by"):  # fmt: skip
        assert part in page, part


def test_what_was_not_given_says_so(tmp_path: Path) -> None:
    """A blank would be a question later; a journal with no such rows is read all the same."""
    (tmp_path / "data").mkdir()
    done = tallyhand("rehearse", "count-wheel", "--data", tmp_path / "data",
                     given=json.dumps(PRESS), env={"TALLYHAND_CONFIG": ""})  # fmt: skip
    assert done.returncode == 0, done.stderr
    page = words(report_document(told_from(read_journal(journals(tmp_path / "data")[0]))))
    assert page.count("not given") >= 4


def test_every_move_has_its_angle_and_answers(told: Account) -> None:
    """A hexagon stands at multiples of 60 degrees; every move but the first was answered twice."""
    assert {round(cut.degrees, 6) for cut in told.cuts} == {0, 60, 120, 180, 240, 300}
    first, *others = [cut for cut in told.cuts if cut.pass_number == 1]
    assert (first.move, first.released, first.pinned) == ("", None, None)
    for cut in others:
        assert cut.released and cut.pinned and cut.lock and cut.move
        assert cut.released.at < cut.pinned.at < cut.lock.at
    assert {cut.depth for cut in told.cuts} == {2.75, 3.0}
    turned = sum(int(cut.move.split()[0]) for cut in others)
    assert turned % 24 == round(others[-1].degrees / 15)


def test_every_item_of_the_set_up_has_source_and_time(told: Account) -> None:
    """As many as the checklist has, in its order."""
    checklist = told.reading.programme.checklist
    assert [item.text for item in told.set_up] == list(checklist)
    assert {item.answer.source for item in told.set_up} == {"pedal"}
    times = [item.answer.at for item in told.set_up]
    assert times == sorted(times)


def test_scrap_is_told_with_its_reason(tmp_path: Path) -> None:
    """Given up over a size: which, how far, and that it was given up."""
    lines = [PRESS] * 28 + [{"size": "20.5"}, PRESS, {"scrap": True}]
    text = TEXT.replace("passes = 2\n", "").replace('finish = "0.25 mm"\n', "")
    told = made(tmp_path, text, lines)
    assert told.reading.state.scrapped
    page = words(report_document(told))
    assert "Scrap" in page and "given up as scrap" in page


def test_pdf_and_page_are_one(told: Account, tmp_path: Path) -> None:
    """What the page says stands in the PDF, letter for letter (pdftotext reads it)."""
    out = tmp_path / "report.pdf"
    data = told.reading.path.parent
    assert tallyhand("report", "--data", data, "--out", out).returncode == 0
    text = subprocess.run(["pdftotext", "-layout", out, "-"], capture_output=True, text=True,
                          check=True).stdout  # fmt: skip
    for part in ("CM-17", "14 sheet 2", "who turns the crank", "Moves and angles", "300°"):
        assert part in text


def test_csv_and_database_have_them_too(told: Account, tmp_path: Path) -> None:
    """The new columns come after the old ones; a database of before gets them as blanks."""
    data = told.reading.path.parent
    out = tmp_path / "cuts.csv"
    assert tallyhand("report", "--data", data, "--out", out).returncode == 0
    row = list(csv.DictReader(io.StringIO(out.read_text("utf-8-sig"))))[1]
    assert (row["part"], row["drawing"], row["operator"]) == (
        "CM-17", "14 sheet 2", "who turns the crank",
    )  # fmt: skip
    base = tmp_path / "shop.sqlite"
    with closing(sqlite3.connect(base)) as db, db:
        db.execute('CREATE TABLE cut ("bench", "journal", "cut")')
        db.execute("INSERT INTO cut VALUES ('north', 'old', 3)")
    assert tallyhand("report", "--data", data, "--out", base).returncode == 0
    with closing(sqlite3.connect(base)) as db:
        rows = db.execute("SELECT journal, part FROM cut ORDER BY journal = 'old' DESC").fetchall()
    assert rows[0] == ("old", None) and rows[1][1] == "CM-17"


def test_the_rows_tell_set_up_head_and_what_became_of_it(told: Account, tmp_path: Path) -> None:
    """As the page does: the direct circle of 24, material and head on each cut, each item of the
    set-up with who confirmed it and when; of a part that was given up each row says scrap."""
    base, data = tmp_path / "shop.sqlite", told.reading.path.parent
    assert tallyhand("report", "--data", data, "--out", base).returncode == 0
    with closing(sqlite3.connect(base)) as db:
        rows = db.execute("SELECT material, head, method, plate, circle, gears, fate FROM cut")
        assert {*rows} == {("bronze", told.reading.programme.head, "direct", "", "direct 24", "",
                            "made")}  # fmt: skip
        items = db.execute('SELECT text, "by", at FROM set_up ORDER BY number').fetchall()
    assert [text for text, _, _ in items] == list(told.reading.programme.checklist)
    assert {by for _, by, _ in items} == {"pedal"} and all(at for _, _, at in items)


def test_a_chart_of_sizes_needs_a_size(told: Account) -> None:
    """Sizes that were asked for and left out make no empty chart; figures at the top are whole:
    letters of sixteen units are some twelve high."""
    assert told.sizes and not any(size.size for size in told.sizes)
    page = report_document(told)
    assert "Measured against wanted" not in page and "Seconds for each cut" in page
    heights = [float(y) for y in re.findall(r'<text x="[^"]*" y="([\d.]+)"', page)]
    assert min(heights) >= 12


def test_the_rows_of_scrap_say_so(tmp_path: Path) -> None:
    """Of a batch those of the part alone that was given up: the second of three."""
    lines = [PRESS] * 60 + [{"say": "lost my count"}, {"scrap": True}] + [PRESS] * 200
    text = TEXT.replace("[work]", "batch = 3\n[work]", 1)
    told = made(tmp_path, text, lines)
    assert told.finished and told.reading.state.scraps
    found = {(cut.part, fate(told, cut.part)) for cut in told.cuts}
    scrap = told.reading.state.scraps[0]
    assert found == {(n, "scrap" if n == scrap else "made") for n in (1, 2, 3)}


def test_the_inspection_goes_with_it(told: Account, tmp_path: Path) -> None:
    """Readings 0, 1, 0 on three teeth: pitches 1, -1, 0 by the definitions of ISO 1328-1 (from
    memory); a file that is none gets its line."""
    readings = tmp_path / "teeth.txt"
    readings.write_text("0\n1\n0\n", "utf-8")
    out = tmp_path / "report.html"
    data = told.reading.path.parent
    assert (
        tallyhand("report", "--data", data, "--inspection", readings, "--out", out).returncode == 0
    )
    assert re.search(r"single pitch deviation\s+1\b", words(out.read_text("utf-8")))
    bad = tallyhand("report", "--data", data, "--inspection", tmp_path / "none", "--out", out)
    assert "none" in one_line(bad, 1)


def test_in_german_where_the_session_was(told: Account) -> None:
    """The page is in the language that the session spoke."""
    from dataclasses import replace

    language_files.load_language("de")
    programme = replace(told.reading.programme, language="de")
    page = words(report_document(replace(told, reading=replace(told.reading, programme=programme))))
    with speaking("de"):
        for name in ("Part number", "Moves and angles", "Set-up, as confirmed", "Inspected by"):
            assert say(name) in page and name not in page
