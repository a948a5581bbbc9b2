"""Sizes that no job has are refused by name, in one line, before they take an hour."""

from __future__ import annotations

from pathlib import Path

import pytest

from assistant.files.toml_lines import MOST_LETTERS, MOST_LINES
from tests.commands import one_line, tallyhand

HEAD = """name = "mill"
worm_ratio = 40
direct_circle = []
plate_drive = "geared"
change_gears = [{gears}]
[[plate]]
name = "A"
circles = [15, 16]
{more}"""
JOB = """title = "Count wheel"
head = "two-sided-40"
{more}
[work]
kind = "divisions"
count = {count}
"""


def test_a_key_of_twenty_thousand_parts(tmp_path: Path) -> None:
    """The parser of TOML takes the square of its parts in time: the line is refused first."""
    key = ".".join(["a"] * 20_000)
    job, head = tmp_path / "job.toml", tmp_path / "head.toml"
    job.write_text(JOB.format(more=f"{key} = 1", count=9))
    head.write_text(HEAD.format(gears="24, 48", more=f"{key} = 1"))
    for words in (["job", "check", str(job)], ["plan", "--head", str(head), "--divisions", "9"]):
        line = one_line(tallyhand(*words), 1)
        assert f"letters in a line: {MOST_LETTERS} at the most" in line and " line " in line


def test_a_file_of_very_many_lines(tmp_path: Path) -> None:
    """Each fault is looked for line by line."""
    job = tmp_path / "job.toml"
    job.write_text(JOB.format(more="\n" * (MOST_LINES + 1), count=9))
    assert f"{MOST_LINES} at the most" in one_line(tallyhand("job", "check", job), 1)


@pytest.mark.parametrize(("gears", "taken"), [(48, True), (49, False), (300, False)])
def test_a_drawer_of_very_many_gears(gears: int, taken: bool, tmp_path: Path) -> None:
    """Every pair of pairs is tried: more than the largest set sold is refused with the line."""
    head = tmp_path / "head.toml"
    listed = ", ".join(map(str, range(20, 20 + gears)))
    head.write_text(HEAD.format(gears=listed, more=""))
    done = tallyhand("plan", "--head", head, "--divisions", "127", "--most", "1")
    if taken:
        assert done.returncode == 0 and "DIFFERENTIAL" in done.stdout
    else:
        assert f"line 5: {gears} change gears: 48 at the most" in one_line(done, 1)


@pytest.mark.parametrize("head", ["two-sided-40", "rotary-60-handwheel"])
def test_ten_thousand_cuts_are_worked_out(head: str, tmp_path: Path) -> None:
    """Each place by itself: no step takes the square of their number (it took minutes)."""
    job = tmp_path / "job.toml"
    job.write_text(JOB.replace("two-sided-40", head).format(more="", count=9999))
    done = tallyhand("job", "check", job)
    assert done.returncode == 0 and "cuts     9999" in done.stdout
