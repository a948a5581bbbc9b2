"""The report of sizes, presses, devices and a head that is driven while it cuts."""

from __future__ import annotations

import csv
import io
import json
import re
import shutil
from html.parser import HTMLParser
from pathlib import Path
from typing import Any

import pytest

from assistant.bench.session import Session
from assistant.engine.engine import Effect
from assistant.engine.events import (
    Command,
    Device,
    DeviceLost,
    DeviceReturned,
    DeviceTroubled,
    Event,
    Gesture,
    Ground,
    PartScrapped,
    PedalUsed,
    PhraseHeard,
    SessionLeft,
    SessionStarted,
    SizeGiven,
    SpeechFailed,
    Trouble,
    TrustChanged,
)
from assistant.engine.state import State
from assistant.job.programme import Programme
from assistant.journal.writing import Journal, journals, read_journal
from assistant.paper import chart
from assistant.paper.history import _GROUNDS, Account, clock, told_from
from assistant.paper.report_page import report_document
from tests.commands import JOBS, one_line, tallyhand
from tests.engine.jobs import programme, size

PRESS: dict[str, Any] = {"press": "main"}


class Cells(HTMLParser):
    """The rows of every table on a page, as their words."""

    def __init__(self, page: str) -> None:
        super().__init__()
        self.rows: list[list[str]] = []
        self._open = False
        self.feed(page)

    def handle_starttag(self, tag: str, attrs: Any) -> None:
        if tag == "tr":
            self.rows.append([])
        self._open = tag in ("td", "th")
        if self._open:
            self.rows[-1].append("")

    def handle_endtag(self, tag: str) -> None:
        self._open = False

    def handle_data(self, data: str) -> None:
        if self._open:
            self.rows[-1][-1] += data


def rehearsed(job: str, script: list[dict[str, Any]], data: Path) -> Account:
    given = "".join(json.dumps(step) + "\n" for step in script)
    done = tallyhand("rehearse", JOBS / f"{job}.toml", "--data", data, given=given)
    assert done.returncode == 0, done.stderr
    return told_from(read_journal(journals(data)[0]))


@pytest.fixture(scope="module")
def hexagon(tmp_path_factory: pytest.TempPathFactory) -> tuple[Account, Path]:
    """24 mm across flats in two passes, by the pedal: measured in the first, skipped in the
    second."""
    cut = [{"wait_ms": 20_000}, PRESS, PRESS, {"wait_ms": 40_000}, PRESS]
    on = [PRESS, PRESS]
    sized = [{"size": "24.62"}, PRESS]
    rest = [*on, *[*cut, *on] * 4, PRESS]
    first = [*cut, *on, *cut, *sized, *rest]
    second = [*cut, *on, *cut, PRESS, *rest]
    folder = tmp_path_factory.mktemp("hexagon")
    return rehearsed("hexagon-plug", [*[PRESS] * 10, *first, *second], folder), folder


def test_sizes_stand_beside_what_was_wanted(hexagon: tuple[Account, Path]) -> None:
    """24 mm across with 0.25 mm a side left for the second pass: 24.5 expected in the first, 24 in
    the end (from the job's own figures). What was not measured is said to be skipped."""
    told, _ = hexagon
    assert told.finished and len(told.cuts) == 12
    found = [(size.size, size.expected, size.target) for size in told.sizes]
    assert found == [(24.62, 24.5, 24.0), (None, 24.0, 24.0)]
    page = report_document(told)
    rows = [row[1:] for row in Cells(page).rows if row[1:2] == ["across flats one and four"]]
    assert [row[1:] for row in rows] == [
        ["24.620", "24.500", "24.000", ""], ["skipped", "24.000", "24.000", ""],
    ]  # fmt: skip
    assert "Measured against wanted, mm" in page and page.count("<circle") == 1


def test_presses_are_told_as_presses(hexagon: tuple[Account, Path]) -> None:
    """A press has no doubt in it: source pedal, certainty 1, no figure after it on the page."""
    told, _ = hexagon
    assert told.sources() == {"pedal": 36}
    cells = [row for row in Cells(report_document(told)).rows if row[:3] == ["1", "1", "1"]]
    assert [re.sub(r"\d\d:\d\d:\d\d ", "", cell) for cell in cells[0][4:7]] == ["pedal"] * 3


def test_nothing_of_note_is_said(hexagon: tuple[Account, Path]) -> None:
    """A job without trouble says so in place of an empty table."""
    told, _ = hexagon
    assert told.remarks == [] and "Nothing of note." in report_document(told)


def test_sizes_in_a_database(hexagon: tuple[Account, Path], tmp_path: Path) -> None:
    """A row a size, the skipped one with no figure; its ending decides the form, in any case."""
    import sqlite3
    from contextlib import closing

    out = tmp_path / "shop.SQLITE"
    done = tallyhand("report", "--data", hexagon[1], "--out", out, "--bench", "north")
    assert (done.returncode, done.stdout) == (0, f"{out}: 12 cuts of 1 jobs\n")
    with closing(sqlite3.connect(out)) as db:
        rows = db.execute("SELECT what, size_mm, expected_mm, target_mm FROM size").fetchall()
    what = "across flats one and four"
    assert rows == [(what, 24.62, 24.5, 24.0), (what, None, 24.0, 24.0)]


def test_rows_tell_whether_a_size_is_in_its_limits(tmp_path: Path) -> None:
    """One keyway floor, 5 +0.2 -0 deep in 38: 32.8 to 33 over the shaft (38 - 5.2, 38 - 5). In the
    row of the cut that was measured, and in no other; the same word in the database."""
    import sqlite3
    from contextlib import closing

    text = (JOBS / "mill-keyways.toml").read_text("utf-8")
    assert 'depth = "5 mm"' in text
    job = tmp_path / "keys.toml"
    job.write_text(text.replace('depth = "5 mm"', 'depth = "5 mm +0.2 +0"'), "utf-8")
    for measured, verdict in (("32.95", "in"), ("33.05", "over")):
        data = tmp_path / verdict
        script = [*[PRESS] * 13, {"size": measured}, PRESS]
        given = "".join(json.dumps(step) + "\n" for step in script)
        done = tallyhand("rehearse", job, "--data", data, given=given)
        assert done.returncode == 0, done.stderr
        out = tmp_path / f"{verdict}.csv"
        assert tallyhand("report", "--data", data, "--out", out).returncode == 0
        rows = list(csv.DictReader(io.StringIO(out.read_text("utf-8-sig"))))
        (row,) = [row for row in rows if row["measured"]]
        found = [row[name] for name in ("size_mm", "low_mm", "high_mm", "verdict")]
        assert found == [measured, "32.8", "33.0", verdict]
        base = tmp_path / f"{verdict}.sqlite"
        assert tallyhand("report", "--data", data, "--out", base).returncode == 0
        with closing(sqlite3.connect(base)) as db:
            assert db.execute("SELECT verdict FROM size").fetchall() == [(verdict,)]
            told = db.execute("SELECT cut, verdict FROM cut WHERE measured IS NOT NULL").fetchall()
        assert told == [(int(row["cut"]), verdict)]


def test_a_driven_head_has_no_lock_to_tell(tmp_path: Path) -> None:
    """A helix is cut with the head geared to the table and the spindle free (common practice):
    the page says that no lock was asked, and CSV leaves its three cells empty."""
    told = rehearsed("pump-helical", [PRESS] * 200, tmp_path)
    assert told.finished and len(told.cuts) == 24
    assert told.sources() == {"pedal": 48}
    cuts = [row for row in Cells(report_document(told)).rows if len(row) == 11][1:]
    assert {row[4] for row in cuts} == {"not asked"} and len(cuts) == 24
    out = tmp_path / "cuts.csv"
    assert tallyhand("report", "--data", tmp_path, "--out", out).returncode == 0
    rows = list(csv.DictReader(io.StringIO(out.read_text("utf-8-sig"))))
    assert {(r["lock_at"], r["lock_by"], r["lock_sure"]) for r in rows} == {("", "", "")}
    assert {r["guard_by"] for r in rows} == {"pedal"}


class _Nobody:
    """Effects go nowhere: only the journal counts."""

    def perform(self, effect: Effect) -> None:
        """Nothing is said."""

    def stand(self, programme: Programme, state: State, heard: str) -> None:
        """Nothing is shown."""


def kept(folder: Path, events: list[Event], job: Programme | None = None) -> Account:
    """A session that was given these events, told from its journal."""
    journal = Journal.create(folder, job or programme(9), "title = 'Count wheel'")
    session = Session(journal.programme, State(), journal, _Nobody())
    for event in events:
        session.handle(event)
    journal.close()
    return told_from(read_journal(journals(folder)[0]))


def test_every_trouble_of_a_device_is_told(tmp_path: Path) -> None:
    """Lost with its reason, back, in trouble, too loud with the figures, a sentence not heard,
    and the leaving: a line each, in order."""
    told = kept(
        tmp_path,
        [
            SessionStarted(1.0),
            DeviceLost(2.0, Device.PEDAL, "unplugged"),
            DeviceReturned(3.0, Device.PEDAL),
            DeviceTroubled(4.0, Device.PEDAL, Trouble.STUCK),
            TrustChanged(5.0, False, -31.6, 4.4),
            TrustChanged(6.0, True, -48.2, 20.9),
            SpeechFailed(7.0, "Lock the spindle.", "the speaker is away"),
            SessionLeft(8.0),
        ],
    )
    assert [(remark.kind, remark.text) for remark in told.remarks] == [
        ("device lost", "pedal: unplugged"),
        ("device back", "pedal"),
        ("device troubled", "pedal: stuck"),
        ("hearing", "too loud to trust: noise -32 dB, the voice 4 dB over it"),
        ("hearing", "trusted again: noise -48 dB, the voice 21 dB over it"),
        ("not spoken", "Lock the spindle. (the speaker is away)"),
        ("left", "the person left the session"),
    ]
    page = report_document(told)
    assert "; not finished." in page and "No cut was made." in page
    assert "nothing yet" in page and "not known" in page


def test_what_was_refused_is_told_as_it_was_given(tmp_path: Path) -> None:
    """A press too soon after its question, and a size that nobody asked for: by its source, and
    as it was given."""
    told = kept(
        tmp_path,
        [
            SessionStarted(1.0),
            PedalUsed(2.0, Gesture.PRESS, waited=0.1),
            SizeGiven(3.0, "19.05"),
        ],
    )
    found = [(remark.kind, remark.text) for remark in told.remarks]
    assert [(kind, text.partition(": ")[0]) for kind, text in found] == [
        ("refused", "pedal press"), ("refused", "keyboard 19.05"),
    ]  # fmt: skip
    assert "could be understood" in found[0][1] and "not the answer" in found[1][1]


def test_why_it_was_refused_is_what_the_journal_says(tmp_path: Path) -> None:
    """The session that refused it is believed, not the rules of today, which would take it."""
    journal = Journal.create(tmp_path, programme(9), "title = 'Count wheel'")
    session = Session(journal.programme, State(), journal, _Nobody())
    session.handle(SessionStarted(1.0))
    journal.append(PedalUsed(2.0, Gesture.PRESS), journal.last_state(), Ground.TOO_SOON.value)
    journal.close()
    (refused,) = told_from(read_journal(journals(tmp_path)[0])).remarks
    assert (refused.kind, refused.text) == (
        "refused", "pedal press: before its question could be understood",
    )  # fmt: skip


def test_every_ground_has_words() -> None:
    assert set(_GROUNDS) == set(Ground)


def test_a_clock_that_is_quite_wrong_leaves_the_time_empty(tmp_path: Path) -> None:
    """A year that no calendar has is no reason to lose the rest of the page."""
    assert clock(1e18) == ""
    told = kept(tmp_path, [SessionStarted(1e18), DeviceLost(1e18, Device.PEDAL, "unplugged")])
    rows = [row for row in Cells(report_document(told)).rows if "device lost" in row]
    assert rows == [["", "1", "device lost", "pedal: unplugged"]]


def test_a_damaged_journal_is_told_beside_the_report(
    hexagon: tuple[Account, Path], tmp_path: Path
) -> None:
    """The job that can be read has its report; the other is a line with its file, and exit 1."""
    data = tmp_path / "data"
    shutil.copytree(hexagon[1], data)
    broken = data / "2026-01-01-broken.journal"
    broken.write_bytes(b"cider" * 1000)
    assert broken in journals(data)
    out = tmp_path / "report.html"
    line = one_line(tallyhand("report", "--data", data, "--out", out), 1)
    assert str(broken) in line
    assert "Hexagon of the press" in out.read_text("utf-8")
    line = one_line(tallyhand("report", "plug", "--data", tmp_path), 1)
    assert "no job named 'plug'" in line


def test_a_job_is_found_by_a_part_of_its_title(
    hexagon: tuple[Account, Path], tmp_path: Path
) -> None:
    """Upper or lower case, as a person remembers it."""
    out = tmp_path / "r.html"
    done = tallyhand("report", "DRAIN PLUG", "--data", hexagon[1], "--out", out)
    assert (done.returncode, done.stdout) == (0, f"Report: {out}\n")
    assert "<h1>Hexagon of the press" in out.read_text("utf-8")


def test_a_single_cut_has_one_end() -> None:
    """Under the bars stand the first cut and the last, and a lone one once."""
    assert re.findall(r">(cut \d+)<", chart.bars([5.0], "t")) == ["cut 1"]
    assert re.findall(r">(cut \d+)<", chart.bars([5.0, 6.0], "t")) == ["cut 1", "cut 2"]


def test_what_the_person_decided_stands_in_the_report(tmp_path: Path) -> None:
    """Too small and gone on with, counted anew, a cut reopened, scrap: a line each, and the
    verdict beside the size, 17.2 and 17.5 mm for 18."""
    press, under = PedalUsed(2.0, Gesture.PRESS), SizeGiven(2.0, "17.2")
    said = {command: PhraseHeard(2.0, command.value, command) for command in Command}
    whole = [press] * 9  # set up, two cuts, and the size is asked for
    told = kept(
        tmp_path,
        [
            SessionStarted(1.0), *whole, under, press, press,
            SizeGiven(2.0, "17.5"), press, said[Command.CARRY_ON],
            said[Command.GO_BACK], press, press, press, under, press,
            said[Command.LOST_COUNT], SizeGiven(2.0, "2"), press, press, press, press,
            under, press, PartScrapped(2.0),
        ],
        programme(3, 2, measurements=(size(2, 1),)),
    )  # fmt: skip
    found = [(remark.kind, remark.text) for remark in told.remarks]
    what = "across two opposite flats"
    assert found == [
        ("undersize", f"{what}: 17.2 mm for 18 mm: measured again"),
        ("undersize", f"{what}: 17.5 mm for 18 mm: gone on with all the same"),
        ("reopened", "cut 2 was counted too soon"),
        ("undersize", f"{what}: 17.2 mm for 18 mm: left, to look at the place"),
        ("count set", "cut 2 is next, by the person; counted were 2"),
        ("undersize", f"{what}: 17.2 mm for 18 mm: given up as scrap"),
    ]
    assert [(each.size, each.verdict) for each in told.sizes] == [(17.5, "under"), (17.2, "under")]
    assert "given up as scrap" in report_document(told).split("<h2>")[0]
