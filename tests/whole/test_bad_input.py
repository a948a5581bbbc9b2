"""Bad input gets one line on stderr that names the place and the cure, and the right exit code."""

from __future__ import annotations

import json
import sqlite3
from contextlib import closing
from pathlib import Path

import pytest

from tests.commands import COUNT_WHEEL, one_line, tallyhand

GOOD = """title = "Count wheel"
head = "three-plate-40"
[work]
kind = "divisions"
count = 9
"""


@pytest.mark.parametrize(
    ("words", "code", "parts"),
    [
        (["polish"], 2, ["no command 'polish'", "rehearse"]),
        (
            ["plan", "--head", "no-such-head", "--divisions", "9"],
            2,
            ["no-such-head", "three-plate"],
        ),
        (["plan", "--head", "three-plate-40", "--divisions", "0"], 2, ["0", "2"]),
        (["plan", "--head", "three-plate-40", "--divisions", "1"], 2, ["1", "2"]),
        (["plan", "--head", "three-plate-40", "--divisions", "nine"], 2, ["nine"]),
        (["plan", "--head", "three-plate-40", "--angle", "wide"], 2, ["wide", "8d50m"]),
        (["plan", "--head", "three-plate-40"], 2, ["--divisions", "--angle", "--positions"]),
        (["job", "check", "no-such-job.toml"], 1, ["no-such-job.toml", "no such job file"]),
        (["job", "polish", "x"], 2, ["check"]),
        (["rehearse"], 2, ["JOB", "--help"]),
        (["rehearse", str(COUNT_WHEEL), "--script", "no-such-script"], 1, ["no-such-script"]),
        (["hear", "--json", "no-such.wav"], 1, ["no-such.wav"]),
    ],
)
def test_wrong_use_and_missing_things(words: list[str], code: int, parts: list[str]) -> None:
    """Exit 2 for a wrong command line, 1 for what is refused; the line says what to do."""
    line = one_line(tallyhand(*words), code)
    for part in parts:
        assert part in line


@pytest.mark.parametrize(
    ("old", "new", "line", "parts"),
    [
        ("count = 9", "cuont = 9", 5, ["cuont", "did you mean count"]),
        ("count = 9", "count = 0", 5, ["count = 0", "2 to"]),
        ("count = 9", "count = 1", 5, ["count = 1"]),
        ("count = 9", 'count = "nine"', 5, ["'nine'", "whole number"]),
        ("count = 9", "count = true", 5, ["whole number"]),
        ("count = 9", "count = 9\npasses = 0", 6, ["passes = 0"]),
        ("count = 9", 'count = 9\ndepth = "deep"', 6, ["depth", "mm, in or thou"]),
        ("count = 9", 'count = 9\ndepth = "0 mm"', 6, ["depth", "more than 0"]),
        ("count = 9", 'count = 9\ndepth = "99999 mm"', 6, ["depth", "10 metres"]),
        ("count = 9", 'count = 9\ndepth = "-3 mm"', 6, ["depth", "more than 0"]),
        ("count = 9", "count = 9\ncount = 8", 6, ["stands in the table already"]),
        ('head = "three-plate-40"', 'head = "no-such"', 2, ["'no-such'", "known heads are"]),
        ('kind = "divisions"', 'kind = "sculpture"', 4, ["sculpture", "divisions"]),
        ("[work]", "[wrok]", 3, ["wrok", "did you mean work"]),
        ("title = ", "title ", 1, ["mend the TOML"]),
        ('title = "Count wheel"', "title = 9", 1, ["title", "text in quotes"]),
        ('head = "three-plate-40"', "", 1, ["head is missing"]),
    ],
)
def test_faults_in_a_job_file(
    tmp_path: Path, old: str, new: str, line: int, parts: list[str]
) -> None:
    """Each fault names the file, the line and the cure."""
    job = tmp_path / "job.toml"
    job.write_text(GOOD.replace(old, new), "utf-8")
    finished = tallyhand("job", "check", job)
    assert finished.returncode == 1 and "Traceback" not in finished.stderr
    complaint = finished.stderr.splitlines()
    assert any(
        each.startswith(f"{job} line {line}: ") and all(part in each for part in parts)
        for each in complaint
    ), complaint
    one_line(tallyhand("rehearse", job), 1)


def test_every_fault_of_a_job_file_is_told(tmp_path: Path) -> None:
    """`job check` finds all faults at once, each on its own line."""
    job = tmp_path / "job.toml"
    job.write_text(GOOD.replace("count = 9", 'count = 0\npasses = 99\ndepth = "deep"'), "utf-8")
    faults = tallyhand("job", "check", job).stderr.splitlines()
    assert [fault.split(":")[0].rsplit(" ", 1)[1] for fault in faults] == ["5", "6", "7"]


def test_angles_that_can_not_be(tmp_path: Path) -> None:
    """Angles that do not parse, do not grow, or pass a full turn are refused with their line."""
    for text, part in [
        ('angles = ["0", "wide"]', "wide"),
        ('angles = ["10", "20"]', "first cut is at 0"),
        ('angles = ["0", "30", "30"]', "larger"),
        ('angles = ["0", "360"]', "under 360"),
        ("angles = []", "two or more"),
        ('angle = "50"\ncount = 9', "pass a full turn"),
    ]:
        job = tmp_path / "job.toml"
        job.write_text(GOOD.replace('kind = "divisions"\ncount = 9', f'kind = "angles"\n{text}'))
        line = one_line(tallyhand("job", "check", job), 1)
        assert part in line and " line 5: " in line


def test_a_head_file_with_a_circle_of_nought(tmp_path: Path) -> None:
    """The head's own file, its line and the cure are named."""
    head = tmp_path / "mine.toml"
    head.write_text(
        'name = "mine"\nworm_ratio = 40\nplate_drive = "fixed"\n'
        '[[plate]]\nname = "A"\ncircles = [15, 0, 17]\n'
    )
    finished = tallyhand("plan", "--head", head, "--divisions", "9")
    line = one_line(finished, 1)
    assert f"{head} line 6: " in line and "circle 0" in line


@pytest.mark.parametrize(
    "script",
    ["{", "[1]", '{"dance": 1}', '{"press": "left"}', '{"presses": 0}', '{"wait_ms": -1}',
     '{"press": "main", "held_ms": "long"}', '{"say": "x", "confidence": 7}', '{"lost": "car"}',
     '{"press": "main", "held_ms": 700000}', '"spindle locked"', "[" * 5000,
     f'{{"wait_ms": {"9" * 5000}}}'],
)  # fmt: skip
def test_a_script_line_that_makes_no_sense(script: str) -> None:
    """The line's number is named; nothing before it is lost."""
    finished = tallyhand(
        "rehearse", COUNT_WHEEL, "--script", "-", given=f'{{"press":"main"}}\n{script}\n'
    )
    assert "- line 2: " in one_line(finished, 1)


def test_journals_that_can_not_be_read_do_not_hide_the_others(tmp_path: Path) -> None:
    """`log` lists what it can read, names what it can't, and leaves that untouched."""
    tallyhand("rehearse", COUNT_WHEEL, "--data", tmp_path, given='{"press":"main"}\n')
    newer = next(tmp_path.glob("*.journal"))
    tallyhand("rehearse", COUNT_WHEEL, "--data", tmp_path, given='{"press":"main"}\n')
    with closing(sqlite3.connect(newer)) as db:
        db.execute("PRAGMA user_version = 99")
    broken = tmp_path / "19990101T000000-broken.journal"
    broken.write_bytes(b"no journal at all" * 50)
    before = broken.read_bytes(), newer.read_bytes()
    finished = tallyhand("log", "--json", "--data", tmp_path)
    assert finished.returncode == 1
    assert len(json.loads(finished.stdout)["jobs"]) == 1
    lines = finished.stderr.splitlines()
    assert len(lines) == 2
    assert str(broken) in lines[0] and "damaged" in lines[0]
    assert str(newer) in lines[1] and "newer tallyhand" in lines[1]
    assert (broken.read_bytes(), newer.read_bytes()) == before


def test_nothing_to_resume(tmp_path: Path) -> None:
    """One line with the folder and how to begin."""
    line = one_line(tallyhand("resume", "--data", tmp_path), 1)
    assert str(tmp_path) in line and "tallyhand run" in line
