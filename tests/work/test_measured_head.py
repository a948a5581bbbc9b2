"""A job on a head that was measured: told in the set-up, on the sheet, in the report, and kept."""

from __future__ import annotations

from pathlib import Path

import pytest

from assistant.job.compiler import Stage, head_of, stages_of
from assistant.job.job_file import job_from_text
from assistant.job.programme import Programme
from assistant.paper import sheet_facts
from assistant.paper.position_rows import position_rows
from tests.commands import tallyhand

ROOT = Path(__file__).parents[2]
WAVES = """
[errors]
worm_wave = [20, -15]
wheel_waves = [30, 10, -5, 4]
known_within = 3
"""


def stage(folder: Path, name: str, count: int, waves: str = WAVES) -> Stage:
    head = folder / f"{name}.toml"
    head.write_text((ROOT / "config" / "heads" / f"{name}.toml").read_text("utf-8") + waves)
    work = f'[work]\nkind = "divisions"\ncount = {count}\n'
    job = job_from_text(f'title = "Mill wheel"\nhead = "{head}"\n{work}', "job.toml")
    return stages_of(job, head_of(job))[0]


def test_a_dial_is_called_as_it_has_to_be_read(tmp_path: Path) -> None:
    """Third of nine places on a table of 60 to 1: two spaces are 80 degrees. There the worm stands
    at a third of its turn (80 x 60 / 360 = 13 1/3), and the waves come to,
    against nought 20(-1/2 - 1) + -15 x 0.866 + 30(0.174 - 1) + 10 x 0.985 - 5(-0.940 - 1)
    + 4 x 0.342 = -46.9 seconds (by hand): read a minute further, 80 degrees 1 minute."""
    first = stage(tmp_path, "rotary-60-handwheel", 9)
    assert first.setup.corrected
    assert float(first.programme.positions[2] * 21600) == pytest.approx(80 * 60 + 1)
    shown = position_rows(first)
    assert shown[2].error == "+13"  # 60 - 46.9
    assert "each move corrected" in sheet_facts.error(first.setup)
    told = " ".join(first.programme.checklist)
    assert "Bring the spindle to the nought from which the head was measured" in told
    assert "Each move is corrected for the head's own errors" in told
    again = Programme.from_record(first.programme.to_record())
    assert again.accuracy == first.programme.accuracy != ""


def test_holes_as_they_lie_are_told_with_the_head(tmp_path: Path) -> None:
    """21 divisions on a plate: the moves stay as on any head, the sheet tells what they come to."""
    first = stage(tmp_path, "three-plate-40", 21)
    plain = stage(tmp_path, "three-plate-40", 21, "")
    assert first.programme.moves == plain.programme.moves
    assert not first.setup.corrected
    assert "on the head as it was measured" in sheet_facts.error(first.setup)
    assert {row.error for row in position_rows(plain)} == {"0"}
    assert len({row.error for row in position_rows(first)}) > 10
    assert plain.programme.accuracy == "" and "accuracy" not in plain.programme.to_record()


def test_table_and_report_tell_it(tmp_path: Path) -> None:
    stage(tmp_path, "three-plate-40", 21)
    head = tmp_path / "three-plate-40.toml"
    told = tallyhand("table", "--head", head, "--from", "21", "--to", "21", "--csv").stdout
    # More than the wheel's larger wave, less than both swings of all three (25, 31.6 and 6.4).
    assert 31.6 < float(told.splitlines()[1].rsplit(",", 1)[1]) < 126
    job = tmp_path / "job.toml"
    job.write_text(f'title = "Wheel"\nhead = "{head}"\n[work]\nkind = "divisions"\ncount = 21\n')
    tallyhand("rehearse", job, "--data", tmp_path, given='{"press": "main"}\n')
    page = tmp_path / "report.html"
    tallyhand("report", "--data", tmp_path, "--out", page)
    assert "head's own errors no place is off by more than" in page.read_text("utf-8").replace(
        "&#x27;", "'"
    )
