"""A job is found again by what one knows of it, in one log or in those of several machines."""

from __future__ import annotations

import csv
import io
import json
import sys
from pathlib import Path

import pytest

from assistant.errors import Refusal
from assistant.journal.finding import Search, found
from assistant.journal.index import Listed, listing
from assistant.paper import tables
from tests.commands import PINION, one_line, tallyhand
from tests.journal.played import made

JOBS = [
    Listed("a.journal", "Pinion", "2024-05-02T10:00:00", head="three plates", part="CM-17"),
    Listed("b.journal", "Hexagon", "2025-11-30T10:00:00", head="two sides", drawing="14 sheet 2"),
    Listed("c.journal", "Pinion", "2026-01-01T10:00:00", head="two sides", operator="Anna"),
]


@pytest.mark.parametrize(
    ("wanted", "names"),
    [
        (Search(("pinion",)), "ac"),
        (Search(("PINION", "anna")), "c"),
        (Search(part="cm-1"), "a"),
        (Search(head="two"), "bc"),
        (Search(since="2025"), "bc"),
        (Search(until="2025"), "ab"),
        (Search(since="2024-05-02", until="2024-05-02"), "a"),
        (Search(("sheet",), head="three"), ""),
        (Search(), "abc"),
    ],
)
def test_all_that_is_given_must_hold(wanted: Search, names: str) -> None:
    """Words anywhere, part, head, days; capital letters don't count."""
    assert "".join(job.name[0] for job in found(JOBS, wanted)) == names


@pytest.fixture(scope="module")
def shops(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Path]:
    """Two machines' logs, a job in each."""
    base = tmp_path_factory.mktemp("shops")
    text = PINION.read_text("utf-8").replace("[work]", 'part = "CM-3"\n\n[work]', 1)
    (base / "pinion.toml").write_text(text, "utf-8")
    given = json.dumps({"press": "main"}) + "\n"
    for place, job in (("north", base / "pinion.toml"), ("south", "count-wheel")):
        done = tallyhand("rehearse", job, "--data", base / place, given=given)
        assert done.returncode == 0, done.stderr
    return base / "north", base / "south"


def test_the_list_says_what_names_a_job(shops: tuple[Path, Path]) -> None:
    """What stands in brackets finds that job and no other; the part's number stands in the line."""
    (job,) = listing(shops[0])
    told = tallyhand("log", "--data", shops[0]).stdout
    assert f"[{job.identity}]" in told and "(CM-3)" in told
    assert job.identity in job.name
    assert "CM-3" in tallyhand("log", job.identity, "--data", shops[0]).stdout
    nothing = tallyhand("log", "hexagon", "--data", shops[0])
    assert (nothing.returncode, nothing.stdout) == (0, "No such job. All of them: tallyhand log\n")


def test_several_logs_are_read_together(shops: tuple[Path, Path], tmp_path: Path) -> None:
    """Each line and each row says from which folder; a folder that is not there is told."""
    told = tallyhand("log", "--all", *shops).stdout.splitlines()
    assert [line.split()[0] for line in told] == ["north", "south"]
    out = tmp_path / "shop.csv"
    assert tallyhand("log", "--all", *shops, "--out", out).returncode == 0
    rows = list(csv.DictReader(io.StringIO(out.read_text("utf-8-sig"))))
    assert [(Path(row["folder"]).name, row["part"]) for row in rows] == [
        ("north", "CM-3"), ("south", ""),
    ]  # fmt: skip
    jobs = json.loads(tallyhand("log", "--json", "--all", *shops).stdout)["jobs"]
    assert len(jobs) == 2
    assert "no such folder" in one_line(tallyhand("log", "--all", tmp_path / "east"), 1)


def test_slips_are_answered_in_one_line(shops: tuple[Path, Path], tmp_path: Path) -> None:
    """A day that is none, a file of another kind."""
    assert "2026-05-02" in one_line(tallyhand("log", "--since", "yesterday"), 2)
    out = tmp_path / "x.xls"
    told = one_line(tallyhand("log", "--data", shops[0], "--out", out), 1)
    assert ".csv, .parquet" in told


def test_without_its_library_parquet_says_how_to_get_it(monkeypatch: pytest.MonkeyPatch) -> None:
    """It is an extra: nothing else asks for it."""
    monkeypatch.setitem(sys.modules, "pyarrow", None)
    with pytest.raises(Refusal, match=r"tallyhand\[parquet\]"):
        tables.as_parquet(("a",), [(1,)])


def test_parquet_holds_what_the_csv_holds(shops: tuple[Path, Path], tmp_path: Path) -> None:
    """Written and read again by PyArrow, whose types a reader of another shop gets."""
    parquet = pytest.importorskip("pyarrow.parquet")
    made(tmp_path / "west", 60).close()
    west = ("--data", tmp_path / "west")
    for name, command in (
        ("log", ("log", "--all", *shops)),
        ("report", ("report", "--all", *west)),
    ):
        for ending in ("csv", "parquet"):
            out = tmp_path / f"{name}.{ending}"
            assert tallyhand(*command, "--out", out).returncode == 0
        words = list(csv.DictReader(io.StringIO((tmp_path / f"{name}.csv").read_text("utf-8-sig"))))
        rows = parquet.read_table(tmp_path / f"{name}.parquet").to_pylist()
        assert len(rows) == len(words) > 0
        for row, line in zip(rows, words, strict=True):
            assert {key: tables.tame(cell) for key, cell in row.items()} == {
                key: _like(row[key], cell) for key, cell in line.items()
            }


def _like(cell: object, text: str) -> object:
    """The text of the CSV as what Parquet has of it."""
    if isinstance(cell, bool):
        return text == "True"
    return type(cell)(text) if isinstance(cell, int | float) else text


def test_a_blank_column_has_the_same_kind_as_a_full_one() -> None:
    """A shop that has no sizes yet: its file is read together with that of another."""
    pyarrow = pytest.importorskip("pyarrow")
    parquet = pytest.importorskip("pyarrow.parquet")
    kinds = {"cut": int, "sure": float, "finished": bool}
    columns = ("title", *kinds)
    whole = [("Pinion", 3, 0.5, True), ("Plug", 1, 1, False)]
    schemas = [
        parquet.read_schema(pyarrow.BufferReader(tables.as_parquet(columns, rows, kinds)))
        for rows in ([], [(None, None, None, None)], whole)
    ]
    assert schemas[0] == schemas[1] == schemas[2]
    assert [str(each) for each in schemas[0].types] == ["string", "int64", "double", "bool"]
