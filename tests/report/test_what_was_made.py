"""What a report says of the part, its set-up and its depths, to somebody who was not there."""

from __future__ import annotations

import json
import re
from html import unescape
from pathlib import Path
from typing import Any

import pytest

from assistant.journal.writing import journals, read_journal
from assistant.paper.history import Account, told_from
from assistant.paper.report_page import report_document
from tests.commands import JOBS, tallyhand

PRESS: dict[str, Any] = {"press": "main"}


def words(page: str) -> str:
    """What is read on it: no style, no tags."""
    bare = re.sub(r"<style>.*?</style>|<[^>]+>", " ", page, flags=re.DOTALL)
    return " ".join(unescape(bare).split())


def made(text: str, folder: Path, lines: list[dict[str, Any]], *more: str) -> Account:
    (folder / "job.toml").write_text(text, "utf-8")
    given = "".join(json.dumps(line) + "\n" for line in lines)
    done = tallyhand("rehearse", folder / "job.toml", "--data", folder / "d", *more, given=given)
    assert done.returncode == 0, done.stderr
    return told_from(read_journal(journals(folder / "d")[0]))


def page_of(job: str, folder: Path, presses: int = 3) -> str:
    text = (JOBS / f"{job}.toml").read_text("utf-8")
    return words(report_document(made(text, folder, [PRESS] * presses)))


@pytest.mark.parametrize(
    ("job", "told"),
    [
        ("press-pinion", ("Work a gear with straight teeth", "As the job file has it", "teeth 20",
                          "module 2", "thickness limits -0.16 -0.06 mm", "cutter diameter 63 mm",
                          "Indexing plain indexing", "Plate any will do", "Circle any will do")),
        ("pump-helical", ("Change gears 72 on the head, meshing with 28 on the stud. Beside it on "
                          "the stud 48, meshing with 56 on the table screw", "Circle 39")),
        ("cask-rule", ("Work lines along a flat rule", "Change gears 64 on the head's spindle",
                       "every 10, name long, length 12 mm; every 5, name middle, length 9 mm")),
        ("sluice-rack", ("Change gears ",)),
        ("latch-cam", ("0.065 mm to 6.202 mm, as called for each cut",)),
        ("dial-and-holes", ("Work holes on a circle, lines round a collar or a dial",
                            "holes circle 50 mm", "lines diameter 90 mm",
                            "holes: Head bolted down")),
        ("clamp-screw", ("Indexing by the faces of the block", "Faces of the block 6",
                         "across flats M12")),
    ],
)  # fmt: skip
def test_the_head_of_the_page_says_what_is_made_and_by_what(
    job: str, told: tuple[str, ...], tmp_path: Path
) -> None:
    """Figures of the example's own file; gears, plate and depths as its set-up has them."""
    page = page_of(job, tmp_path)
    for each in told:
        assert each in page, each
    assert "{'" not in page and "None" not in page and "_" not in page.replace("job.toml", "")


def test_a_job_that_is_open_says_what_was_asked_last(tmp_path: Path) -> None:
    """In the words of the session, not by the program's own name for the step."""
    page = page_of("press-pinion", tmp_path, presses=3)
    assert "not finished. Asked last: Item four of twelve. Cutter six" in page
    assert "set-up." not in page.partition("As the job file has it")[0]


HEXAGON = """\
title = "Nut of the press"
head = "three-plate-40"
units = "{unit}"
[work]
kind = "polygon"
sides = 6
across_flats = {across}
bar = {bar}
"""


def measured(tmp_path: Path, unit: str, sizes: tuple[str, str]) -> Account:
    """Flats one and four are measured once four are cut; too large, so four is cut again, deeper,
    and measured again."""
    mm = unit == "mm"
    text = HEXAGON.format(
        unit=unit, across='"24 mm"' if mm else '"1 in"', bar='"28 mm"' if mm else '"1.25 in"'
    )
    first, second = ({"size": size} for size in sizes)
    lines = [PRESS] * 28 + [first] + [PRESS] * 3 + [second] + [PRESS] * 80
    return made(text, tmp_path, lines)


def test_the_depths_are_those_that_were_called(tmp_path: Path) -> None:
    """24 across of a bar of 28 mm: 2 mm deep. At 24.2 a tenth a side is left: flat four is cut
    again, and all after it, at 2.1 mm (by hand)."""
    told = measured(tmp_path, "mm", ("24.2", "24"))
    assert told.finished
    assert (told.sizes[0].size, told.sizes[0].verdict) == (24.2, "over")
    assert [cut.depth for cut in told.cuts][:4] == [2.0] * 4
    later = [(cut.pass_number, cut.number, round(cut.depth or 0, 9)) for cut in told.cuts[4:]]
    assert later == [(1, 5, 2.1), (1, 6, 2.1), *[(2, n, 2.1) for n in (1, 2, 3)]]
    again = [remark.text for remark in told.remarks if remark.kind == "cut again"]
    assert again and again[0] == "cut 4, 0.1 mm more"


def test_a_job_in_inches_is_told_in_inches(tmp_path: Path) -> None:
    """1 inch across of a bar of 1 1/4: 0.125 deep; no figure of the page is in mm."""
    told = measured(tmp_path, "in", ("1.008", "1"))
    page = words(report_document(told))
    for each in ("Measured against wanted, in", "Measured, in", "Depth, in", "1.0080", "0.1250",
                 "0.1290"):  # fmt: skip
        assert each in page, each
    assert "mm" not in page


def test_a_block_has_no_plate_no_pin_and_no_spindle_lock(tmp_path: Path) -> None:
    """The words of the sheet: faces, and the vice."""
    text = (JOBS / "clamp-screw.toml").read_text("utf-8")
    page = words(report_document(made(text, tmp_path, [PRESS] * 40)))
    for each in ("Vice tight", "Vice open", "Face up", "first face"):
        assert each in page, each
    for each in ("Pin in its hole", "first hole", "Lock off", "Plate"):
        assert each not in page, each


def test_a_handwheel_has_no_plate_and_no_pin(tmp_path: Path) -> None:
    """Angles are read on its dial."""
    text = (JOBS / "ring-vernier.toml").read_text("utf-8")
    page = words(report_document(made(text, tmp_path, [PRESS] * 40)))
    for each in ("Indexing by the graduated handwheel", "Dial set", "dial at nought"):
        assert each in page, each
    for each in ("Pin in its hole", "first hole", "Plate", "Circle"):
        assert each not in page, each


def test_a_report_in_german_has_no_english_heads(tmp_path: Path) -> None:
    """What the report adds is German; the keys of the job file stay as they are written."""
    text = (JOBS / "pump-helical.toml").read_text("utf-8")
    told = made(text, tmp_path, [PRESS] * 40, "--language", "de")
    tallyhand("report", "--data", tmp_path / "d", "--out", tmp_path / "r.html")
    page = words((tmp_path / "r.html").read_text("utf-8"))
    assert told.cuts
    for each in ("Nach der Auftragsdatei", "einfaches Teilen", "Spindel auf", "Zuletzt gefragt"):
        assert each in page, each
    for each in ("As the job", "plain", "Spindle", "meshing", "not finished"):
        assert each not in page, each


def test_an_inspection_says_its_unit(tmp_path: Path) -> None:
    """As it is given with the readings; where it is not, that it was not."""
    made((JOBS / "press-pinion.toml").read_text("utf-8"), tmp_path, [PRESS] * 20)
    readings = tmp_path / "readings.txt"
    readings.write_text("\n".join(["0", "3", "-2", "1", "4"] * 4), "utf-8")
    for given, told in ((("--unit", "um"), "6 µm"), ((), "as the readings; not given")):
        out = tmp_path / "r.html"
        done = tallyhand("report", "--data", tmp_path / "d", "--inspection", readings,
                         *given, "--out", out)  # fmt: skip
        assert done.returncode == 0, done.stderr
        assert told in words(out.read_text("utf-8"))
    done = tallyhand("inspect", readings, "--unit", "thou", "--job", "Pinion", "--data",
                     tmp_path / "d")  # fmt: skip
    assert "total cumulative: 6 thou" in done.stdout, done.stderr
    assert tallyhand("report", "--data", tmp_path / "d", "--out", out).returncode == 0
    assert "total cumulative 6 thou" in words(out.read_text("utf-8"))
