"""The report, made from the journal of a rehearsed job, checked against the script that made it."""

from __future__ import annotations

import csv
import io
import json
import sqlite3
from bisect import bisect_left
from contextlib import closing
from html.parser import HTMLParser
from pathlib import Path
from typing import Any

import pytest

from assistant.journal.writing import journals, read_journal
from assistant.paper import chart
from assistant.paper.history import Account, Size, told_from
from assistant.paper.report_page import minutes, report_document, report_table
from tests.commands import COUNT_WHEEL, one_line, tallyhand

PRESS: dict[str, Any] = {"press": "main"}
BAD_NOTE = '=HYPERLINK("x") <script>alert(1)</script>'


def script(items: int) -> list[dict[str, Any]]:
    """Nine cuts of 60 s and their trouble: a refusal and a note at cut 2, an overshoot before
    cut 4, a pause before cut 6, a restart before cut 8."""
    steps = [PRESS] * items
    for cut in range(1, 10):
        if cut == 2:
            steps += [{"say": "cut done"}, {"note": BAD_NOTE}, {"lost": "pedal"}]
        steps += [{"wait_ms": 20_000}, {"say": "spindle locked", "confidence": 0.95}]
        steps += [{"say": "guard closed"}, {"wait_ms": 40_000}, {"say": "cut done"}]
        if cut == 5:
            steps += [{"say": "pause the job"}, {"wait_ms": 900_000}, {"say": "carry on now"}]
        steps.append({"say": "lock is off"})
        if cut == 3:
            steps += [{"say": "went past the hole"}, {"say": "half turn back"}]
        if cut == 7:
            steps += [{"restart": True}, {"say": "place is certain"}, {"say": "lock is off"}]
        steps.append({"say": "pin is home"})
    return [*steps, {"say": "back at the start"}]


@pytest.fixture(scope="module")
def data(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The folder of a finished job."""
    folder = tmp_path_factory.mktemp("report")
    checked = tallyhand("job", "check", COUNT_WHEEL, "--json")
    items = len(json.loads(checked.stdout)["checklist"])
    given = "".join(json.dumps(step) + "\n" for step in script(items))
    done = tallyhand("rehearse", COUNT_WHEEL, "--data", folder / "data", given=given)
    assert done.returncode == 0, done.stderr
    return folder / "data"


@pytest.fixture(scope="module")
def told(data: Path) -> Account:
    return told_from(read_journal(journals(data)[0]))


def test_every_cut_is_told_with_its_confirmations(told: Account) -> None:
    """Nine cuts in order; lock, guard and cut each with time, source and how sure."""
    assert [cut.number for cut in told.cuts] == list(range(1, 10))
    assert told.finished
    for cut in told.cuts:
        assert cut.lock and cut.guard
        assert cut.lock.at <= cut.guard.at < cut.done.at
        assert (cut.lock.source, cut.lock.confidence) == ("voice", 0.95)
        assert (cut.guard.source, cut.done.confidence) == ("voice", 1.0)
        assert cut.cutting == pytest.approx(40)
    assert told.sources() == {"voice": 27}


def test_times_are_those_of_the_script(told: Account) -> None:
    """A cut takes the script's 60 s; after a pause or a restart the time is not known."""
    seconds = [cut.seconds for cut in told.cuts]
    assert seconds[5] is None and seconds[7] is None
    assert all(s == pytest.approx(60) for n, s in enumerate(seconds) if n not in (5, 7))
    assert told.median_seconds() == pytest.approx(60)


def test_trouble_is_told_where_it_was(told: Account) -> None:
    """The refusal with its reason, the note, the device, the overshoot, the restart."""
    by_cut = {cut.number: (cut.refused, cut.overshoots) for cut in told.cuts}
    assert by_cut == {**dict.fromkeys(range(1, 10), (0, 0)), 2: (1, 0), 4: (0, 1)}
    found = {(remark.kind, remark.cut) for remark in told.remarks}
    assert {("refused", 2), ("note", 2), ("device lost", 2), ("overshoot", 4)} <= found
    assert told.count("resumed") == 1
    refused = next(remark for remark in told.remarks if remark.kind == "refused")
    assert "cut done" in refused.text and "what was asked (lock)" in refused.text


class Tags(HTMLParser):
    """Counts the tags of a page and gathers its text."""

    def __init__(self) -> None:
        super().__init__()
        self.tags: dict[str, int] = {}
        self.text = ""

    def handle_starttag(self, tag: str, attrs: Any) -> None:
        self.tags[tag] = self.tags.get(tag, 0) + 1

    def handle_data(self, data: str) -> None:
        self.text += data


def test_the_page_holds_it_all_and_runs_nothing(told: Account) -> None:
    """A row a cut, a bar a known time, the note letter for letter, no script, nothing fetched."""
    page = report_document(told)
    seen = Tags()
    seen.feed(page)
    assert "script" not in seen.tags and "img" not in seen.tags and "link" not in seen.tags
    assert BAD_NOTE in seen.text
    assert seen.tags["rect"] == 7
    assert seen.tags["tr"] == 3 + 2 * len(told.cuts) + len(told.remarks)
    assert "http" not in page


def test_csv_is_read_back(data: Path, tmp_path: Path) -> None:
    """A row a cut with the same numbers; what a spreadsheet would run is put in as words."""
    out = tmp_path / "cuts.csv"
    assert tallyhand("report", "--data", data, "--out", out, "--bench", "=1+1").returncode == 0
    rows = list(csv.DictReader(io.StringIO(out.read_text("utf-8-sig"))))
    assert [int(row["cut"]) for row in rows] == list(range(1, 10))
    assert rows[0]["lock_by"] == "voice" and float(rows[0]["seconds"]) == 60.0
    assert rows[5]["seconds"] == ""
    assert all(row["bench"] == "'=1+1" for row in rows)


@pytest.mark.parametrize("ending", ["csv", "parquet"])
def test_the_set_up_lies_beside_the_cuts(
    data: Path, tmp_path: Path, told: Account, ending: str
) -> None:
    """Each item that was confirmed, in the words of the programme, with when and by what."""
    out = tmp_path / f"cuts.{ending}"
    if ending == "parquet":
        pytest.importorskip("pyarrow")
    assert tallyhand("report", "--data", data, "--out", out).returncode == 0
    beside = tmp_path / f"cuts-set-up.{ending}"
    if ending == "csv":
        rows = list(csv.DictReader(io.StringIO(beside.read_text("utf-8-sig"))))
    else:
        rows = pytest.importorskip("pyarrow.parquet").read_table(beside).to_pylist()
    assert [row["text"] for row in rows] == list(told.reading.programme.checklist)
    assert [int(row["number"]) for row in rows] == list(range(1, len(rows) + 1))
    assert all(row["at"] and row["by"] == "pedal" and float(row["sure"]) == 1 for row in rows)


def test_several_benches_in_one_database(data: Path, tmp_path: Path, told: Account) -> None:
    """Each bench beside the others; the same again changes nothing."""
    out = tmp_path / "shop.sqlite"
    for bench in ("north", "south", "north"):
        done = tallyhand("report", "--all", "--data", data, "--out", out, "--bench", bench)
        assert done.returncode == 0, done.stderr
    with closing(sqlite3.connect(out)) as db:
        cuts = db.execute("SELECT bench, count(*) FROM cut GROUP BY bench").fetchall()
        notes = db.execute("SELECT text FROM remark WHERE kind = 'note'").fetchall()
    assert cuts == [("north", 9), ("south", 9)]
    assert len(notes) == 2 and BAD_NOTE in notes[0][0]


def test_bars_are_as_high_as_their_seconds() -> None:
    """Heights in proportion, to a scale whose top is named; many cuts share bars."""
    picture = chart.bars([10.0, None, 40.0], "t")
    heights = [float(part.split('"')[0]) for part in picture.split('height="')[2:]]
    assert heights[1] / heights[0] == pytest.approx(4, rel=1e-3)
    assert heights[1] == pytest.approx((chart.HIGH - chart.LOW) * 40 / 50, abs=0.01)
    assert "50 s" in picture
    assert chart.bars([5.0] * 10_000, "t").count("<rect") <= chart.MOST_BARS


@pytest.mark.parametrize(
    ("value", "top"), [(0.3, 0.5), (1, 1), (1.1, 2), (4.9, 5), (60, 100), (0, 1), (9999, 10000)]
)
def test_the_top_of_a_scale_is_a_round_number(value: float, top: float) -> None:
    """1, 2 or 5 with noughts, never below what is drawn."""
    assert chart.nice(value) == pytest.approx(top)


def test_sizes_are_drawn_against_their_targets() -> None:
    """A dot a size, two lines each; a skipped one has no dot."""
    sizes = [Size(0, "across", 20.4, 20.5, 19.0), Size(1, "across", None, 19.0, 19.0)]
    picture = chart.sizes(sizes, "t")
    assert picture.count("<circle") == 1 and picture.count("stroke-dasharray") == 2


def test_times_in_words() -> None:
    """Minutes and seconds, hours where there are any, and a clock that went back is said."""
    assert [minutes(s) for s in (59.6, 3725, -1)] == ["1 min 00 s", "1 h 02 min", "not known"]


@pytest.mark.parametrize(
    ("words", "code", "says"),
    [
        (("--out", "report.xls"), 2, ".html, .pdf, .csv, .sqlite, .parquet"),
        (("--all",), 2, "CSV and SQLite"),
        (("nothing-like-it",), 1, "tallyhand log"),
        (("--out", "/no/such/folder/r.html"), 1, "choose another place"),
        (("--out", "/no/such/folder/r.sqlite"), 1, "name another file"),
    ],
)
def test_slips_are_answered_in_one_line(
    data: Path, words: tuple[str, ...], code: int, says: str
) -> None:
    """What was wrong and the cure."""
    assert says in one_line(tallyhand("report", *words, "--data", data), code)


def test_an_empty_folder_says_so(tmp_path: Path) -> None:
    """No job yet is no fault of the program."""
    assert "no job in" in one_line(tallyhand("report", "--data", tmp_path), 1)


def printed(rows: int, told: Account) -> list[list[str]]:
    """The names of the HTML elements on each printed page of a report with so many remarks."""
    from weasyprint import HTML

    page = report_document(told)
    style = page[page.index("<style>") : page.index("</style>")] + "</style>"
    end = page[page.index('<section class="signatures">') :]
    above = report_table(("Time", "What"), [("17:40:00", "refused")] * rows, "")
    pages = HTML(string=f"{style}<main>{above}{end}").render().pages
    return [[b.element_tag for b in each._page_box.descendants()] for each in pages]


def test_nobody_signs_a_sheet_with_nothing_on_it(told: Account) -> None:
    """However the pages fall, a row of the table stands above the lines to sign (common sense)."""
    some = range(20, 60)
    over = some[bisect_left(some, 2, key=lambda rows: len(printed(rows, told)))]
    for rows in range(over, over + 3):
        assert "td" in printed(rows, told)[-1]
        assert "section" in printed(rows, told)[-1]
